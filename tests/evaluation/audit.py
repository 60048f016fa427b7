"""Look over what the program needs to run: ``python -m tests.evaluation.audit [--offline]``.

Names every package that an installation brings along with its licence, and asks the Python Packaging Advisory
Database through pip-audit (extra ``evaluation``) for known weaknesses of exactly these versions. Exit status 1 when
a licence does not suit an Apache-2.0 project, or a weakness is known; where the database cannot be reached, it says
so.
"""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
import tempfile
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path
from typing import Any

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

UNSUITED = re.compile(r"\b(AGPL|GPL|GNU (?:AFFERO )?GENERAL PUBLIC|SSPL|NON-?COMMERCIAL)", re.IGNORECASE)
"""Licences that ask more of those who hand a project on than Apache-2.0 does (Apache Software Foundation,
third-party licence policy, category X; from memory). The lesser GNU licence suits what is only imported."""
_LESSER = re.compile(r"\bLGPL|LESSER", re.IGNORECASE)
_LONG = 200


def needed(root: str = "segmenter") -> dict[str, Distribution]:
    """Return all packages that `root` needs at run time on this machine, with those that they need."""
    found: dict[str, Distribution] = {}
    waiting = [Requirement(root)]
    while waiting:
        wanted = waiting.pop()
        extras = wanted.extras or {""}
        name = canonicalize_name(wanted.name)
        if name in found and not wanted.extras:
            continue
        try:
            found[name] = distribution(name)
        except PackageNotFoundError:
            continue
        for line in found[name].requires or ():
            other = Requirement(line)
            if other.marker is None or any(other.marker.evaluate({"extra": extra}) for extra in extras):
                waiting.append(other)
    del found[canonicalize_name(root)]
    return dict(sorted(found.items()))


def licence_of(package: Distribution) -> str:
    """Return what a package says of its licence: SPDX expression, classifiers, or its own words."""
    facts = package.metadata.json
    expression, own = str(facts.get("license_expression", "")), str(facts.get("license", "")).strip()
    if expression:
        return expression
    classes = [one.rsplit(" :: ", 1)[-1] for one in facts.get("classifier", ()) if one.startswith("License ::")]
    if classes:
        return "; ".join(classes)
    return own.splitlines()[0][:_LONG] if own else "not said"


def is_suited(licence: str) -> bool:
    """Whether a licence suits a package that an Apache-2.0 project needs to run.

    >>> is_suited("MIT"), is_suited("GPL-3.0-or-later"), is_suited("LGPLv2+"), is_suited("MIT OR GPL-2.0-only")
    (True, False, True, True)
    """
    choices = re.split(r"\s+OR\s+", licence)
    return any(not UNSUITED.search(choice) or bool(_LESSER.search(choice)) for choice in choices)


def weaknesses(packages: dict[str, Distribution]) -> tuple[list[str], list[str]]:
    """Return known weaknesses, a line each, and the packages of which nothing could be learned."""
    with tempfile.TemporaryDirectory() as place:
        pins = Path(place) / "pins.txt"
        pins.write_text("".join(f"{name}=={one.version}\n" for name, one in packages.items()), encoding="utf-8")
        command = [sys.executable, "-m", "pip_audit", "-r", str(pins), "--no-deps", "--disable-pip", "-f", "json"]
        ended = subprocess.run(command, capture_output=True, text=True, check=False)
    try:
        rows: list[dict[str, Any]] = json.loads(ended.stdout)["dependencies"]
    except (ValueError, KeyError):
        return [], list(packages)
    known = [
        f"{row['name']} {row['version']}: {weak['id']}, mended in {', '.join(weak['fix_versions']) or 'no version'}"
        for row in rows
        for weak in row.get("vulns", ())
    ]
    return known, [row["name"] for row in rows if "skip_reason" in row]


def main() -> int:
    """Print packages, licences and weaknesses; return 1 if something must be done."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--offline", action="store_true", help="look at licences alone")
    chosen = asked.parse_args()
    packages = needed()
    licences = {name: licence_of(package) for name, package in packages.items()}
    for name, licence in licences.items():
        print(f"{name} {packages[name].version}: {licence}{'' if is_suited(licence) else '   DOES NOT SUIT'}")
    bad = [name for name, licence in licences.items() if not is_suited(licence)]
    unsaid = [name for name, licence in licences.items() if licence == "not said"]
    print(
        f"{len(packages)} packages; {len(bad)} licences do not suit; {len(unsaid)} do not say: {', '.join(unsaid)}"
    )
    known, unknown = ([], list(packages)) if chosen.offline else weaknesses(packages)
    for line in known:
        print(f"known weakness: {line}")
    print(f"{len(known)} known weaknesses; the database could tell nothing of {len(unknown)} packages")
    return int(bool(bad or known))


if __name__ == "__main__":
    sys.exit(main())
