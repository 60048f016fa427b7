"""Whether memory and open files stay flat: ``python -m tests.evaluation.soak [--builds 200] [--write]``.

Builds a very short recording again and again in one process, each time into a new folder, then makes edits at
one open desk. A fifth of each is for warming up; what the process holds then is compared with what it holds at
the end.
"""

from __future__ import annotations

import argparse
import gc
import os
import shutil
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from segmenter.edits.journal import read_entries
from tests.evaluation.readme import put
from tests.faults.asking import Asked
from tests.faults.breaking import Class
from tests.lessons import rich_lesson
from tests.review.serving import shelved

README = Path(__file__).parents[2] / "README.md"


def held() -> tuple[float, int]:
    """Megabytes of memory and number of open files of this process (Linux)."""
    gc.collect()
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE") / 2**20, len(os.listdir("/proc/self/fd"))  # noqa: PTH208


@dataclass(frozen=True)
class Held:
    """What a process held after warming up and at the end of a loop."""

    times: int
    warm: tuple[float, int]
    last: tuple[float, int]
    most: float

    def row(self, name: str) -> str:
        """One line of the table."""
        growth = self.last[0] - self.warm[0]
        memory = f"{self.warm[0]:.0f} MB | {self.last[0]:.0f} MB | {growth:+.1f} MB | {self.most:.0f} MB"
        return f"| {self.times} {name} | {memory} | {self.warm[1]} | {self.last[1]} |"


def repeated(act: Callable[[int], None], times: int) -> Held:
    """Do something again and again."""
    warm, most = held(), 0.0
    for number in range(times):
        act(number)
        if number % 10 == 9 or number == times - 1:
            now = held()
            most = max(most, now[0])
            print(f"  {number + 1}: {now[0]:.1f} MB, {now[1]} files", flush=True)
        if number == times // 5:
            warm = held()
    return Held(times, warm, held(), most)


def builds(place: Path, times: int) -> Held:
    """Builds of one short recording, each into a new folder."""
    lesson = Class.made(place)

    def build(number: int) -> None:
        ran = lesson.build(place / "lesson")
        assert ran.code == 0, ran
        shutil.rmtree(place / "lesson")

    return repeated(build, times)


def edits(place: Path, times: int) -> Held:
    """Edits at one desk, with an undo after every fifth; all of them are in the file at the end."""
    folder = shelved(place / "lessons", "Voice", rich_lesson())
    desk = Asked(place / "lessons")

    def edit(number: int) -> None:
        what, wanted = "edit", {"do": "retitle", "at": 11.0, "title": f"Title {number}"}
        body = {"seen": desk.version(), "key": f"k{number}", "edit": wanted}
        if number % 6 == 5:
            what, body = "undo", {"seen": body["seen"], "key": f"k{number}"}
        answer = desk.client.post(f"/lesson/Voice/{what}", json=body, headers=desk.headers)
        assert answer.status_code == 200, answer.text

    found = repeated(edit, times)
    assert len(read_entries(folder / "edits.json")) == times
    desk.close()
    return found


def main() -> None:
    """Print the table, and put it into README with ``--write``."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--builds", type=int, default=200)
    asked.add_argument("--edits", type=int, default=500)
    asked.add_argument("--write", action="store_true")
    wanted = asked.parse_args()
    rows = ["| in one process | memory, warm | at the end | growth | most | open files, warm | at the end |",
            "| --- | ---: | ---: | ---: | ---: | ---: | ---: |"]  # fmt: skip
    with tempfile.TemporaryDirectory() as name:
        rows.append(edits(Path(name), wanted.edits).row("edits at the desk"))
        rows.append(builds(Path(name), wanted.builds).row("builds"))
    print("\n".join(rows))
    if wanted.write:
        put(README, "soak", "\n".join(rows))


if __name__ == "__main__":
    main()
