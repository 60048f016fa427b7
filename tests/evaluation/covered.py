"""How much of the program the tests run: ``python -m tests.evaluation.covered [--write]``.

Runs the whole suite once with coverage, also in processes that tests start, and counts statements. What a killed
process had run is not counted. ``--write`` puts the table into README.md.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

from tests.evaluation.readme import show

ROOT = Path(__file__).parents[2]
LEAST = 5
"""Modules that are named: those with the smallest share."""


def measured() -> dict[str, Any]:
    """Run the suite and return coverage's own report; a failing suite ends this."""
    with tempfile.TemporaryDirectory() as place:
        report = Path(place) / "covered.json"
        command = [sys.executable, "-m", "pytest", "--cov=segmenter", f"--cov-report=json:{report}"]
        subprocess.run(command, cwd=ROOT, check=True)
        found: dict[str, Any] = json.loads(report.read_text(encoding="utf-8"))
    return found


def rows(report: dict[str, Any]) -> list[tuple[str, str]]:
    """Return (what, result) pairs."""
    total = report["totals"]
    files = {name: file["summary"] for name, file in report["files"].items() if file["summary"]["num_statements"]}
    least = sorted(files.items(), key=lambda each: each[1]["percent_covered"])[:LEAST]
    full = sum(file["missing_lines"] == 0 for file in files.values())
    return [
        ("statements that run", f"{total['percent_covered']:.1f} % of {total['num_statements']:,}"),
        ("modules without a gap", f"{full} of {len(files)}"),
        ("the widest gaps", ", ".join(f"`{name}` {file['percent_covered']:.0f} %" for name, file in least)),
    ]


def main() -> None:
    """Run, count, print."""
    asked = argparse.ArgumentParser(prog="python -m tests.evaluation.covered", description=__doc__)
    asked.add_argument("--write", action="store_true", help="put the table into README.md")
    wanted = asked.parse_args()
    show("covered", "by the whole suite", rows(measured()), write=wanted.write)


if __name__ == "__main__":
    main()
