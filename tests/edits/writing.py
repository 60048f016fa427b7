"""What other processes do in the tests; imports little, since each of them starts anew."""

from __future__ import annotations

import os
from multiprocessing.connection import Connection
from pathlib import Path

from segmenter.edits.journal import Journal
from segmenter.edits.kinds import Retitle


def title(number: int) -> Retitle:
    return Retitle(at_ms=number * 1000, title=f"Title {number}", key=f"k{number}")


def write_many(folder: Path, first: int, count: int) -> None:
    journal = Journal(folder)
    for number in range(first, first + count):
        journal.append(title(number))


def write_and_tell(folder: Path, told: Connection, first: int) -> None:
    journal = Journal(folder)
    for number in range(first, first + 1_000_000):
        journal.append(title(number))
        told.send(number)


def publish_and_die(folder: Path, at: int) -> None:
    """Publish; end without a word, as by ``kill -9``, before file number `at` takes its place."""
    from segmenter.publishing import republish

    whole, seen = Path.replace, [0]

    def counting(self: Path, target: Path) -> Path:
        seen[0] += 1
        if seen[0] == at:
            os._exit(9)
        return whole(self, target)

    Path.replace = counting  # type: ignore[method-assign, assignment]
    republish(folder, media=False)
