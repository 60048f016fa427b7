"""The record of a batch: a line a job and a line an outcome, only ever added to; and what it comes to."""

from __future__ import annotations

import csv
import datetime as dt
import io
import json
import os
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

from segmenter.files import folder_error, write_whole
from segmenter.library.building import Outcome
from segmenter.library.jobs import Job
from segmenter.publish.sheet import safe_cell
from segmenter.publish.templating import render_page
from segmenter.times import spoken_length

RECORD, TABLE, PAGE = "batch.jsonl", "batch.csv", "batch.html"
STATES: Final = {"done": "Finished", "there": "Was finished before", "failed": "Could not be built"}
"""Every final state in plain words."""


class Record:
    """Lines in ``batch.jsonl``; each is on the disk before the next step is taken.

    Several batches may write to one record: a line goes out in one piece, at the end of the file.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / RECORD

    def add(self, event: str, **facts: Any) -> None:
        """Add a line.

        Raises
        ------
        FolderError
            If the disk is full or the folder cannot be written.
        """
        row = {"at": dt.datetime.now(dt.UTC).isoformat(timespec="seconds"), "event": event, **facts}
        line = (json.dumps(row, ensure_ascii=False) + "\n").encode()
        try:
            handle = os.open(self.path, os.O_WRONLY | os.O_APPEND | os.O_CREAT, 0o644)
            try:
                os.write(handle, line)
                os.fsync(handle)
            finally:
                os.close(handle)
        except OSError as error:
            raise folder_error(error, self.path) from error

    def started(self, job: Job, tries: int) -> None:
        """Note that a job was given to a worker."""
        self.add("started", **asdict(job), tries=tries)

    def ended(self, outcome: Outcome, *, last: bool) -> None:
        """Note how an attempt went, and whether it was the last one."""
        facts = asdict(outcome)
        self.add("ended", **facts.pop("job"), **facts, last=last)

    def died(self, job: Job, tries: int) -> None:
        """Note that the worker of a job died."""
        self.add("died", **asdict(job), tries=tries)


def read_record(folder: Path) -> list[dict[str, Any]]:
    """Return all lines; one that a kill cut short is passed over."""
    rows = []
    for line in (folder / RECORD).read_text(encoding="utf-8").splitlines():
        try:
            rows.append(json.loads(line))
        except ValueError:
            continue
    return rows


def write_summary(outcomes: Sequence[Outcome], folder: Path, took_s: float) -> None:
    """Write the table and the page of a batch, the ones that failed first.

    Raises
    ------
    FolderError
        If the folder cannot be written.
    """
    ordered = sorted(outcomes, key=lambda one: (one.state != "failed", one.job.name))
    headings = (
        "Recording", "Lesson", "How it went", "Why not", "Length (seconds)", "Took (seconds)", "Exercises",
        "To look at",
    )  # fmt: skip
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(headings)
    for one in ordered:
        row = (one.job.recording, one.job.name, STATES[one.state], one.problem, f"{one.seconds:.1f}",
               f"{one.took_s:.1f}", str(one.exercises), str(one.checks))  # fmt: skip
        writer.writerow([safe_cell(cell) for cell in row])
    write_whole(folder / TABLE, out.getvalue().encode("utf-8-sig"))
    page = render_page(
        "batch.html.j2",
        "Lessons built",
        "en",
        "Batch",
        outcomes=ordered,
        counts=Counter(one.state for one in ordered),
        states=STATES,
        length=spoken_length(1000 * sum(one.seconds for one in ordered)),
        took=spoken_length(1000 * took_s),
    )
    write_whole(folder / PAGE, page)
