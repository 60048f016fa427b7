"""One parser under coverage-guided input: ``python -m tests.faults.guided PARSER SEEDS [options of libFuzzer]``."""

from __future__ import annotations

import importlib
import sys
from typing import Any

from tests.faults.parsers import fed


def main() -> None:
    """Run until the number of runs is reached, or the first crash."""
    atheris: Any = importlib.import_module("atheris")  # in an extra
    name = sys.argv.pop(1)
    atheris.instrument_all()
    atheris.Setup(sys.argv, lambda data: fed(name, data) and None)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
