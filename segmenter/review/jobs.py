"""The queue of recordings: one is worked on at a time, and a desk that was killed goes on where it stood."""

from __future__ import annotations

import json
import multiprocessing
import threading
from collections.abc import Callable
from dataclasses import asdict, dataclass, replace
from multiprocessing.connection import Connection
from multiprocessing.context import SpawnProcess
from pathlib import Path
from typing import Any

from segmenter.files import keep_beside, write_whole
from segmenter.progress import STAGES
from segmenter.review.worker import Order, work

_FILE = "queue.json"


@dataclass(frozen=True)
class Job:
    """One recording on its way to a lesson. `state`: waiting, working, done, failed or cancelled."""

    id: str
    lesson: str
    recording: str
    transcript: str | None = None
    title: str | None = None
    state: str = "waiting"
    stage: str | None = None
    share: float = 0.0
    found: str = ""
    problem: str | None = None

    def row(self) -> dict[str, Any]:
        """Return what the screen shows: every stage with how far it is."""
        names = list(STAGES)
        at = names.index(self.stage) if self.stage in names else -1
        shares = [
            1.0 if n < at or self.state == "done" else self.share if n == at else 0.0 for n in range(len(names))
        ]
        return {
            "id": self.id,
            "lesson": self.lesson,
            "state": self.state,
            "stages": [[STAGES[name], share] for name, share in zip(names, shares, strict=True)],
            "now": STAGES[self.stage] if self.stage else None,
            "found": self.found,
            "problem": self.problem,
        }


class Queue:
    """Jobs in order, kept in a file.

    Parameters
    ----------
    own : Path
        The desk's own folder.
    root : Path
        The folder of the lessons.
    speech_model : str
        As in `segmenter.settings.BuildSettings`.
    told : callable
        Called whenever something changed.
    """

    def __init__(self, own: Path, root: Path, speech_model: str, told: Callable[[], None]) -> None:
        self._file = own / _FILE
        self._root = root
        self._model = speech_model
        self._told = told
        self._lock = threading.RLock()
        self._wake = threading.Event()
        self._closed = False
        self._process: SpawnProcess | None = None
        self._jobs = self._read()
        self._thread = threading.Thread(target=self._run, daemon=True)
        self._thread.start()

    def _read(self) -> dict[str, Job]:
        try:
            rows = json.loads(self._file.read_text(encoding="utf-8"))
            jobs = [Job(**row) for row in rows]
            for job in jobs:
                job.row()
        except OSError:
            return {}
        except (ValueError, TypeError, RecursionError):
            keep_beside(self._file)
            return {}
        # One that was worked on when the desk was killed is worked on again: what was finished is kept.
        return {job.id: replace(job, state="waiting") if job.state == "working" else job for job in jobs}

    def jobs(self) -> list[Job]:
        """Return every job, in order."""
        with self._lock:
            return list(self._jobs.values())

    def add(self, job: Job) -> None:
        """Put a job at the end."""
        self._put(job)
        self._wake.set()

    def cancel(self, id_: str) -> bool:
        """Stop a job, or take it from the queue; say whether it was there."""
        with self._lock:
            job = self._jobs.get(id_)
            if job is None or job.state not in {"waiting", "working"}:
                return False
            working = job.state == "working"
            self._put(replace(job, state="cancelled"))
            if working and self._process is not None:
                self._process.terminate()
        return True

    def retry(self, id_: str) -> bool:
        """Try a job again that failed or was stopped; say whether it was there."""
        with self._lock:
            job = self._jobs.get(id_)
            if job is None or job.state not in {"failed", "cancelled"}:
                return False
            self.add(replace(job, state="waiting", problem=None, share=0.0, stage=None, found=""))
        return True

    def dismiss(self, id_: str) -> bool:
        """Take a job that is over off the list; say whether it was there."""
        with self._lock:
            job = self._jobs.get(id_)
            if job is None or job.state in {"waiting", "working"}:
                return False
            del self._jobs[id_]
            self._keep()
        self._told()
        return True

    def close(self) -> None:
        """Stop working; what is finished is kept."""
        self._closed = True
        self._wake.set()
        with self._lock:
            if self._process is not None:
                self._process.terminate()
        self._thread.join(timeout=10)

    def _put(self, job: Job, *, keep: bool = True) -> None:
        with self._lock:
            self._jobs[job.id] = job
            if keep:
                self._keep()
        self._told()

    def _keep(self) -> None:
        write_whole(self._file, json.dumps([asdict(job) for job in self._jobs.values()], indent=1))

    def _run(self) -> None:
        while not self._closed:
            job = next((job for job in self.jobs() if job.state == "waiting"), None)
            if job is None:
                self._wake.wait()
                self._wake.clear()
            else:
                self._work(job)

    def _work(self, job: Job) -> None:
        folder = self._root / job.lesson
        order = Order(job.recording, str(folder), job.transcript, job.title, self._model)
        spawn = multiprocessing.get_context("spawn")
        ours, theirs = spawn.Pipe(duplex=False)
        with self._lock:
            if self._jobs[job.id].state != "waiting":
                return
            self._put(replace(job, state="working"))
            self._process = spawn.Process(target=work, args=(order, theirs), daemon=True)
            self._process.start()
        theirs.close()
        try:
            self._follow(job.id, ours)
        finally:
            self._process.join()
            with self._lock:
                self._process = None
                left = self._jobs.get(job.id)
                if left is not None and left.state == "working" and not self._closed:
                    self._put(replace(left, state="failed", problem="the work stopped without a word. Try again"))

    def _follow(self, id_: str, told: Connection) -> None:
        while True:
            try:
                kind, *rest = told.recv()
            except (EOFError, OSError):
                return
            with self._lock:
                job = self._jobs[id_]
                if job.state != "working":
                    return
                if kind == "at":
                    stage, share, found = rest
                    # Only states are worth a write to the disk: shares come many times a second.
                    kept = stage != job.stage
                    found = found or (job.found if not kept else "")
                    self._put(replace(job, stage=stage, share=share, found=found), keep=kept)
                elif kind == "done":
                    self._put(replace(job, state="done", share=1.0))
                else:
                    self._put(replace(job, state="failed", problem=rest[0]))
