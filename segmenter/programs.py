"""The only place that starts an outside program: the ffmpeg binary that `imageio_ffmpeg` carries.

Arguments are lists, never a shell line; ffmpeg is told not to read the keyboard. Inputs are
named ``file:`` plus an absolute path, so that no name is taken for an option or a web
address, and may only be of the kinds in `segmenter.containers.FORMATS`.
"""

from __future__ import annotations

import contextlib
import errno
import functools
import subprocess
import threading
from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import IO

import imageio_ffmpeg

from segmenter.errors import ProgramError
from segmenter.files import folder_error

KEPT_LINES = 400
"""Lines of ffmpeg's messages that are kept, so that a damaged file cannot fill the memory."""


@functools.cache
def ffmpeg_path() -> str:
    """Return where the ffmpeg binary is.

    Raises
    ------
    ProgramError
        If the package carries none for this system.
    """
    try:
        return str(imageio_ffmpeg.get_ffmpeg_exe())
    except RuntimeError as error:
        raise ProgramError(
            "ffmpeg was not found",
            advice="Install the package imageio-ffmpeg again, or set IMAGEIO_FFMPEG_EXE to an ffmpeg of your own",
        ) from error


def url(path: Path) -> str:
    """Return `path` as ffmpeg and PyAV take it: ``file:`` and the absolute path."""
    return f"file:{path.resolve()}"


@dataclass
class Running:
    """An ffmpeg at work.

    Parameters
    ----------
    output : IO[bytes]
        What it writes to ``pipe:1``.
    messages : deque of str
        The newest lines of its messages, each led by its level (``[error] ...``).
    faults : int
        Messages of level error so far.
    code : int or None
        Exit code, once it has ended.
    """

    output: IO[bytes]
    messages: deque[str] = field(default_factory=lambda: deque(maxlen=KEPT_LINES))
    faults: int = 0
    code: int | None = None

    def blocks(self, size: int) -> Iterator[bytes]:
        """Yield the output in pieces of `size` bytes; only the last may be shorter."""
        while block := self.output.read(size):
            yield block

    def drain(self, errors: IO[bytes]) -> None:
        """Take in all messages; ffmpeg stands still when nobody reads them."""
        for line in errors:
            text = line.decode("utf-8", "replace").rstrip()
            self.faults += "[error]" in text or "[fatal]" in text
            self.messages.append(text)


@contextlib.contextmanager
def stream(arguments: Sequence[str]) -> Iterator[Running]:
    """Start ffmpeg and yield it; leaving the block waits for it, an error in the block ends it.

    Parameters
    ----------
    arguments : sequence of str
        All that follows the program name.

    Raises
    ------
    ProgramError
        If it cannot be started. Its exit code is left to the caller (`check`): a damaged recording
        ends in an error after much that is good.
    """
    command = [ffmpeg_path(), "-hide_banner", "-nostdin", "-nostats", "-loglevel", "level+info", *arguments]
    try:
        process = subprocess.Popen(
            command,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            creationflags=getattr(subprocess, "CREATE_NO_WINDOW", 0),  # no black window on Windows
        )
    except OSError as error:
        raise ProgramError(
            f"ffmpeg did not start ({error.strerror or error})", command[0], "Install imageio-ffmpeg again"
        ) from error
    with process:
        assert process.stdout is not None and process.stderr is not None  # noqa: S101 - both are pipes
        running = Running(process.stdout)
        reader = threading.Thread(target=running.drain, args=(process.stderr,), daemon=True)
        reader.start()
        try:
            yield running
            process.stdout.close()
            running.code = process.wait()
        except BaseException:
            process.kill()
            raise
        finally:
            reader.join()


def check(running: Running, where: Path) -> None:
    """Raise if ffmpeg ended badly.

    Raises
    ------
    ProgramError
        With the last thing it complained about.
    FolderError
        If the disk was full.
    """
    if running.code == 0:
        return
    complaints = [line for line in running.messages if "[error]" in line or "[fatal]" in line]
    if any("No space left on device" in line for line in complaints):
        raise folder_error(OSError(errno.ENOSPC, "No space left on device"), where)
    last = complaints[-1].split("] ")[-1] if complaints else f"exit code {running.code}"
    raise ProgramError(f"ffmpeg could not work on this file ({last})", where, "Check that it plays, then try again")


def run(arguments: Sequence[str], where: Path) -> list[str]:
    """Run ffmpeg to its end and return its messages.

    Parameters
    ----------
    arguments : sequence of str
        All that follows the program name.
    where : Path
        The file concerned, for messages.

    Raises
    ------
    ProgramError, FolderError
        As `stream` and `check`.
    """
    with stream(arguments) as running:
        for _ in running.blocks(65_536):
            pass
    check(running, where)
    return list(running.messages)
