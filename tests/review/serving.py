"""A desk that runs in a thread of the test, over a folder of the test."""

from __future__ import annotations

import contextlib
import threading
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from segmenter.lesson import Lesson, to_json
from segmenter.publishing import republish
from segmenter.review.app import make_app
from segmenter.review.serving import HOST, _listen
from segmenter.review.state import Desk

KEY = "k" * 43


@dataclass(frozen=True)
class Running:
    """Where a desk listens, and what it works on."""

    desk: Desk
    port: int

    @property
    def origin(self) -> str:
        return f"http://{HOST}:{self.port}"

    @property
    def link(self) -> str:
        return f"{self.origin}/open?key={KEY}"


def shelved(root: Path, name: str, lesson: Lesson) -> Path:
    """Put a lesson on the shelf, published as a build would."""
    folder = root / name
    folder.mkdir(parents=True)
    (folder / "draft.json").write_text(to_json(lesson), encoding="utf-8")
    republish(folder)
    (folder / ".work" / "published.json").unlink()
    return folder


@contextlib.contextmanager
def running(root: Path, speech_model: str = "tiny") -> Iterator[Running]:
    """Run a desk over `root`."""
    desk = Desk.over(root, speech_model)
    listening = _listen(0)
    port = listening.getsockname()[1]
    server = uvicorn.Server(uvicorn.Config(make_app(desk, KEY, port), log_level="error", lifespan="off"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    yield Running(desk, port)
    desk.close()
    server.should_exit = True
    thread.join(timeout=60)
