"""The lesson folder: whose it is, who is working in it, and what must not be touched."""

from __future__ import annotations

import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path

from filelock import FileLock, Timeout

from segmenter.errors import FolderError
from segmenter.files import drop_drafts, folder_error

WORK = ".work"
"""Where unfinished work and results worth keeping lie, inside the lesson folder."""
_MARKS = ("lesson.json", "draft.json", WORK)


@contextlib.contextmanager
def claimed(folder: Path) -> Iterator[Path]:
    """Make `folder` ready for a lesson and hold it for one build; yields its work folder.

    Raises
    ------
    FolderError
        If it holds somebody else's files, another build works in it, or it cannot be written.
    """
    if folder.exists() and not folder.is_dir():
        raise FolderError("a file stands where the lesson folder should be", folder, "Choose another with -o")
    new = not folder.exists()
    try:
        strangers = [] if not folder.is_dir() else [p.name for p in folder.iterdir() if not p.name.startswith(".")]
        if strangers and not any((folder / mark).exists() for mark in _MARKS):
            raise FolderError(
                f"this folder holds other files ({', '.join(sorted(strangers)[:3])})",
                folder,
                "Choose a new folder with -o; nothing in it was changed",
            )
        work = folder / WORK
        work.mkdir(parents=True, exist_ok=True)
        lock = FileLock(work / "lock")
        lock.acquire(timeout=0)
    except Timeout as error:
        raise FolderError(
            "another build is working in this folder", folder, "Wait for it, or choose another with -o"
        ) from error
    except OSError as error:
        raise folder_error(error, folder) from error
    try:
        drop_drafts(work)
        drop_drafts(folder, but="edits.json")  # which has a lock of its own
        yield work
    finally:
        if sys.platform == "win32":  # there a file that somebody holds cannot be removed
            lock.release()
            _tidy(folder, work, new=new)
        else:
            # Removed while it is held: afterwards it may be another build's already.
            _tidy(folder, work, new=new)
            lock.release()


def refuse_lesson(folder: Path) -> None:
    """See that `folder` is one around lessons, before a library or a desk leaves files in it.

    Raises
    ------
    FolderError
        If it is a lesson itself.
    """
    if any((folder / mark).is_file() for mark in _MARKS):
        around = folder.resolve().parent
        raise FolderError("this folder is a lesson itself", folder, f"Name the folder around it: {around}")


def _tidy(folder: Path, work: Path, *, new: bool) -> None:
    """Leave nothing behind when nothing was done."""
    with contextlib.suppress(OSError):
        (work / "lock").unlink(missing_ok=True)
        if not any(work.iterdir()):
            work.rmdir()
            if new:
                folder.rmdir()
