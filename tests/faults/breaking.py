"""A short lesson folder, what can be broken in it, and runs that are killed, starved or disturbed."""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

from segmenter.cli import main
from segmenter.edits.journal import Journal, read_entries
from segmenter.edits.kinds import Retitle
from tests.media_files import make

SECONDS = 14
TRANSCRIPT = """WEBVTT

00:00.500 --> 00:03.000
Welcome to our voice class today.

00:03.200 --> 00:06.000
Sit tall and hold a long ah for three seconds.

00:06.200 --> 00:09.500
Pause the video here and do five more at home.

00:09.700 --> 00:13.500
Now we tap the thumb on each finger, ten times.
"""


@dataclass(frozen=True)
class Ran:
    """How a command ended: its status, what it said, and whether it ended with a traceback."""

    code: int
    said: str
    crashed: str | None

    @property
    def plainly(self) -> bool:
        """Done, or refused in one line."""
        told = [line for line in self.said.splitlines() if line.startswith("Error: ")]
        return self.crashed is None and (self.code == 0 or len(told) == 1)


def run(*arguments: str) -> Ran:
    """Run a command of the program here."""
    ended = CliRunner().invoke(main, arguments)
    crashed = None
    if ended.exception is not None and not isinstance(ended.exception, SystemExit):
        crashed = f"{type(ended.exception).__name__}: {ended.exception}"
    return Ran(ended.exit_code, ended.output, crashed)


@dataclass(frozen=True)
class Class:
    """A recording with its transcript, and how its lesson is built."""

    recording: Path
    transcript: Path

    @classmethod
    def made(cls, folder: Path) -> Class:
        transcript = folder / "class.vtt"
        transcript.write_text(TRANSCRIPT, encoding="utf-8")
        return cls(make(folder / "class.mp4", SECONDS), transcript)

    def building(self, folder: Path) -> tuple[str, ...]:
        """The command that builds the lesson."""
        words = str(self.transcript)
        return "build", str(self.recording), "-o", str(folder), "--transcript", words, "--quiet"

    def build(self, folder: Path) -> Ran:
        """Build the lesson here."""
        return run(*self.building(folder))


def contents(folder: Path) -> dict[str, str]:
    """What a folder holds, but for its work folder."""
    found = (path for path in folder.rglob("*") if path.is_file() and ".work" not in path.parts)
    return {p.relative_to(folder).as_posix(): hashlib.sha256(p.read_bytes()).hexdigest() for p in found}


def drafts(folder: Path) -> list[str]:
    """Unfinished files that nothing will finish."""
    return [path.name for path in folder.rglob(".*") if ".draft" in path.name]


def retitle(folder: Path, title: str) -> None:
    """Change a chapter's title as the desk does."""
    Journal(folder).append(Retitle(at_ms=4_000, title=title))


def titles(folder: Path) -> list[str]:
    """Titles that a person gave, as they are on the disk."""
    return [entry.title for entry in read_entries(folder / "edits.json") if isinstance(entry, Retitle)]


def in_child(act: Callable[[], object]) -> int:
    """Do something in a copy of this process and return its id; the modules are loaded already."""
    child = os.fork()
    if child == 0:
        with contextlib.suppress(BaseException):
            null = os.open(os.devnull, os.O_WRONLY)
            os.dup2(null, 1)
            os.dup2(null, 2)
            act()
            os._exit(0)
        os._exit(1)
    return child


def begun(*arguments: str) -> subprocess.Popen[bytes]:
    """Begin a command of the program in a process of its own."""
    program = [sys.executable, "-m", "segmenter", *arguments]
    return subprocess.Popen(program, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def killed(arguments: Sequence[str], after_s: float) -> bool:
    """Kill a command, as ``kill -9`` does, some seconds after it began; say whether it was still at work."""
    process = begun(*arguments)
    time.sleep(after_s)
    process.kill()
    return process.wait() == -signal.SIGKILL


def length_of(arguments: Sequence[str]) -> float:
    """Seconds that a command takes, which must succeed."""
    start = time.monotonic()
    if begun(*arguments).wait() != 0:
        raise AssertionError(f"segmenter {' '.join(arguments)} failed")
    return time.monotonic() - start


def mountable() -> bool:
    """Whether small disks can be mounted here."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("mount") is not None


@contextlib.contextmanager
def small_disk(place: Path, kilobytes: int) -> Iterator[Path]:
    """A disk of its own, as small as wanted."""
    place.mkdir(parents=True, exist_ok=True)
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={kilobytes}k", "tmpfs", place], check=True)  # noqa: S607
    try:
        yield place
    finally:
        subprocess.run(["umount", "-l", place], check=True)  # noqa: S607


def remount(place: Path, option: str) -> None:
    """Change a small disk: ``ro``, ``rw`` or ``size=...``."""
    subprocess.run(["mount", "-o", f"remount,{option}", place], check=True)  # noqa: S607


def _flipped(data: bytes, chance: random.Random) -> bytes:
    at = chance.randrange(len(data)) if data else 0
    return data[:at] + bytes([data[at] ^ (1 << chance.randrange(8))]) + data[at + 1 :] if data else b"\0"


DAMAGES: dict[str, Callable[[bytes, random.Random], bytes]] = {
    "empty": lambda data, chance: b"",
    "cut": lambda data, chance: data[: chance.randrange(max(1, len(data)))],
    "a bit flipped": _flipped,
    "zeros": lambda data, chance: bytes(len(data)),
    "another form": lambda data, chance: b'{"a": [1, {"b": null}]}',
    "too deep": lambda data, chance: b"[" * 100_000,
    "no text": lambda data, chance: b"\xff\xfe\x80" * 40,
}
"""Ways in which a file is found damaged."""


def damaged_files(folder: Path) -> list[Path]:
    """The files that the program itself reads again."""
    names = ("draft.json", "edits.json", "lesson.json")
    kept = [path for path in (folder / ".work").rglob("*") if path.is_file() and path.suffix in {".json", ".jsonl"}]
    return [*(folder / name for name in names if (folder / name).exists()), *sorted(kept)]


def readable(folder: Path) -> bool:
    """Whether lesson.json and draft.json stand as JSON."""
    return all(isinstance(json.loads((folder / n).read_bytes()), dict) for n in ("lesson.json", "draft.json"))
