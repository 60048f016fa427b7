"""Stand-ins for a build, so that a batch can be tried in seconds: they claim, write and die as one does."""

from __future__ import annotations

import os
import signal
import time
from pathlib import Path

from segmenter.errors import FolderError
from segmenter.folder import claimed
from segmenter.library.building import Outcome
from segmenter.library.jobs import Job
from segmenter.settings import BuildSettings


def quick(job: Job, output: str, settings: BuildSettings) -> Outcome:
    """Build in no time; note each finished build, and never build what is finished."""
    folder = Path(output) / job.name
    if (folder / "lesson.json").exists():
        return Outcome(job, "there")
    try:
        with claimed(folder):
            time.sleep(0.05)
            with (Path(output) / "built.txt").open("a") as log:
                log.write(f"{job.name} {os.getpid()} {settings.threads}\n")
            (folder / "lesson.json").write_text(job.name)
    except FolderError as error:
        return Outcome(job, "busy", str(error))
    return Outcome(job, "done", seconds=60.0, exercises=3)


def dying(job: Job, output: str, settings: BuildSettings) -> Outcome:
    """Die in the middle of the first attempt at every other recording, and always at a cursed one."""
    mark = Path(output) / f"{job.name}.tried"
    if "cursed" in job.name or (int(job.name[-1]) % 2 and not mark.exists()):
        mark.touch()
        with claimed(Path(output) / job.name):
            os.kill(os.getpid(), signal.SIGKILL)
    return quick(job, output, settings)


def troubled(job: Job, output: str, settings: BuildSettings) -> Outcome:
    """Meet trouble twice, then succeed; fail for good on what is named "bad"."""
    if "bad" in job.name:
        return Outcome(job, "failed", "this is no recording")
    mark = Path(output) / f"{job.name}.tried"
    tries = len(mark.read_text()) if mark.exists() else 0
    mark.write_text("x" * (tries + 1))
    return quick(job, output, settings) if tries == 2 else Outcome(job, "trouble", "the network went away")
