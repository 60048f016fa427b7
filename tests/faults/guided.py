"""One parser under coverage-guided input: ``python -m tests.faults.guided PARSER SEEDS [options of libFuzzer]``."""

from __future__ import annotations

import sys

import atheris

_PLAIN = [
    "hear",
    "inspect",
    "edits",
    "times",
    "lesson",
    "understand.plan",
    "understand.catalogue",
    "understand.dose",
]

with atheris.instrument_imports(include=[f"segmenter.{name}" for name in _PLAIN]):
    from tests.faults.parsers import fed


def main() -> None:
    """Run until the number of runs is reached, or the first crash."""
    name = sys.argv.pop(1)
    atheris.Setup(sys.argv, lambda data: fed(name, data) and None)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
