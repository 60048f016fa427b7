"""Starts the desk on this computer only, and opens it in the browser."""

from __future__ import annotations

import contextlib
import os
import secrets
import socket
import sys
import webbrowser
from pathlib import Path

import uvicorn

from segmenter.errors import FolderError
from segmenter.files import folder_error
from segmenter.folder import refuse_lesson
from segmenter.review.app import make_app
from segmenter.review.state import Desk

HOST = "127.0.0.1"


def serve(folder: Path, port: int, *, browser: bool, speech_model: str = "base") -> None:
    """Run the desk until it is stopped.

    Parameters
    ----------
    folder : Path
        The lessons; made if it is missing.
    port : int
        Where to listen; another free one is taken if it is in use.
    browser : bool
        Whether to open the browser; the link is printed in any case.
    speech_model : str
        For recordings that are added.

    Raises
    ------
    FolderError
        If the folder cannot be used, or is a lesson itself.
    """
    refuse_lesson(folder)
    if folder.exists() and not folder.is_dir():
        raise FolderError("this is a file, not a folder", folder, "Name a folder for the lessons")
    try:
        desk = Desk.over(folder, speech_model)
        token = _token(desk.shelf.own / "key")
    except OSError as error:
        raise folder_error(error, folder) from error
    listening = _listen(port)
    port = listening.getsockname()[1]
    link = f"http://{HOST}:{port}/open?key={token}"
    print(f"The desk is open. If your browser does not show it, open this link:\n{link}", flush=True)
    print("Keep this window open while you work; press Ctrl+C to end.", flush=True)
    server = _Server(uvicorn.Config(make_app(desk, token, port), log_level="error", lifespan="off"), desk)
    if browser:
        webbrowser.open(link)
    with contextlib.suppress(KeyboardInterrupt):
        server.run(sockets=[listening])
    desk.close()


class _Server(uvicorn.Server):
    """Lets waiting windows go when it is asked to end; else it would wait for them for ever."""

    def __init__(self, config: uvicorn.Config, desk: Desk) -> None:
        super().__init__(config)
        self._desk = desk

    def handle_exit(self, sig: int, frame: object) -> None:
        self._desk.bell.close()
        super().handle_exit(sig, frame)  # type: ignore[arg-type]


def _listen(port: int) -> socket.socket:
    for wanted in (port, 0):
        listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if sys.platform != "win32":
            # A desk that was killed a moment ago must not keep its place taken. (On Windows the option would
            # let two programs share one place.)
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            listening.bind((HOST, wanted))
            # From now on the browser can knock, however long the server takes to answer.
            listening.listen(128)
        except (OSError, OverflowError):
            listening.close()
            continue
        return listening
    raise FolderError("no place to listen at could be found", None, "End other programs and try again")


def _token(path: Path) -> str:
    """Return the secret of this desk: the same after a restart, so that open windows go on working."""
    with contextlib.suppress(OSError, UnicodeDecodeError):
        kept = path.read_text(encoding="ascii").strip()
        if len(kept) >= 32:
            return kept
    made = secrets.token_urlsafe(32)
    path.unlink(missing_ok=True)
    # Readable by this user alone from its first moment.
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with open(handle, "w", encoding="ascii") as file:  # noqa: PTH123 - takes the handle
        file.write(made)
    return made
