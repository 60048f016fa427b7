"""Let a synthetic voice speak the classes that are learned from, and keep what is heard of them.

``python -m tests.evaluation.takes [--first N]`` writes ``models/training/heard``; classes that are there already
are left alone. Shortest first, since each costs about a fifth of its length.
"""

from __future__ import annotations

import argparse

from segmenter.resources import shipped
from segmenter.understand.scripts import read_scripts
from segmenter.understand.takes import keep_take, take_file
from tests.evaluation.spoken import take_of


def main() -> None:
    """Speak, hear, keep."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation.takes", description=__doc__)
    parser.add_argument("--first", type=int, metavar="N", help="so many of the shortest classes")
    chosen = parser.parse_args()
    folder = shipped("training") / "heard"
    folder.mkdir(exist_ok=True)
    scripts = sorted(read_scripts(shipped("training") / "classes"), key=lambda script: len(script.items))
    for script in scripts[: chosen.first]:
        path = take_file(folder, script)
        if not path.exists():
            keep_take(path, take_of(script))
            print(script.name, flush=True)


if __name__ == "__main__":
    main()
