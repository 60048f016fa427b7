"""How well a batch uses a machine, and what it survives: ``python -m tests.evaluation.batch [--write]``.

Builds 24 short recordings, cut from the example, with one worker and with two (speech model tiny), then again
with workers that are killed and bad recordings among the good. ``--write`` puts the table into README.md.
"""

from __future__ import annotations

import argparse
import os
import signal
import tempfile
import threading
import time
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from segmenter.errors import SegmenterError
from segmenter.lesson import lesson_from_json
from segmenter.library.batch import run_batch
from segmenter.library.building import Outcome
from segmenter.library.jobs import find_jobs
from segmenter.library.record import read_record
from segmenter.programs import run, url
from segmenter.settings import BuildSettings
from tests.evaluation.readme import show

EXAMPLE = Path(__file__).parents[2] / "examples" / "voice-and-swallow-class.mp4"
COUNT, CUT_S, STEP_S = 24, 30, 11
KILLS = 5
SETTINGS = BuildSettings(speech_model="tiny", language="en")


def cut(folder: Path) -> Path:
    """Write the short recordings."""
    folder.mkdir()
    for number in range(COUNT):
        target = folder / f"class {number + 1:02}.mp4"
        run(["-ss", str(number * STEP_S), "-t", str(CUT_S), "-i", url(EXAMPLE), "-c:v", "copy", "-c:a", "aac",
             "-y", url(target)], EXAMPLE)  # fmt: skip
    return folder


def timed(recordings: Path, output: Path, workers: int, threads: int = 0) -> tuple[float, list[Outcome]]:
    """Return seconds and outcomes of one batch; 0 threads shares the processors among the workers."""
    began = time.perf_counter()
    settings = replace(SETTINGS, threads=threads)
    outcomes = run_batch(find_jobs(str(recordings)), output, settings, workers=workers)
    return time.perf_counter() - began, outcomes


def killed(recordings: Path, output: Path) -> tuple[int, list[Outcome]]:
    """Run a batch of two workers and kill one of them now and then; return how often, and the outcomes."""
    over, killed_ones = threading.Event(), set[int]()

    def kill() -> None:
        while not over.wait(1.0) and len(killed_ones) < KILLS:
            at_work = [pid for pid in _children() if pid not in killed_ones]
            finished = sum((folder / "lesson.json").exists() for folder in output.glob("*") if folder.is_dir())
            if at_work and finished > 3 * len(killed_ones):
                killed_ones.add(at_work[0])
                os.kill(at_work[0], signal.SIGKILL)

    thread = threading.Thread(target=kill)
    thread.start()
    _, outcomes = timed(recordings, output, 2)
    over.set()
    thread.join()
    return len(killed_ones), outcomes


def _children() -> list[int]:
    """Process numbers of the workers: those of this process's children that were spawned to work (Linux)."""
    own = Path(f"/proc/{os.getpid()}/task")
    pids = [int(pid) for task in own.iterdir() for pid in (task / "children").read_text().split()]
    return [pid for pid in pids if b"spawn_main" in Path(f"/proc/{pid}/cmdline").read_bytes()]


def whole(outcomes: Sequence[Outcome], output: Path) -> int:
    """How many finished lessons can be read."""
    found = 0
    for one in outcomes:
        file = output / one.job.name / "lesson.json"
        try:
            found += bool(lesson_from_json(file.read_bytes()))
        except (OSError, SegmenterError):
            continue
    return found


def rows() -> list[tuple[str, str]]:
    """Return (what, result) pairs."""
    with tempfile.TemporaryDirectory() as place:
        root = Path(place)
        recordings = cut(root / "recordings")
        timed(recordings, root / "warm", 2)  # the weights come from the disk once
        two, _ = timed(recordings, root / "two", 2)
        one, _ = timed(recordings, root / "one", 1, 1)
        whole_machine, _ = timed(recordings, root / "whole", 1)
        (recordings / "text.mp4").write_text("This is no recording.")
        (recordings / "nothing.wav").touch()
        (recordings / "torn.mp4").write_bytes((recordings / "class 01.mp4").read_bytes()[:2000])
        kills, outcomes = killed(recordings, root / "killed")
        again, _ = timed(recordings, root / "killed", 2)
        states = [outcome.state for outcome in outcomes]
        deaths = sum(row["event"] == "died" for row in read_record(root / "killed"))
        finished = [row["name"] for row in read_record(root / "killed") if row.get("state") == "done"]
        twice = len(finished) - len(set(finished))
        read = whole(outcomes, root / "killed")
    return [
        (f"{COUNT} recordings of {CUT_S} s: two workers against one, a thread each", f"{one / two:.2f} × as fast"),
        ("the same against one worker with both processors", f"{whole_machine / two:.2f} ×"),
        ("workers killed in a run", f"{kills} ({deaths} deaths on record)"),
        ("lessons finished; finished twice; damaged", f"{len(set(finished))} of {COUNT}; {twice}; {COUNT - read}"),
        ("bad recordings named, of three", str(states.count("failed"))),
        ("the same batch again, against the first time", f"{again / two:.2f} ×"),
    ]


def main() -> None:
    """Cut, build, kill, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation.batch", description=__doc__)
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    chosen = parser.parse_args()
    show("batch", "batch", rows(), write=chosen.write)


if __name__ == "__main__":
    main()
