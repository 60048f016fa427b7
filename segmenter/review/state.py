"""What the desk holds while it runs."""

from __future__ import annotations

import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import cast

from filelock import FileLock, Timeout
from starlette.requests import Request

from segmenter.errors import FolderError
from segmenter.review.editing import OpenLessons
from segmenter.review.jobs import Queue
from segmenter.review.live import Bell
from segmenter.review.shelf import Shelf, mend


@dataclass(frozen=True)
class Desk:
    """Lessons, queue and windows of one running desk."""

    lock: FileLock
    shelf: Shelf
    queue: Queue
    lessons: OpenLessons
    bell: Bell

    @classmethod
    def over(cls, folder: Path, speech_model: str = "base") -> Desk:
        """Open the desk over a folder of lessons."""
        shelf, bell = Shelf(folder), Bell()
        lock = FileLock(shelf.own / "lock")
        try:
            lock.acquire(timeout=0)
        except Timeout as error:
            raise FolderError(
                "a desk is open for this folder already", folder, "Use its window, or end it first"
            ) from error
        # What arrived but was never added belongs to no lesson.
        shutil.rmtree(shelf.own / "incoming", ignore_errors=True)
        for name in shelf.names():
            mend(shelf.root / name)
        return cls(lock, shelf, Queue(shelf.own, shelf.root, speech_model, bell.ring), OpenLessons(), bell)

    def close(self) -> None:
        """Let windows and work go."""
        self.bell.close()
        self.queue.close()
        self.lock.release()


def desk_of(request: Request) -> Desk:
    """Return the desk that answers a request."""
    return cast(Desk, request.app.state.desk)
