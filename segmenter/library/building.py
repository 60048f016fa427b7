"""What a worker of a batch does: one recording to one finished lesson, exactly once, however often it is asked."""

from __future__ import annotations

import contextlib
import json
import os
import socket
import tempfile
import time
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal

from threadpoolctl import threadpool_limits

from segmenter import __version__
from segmenter.errors import FolderError, SegmenterError
from segmenter.files import write_whole
from segmenter.folder import WORK
from segmenter.library.jobs import Job
from segmenter.library.places import fetched, is_address, put_back, stored
from segmenter.settings import BuildSettings

State = Literal["done", "there", "busy", "failed", "trouble"]
_NOTE = "batch.json"


@dataclass(frozen=True)
class Outcome:
    """How one attempt went.

    Parameters
    ----------
    job : Job
        What was to be built.
    state : str
        ``done``; ``there``: an equal lesson stood there already; ``busy``: somebody else builds it now; ``failed``:
        this recording cannot be built, and trying again will not help; ``trouble``: something else went wrong.
    problem : str
        Why not, in plain words.
    took_s, seconds : float
        Time it took, and length of the recording.
    exercises, checks : int
        What was found, and what a person should look at.
    where : str
        Machine and process.
    """

    job: Job
    state: State
    problem: str = ""
    took_s: float = 0.0
    seconds: float = 0.0
    exercises: int = 0
    checks: int = 0
    where: str = ""


def build_one(job: Job, output: str, settings: BuildSettings) -> Outcome:
    """Build the lesson of a recording, unless an equal one stands there; never raises for a recording's sake."""
    from segmenter.pipeline import build  # noqa: PLC0415 - seconds to load, and only workers need it

    began = time.monotonic()
    try:
        if _is_there(job, output, settings):
            return _outcome(job, "there", began)
        # The recogniser is told its threads; linear algebra alone would take every processor.
        limited = threadpool_limits(settings.threads or None)
        with limited, fetched(job.recording) as recording, _folder(job, output) as folder:
            built = build(recording, folder, settings)
            lesson = built.lesson
            if is_address(output):
                put_back(folder, f"{output.rstrip('/')}/{job.name}")
            else:
                write_whole(folder / WORK / _NOTE, _mark(job, settings))
    except FolderError as error:
        busy = "another build" in error.problem
        return _outcome(job, "busy" if busy else "trouble", began, str(error))
    except SegmenterError as error:
        return _outcome(job, "failed", began, f"{error.problem}. {error.advice or ''}".strip())
    except MemoryError:
        return _outcome(job, "trouble", began, "there was not enough memory. Use fewer workers")
    except Exception as error:
        return _outcome(job, "trouble", began, f"{type(error).__name__}: {error}")
    return Outcome(
        job,
        "done",
        took_s=round(time.monotonic() - began, 2),
        seconds=lesson.recording.seconds,
        exercises=sum(chapter.kind == "exercise" for chapter in lesson.chapters),
        checks=sum(check.level != "note" for check in lesson.checks),
        where=_where(),
    )


def _outcome(job: Job, state: State, began: float, problem: str = "") -> Outcome:
    return Outcome(job, state, " ".join(problem.split()), round(time.monotonic() - began, 2), where=_where())


def _where() -> str:
    return f"{socket.gethostname()}:{os.getpid()}"


@contextlib.contextmanager
def _folder(job: Job, output: str) -> Iterator[Path]:
    """The folder to build in: the lesson's own, or one of this machine when it goes to an address."""
    if not is_address(output):
        Path(output).mkdir(parents=True, exist_ok=True)
        yield Path(output) / job.name
        return
    with tempfile.TemporaryDirectory(prefix="lesson-") as folder:
        yield Path(folder) / job.name


def _is_there(job: Job, output: str, settings: BuildSettings) -> bool:
    if is_address(output):
        # A place of that kind has no lock: what is finished is known by its last file.
        return stored(f"{output.rstrip('/')}/{job.name}", "lesson.json") is not None
    folder = Path(output) / job.name
    try:
        note = (folder / WORK / _NOTE).read_text(encoding="utf-8")
    except OSError:
        return False
    return (folder / "lesson.json").is_file() and note == _mark(job, settings)


def _mark(job: Job, settings: BuildSettings) -> str:
    """What a lesson was built from: another file, another choice or another version make another lesson."""
    chosen = {name: str(value) for name, value in asdict(settings).items() if name not in {"threads", "device"}}
    size = stamp = 0
    with contextlib.suppress(OSError):
        facts = Path(job.recording).stat()
        size, stamp = facts.st_size, facts.st_mtime_ns
    facts_of = {"recording": job.recording, "size": size, "time": stamp, "version": __version__, "settings": chosen}
    return json.dumps(facts_of, sort_keys=True)
