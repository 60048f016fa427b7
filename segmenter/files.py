"""Files that are written whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from segmenter.errors import FolderError


@contextlib.contextmanager
def whole_file(target: Path) -> Iterator[Path]:
    """Yield a temporary path beside `target`; it takes the target's place if the block succeeds.

    A reader sees the old file or the new one, never half of one, whatever moment the
    program is killed at.

    Raises
    ------
    FolderError
        If the disk is full or the folder cannot be written.
    """
    draft: Path | None = None
    try:
        handle, name = tempfile.mkstemp(prefix=f".{target.stem}-", suffix=target.suffix, dir=target.parent)
        os.close(handle)
        draft = Path(name)
        yield draft
        with draft.open("rb+") as written:
            os.fsync(written.fileno())
        draft.chmod(0o644)
        draft.replace(target)
    except OSError as error:
        raise folder_error(error, target) from error
    finally:
        if draft is not None:
            draft.unlink(missing_ok=True)


def write_whole(target: Path, data: str | bytes) -> None:
    """Write text (UTF-8, ``\\n`` line ends) or bytes to `target`, whole or not at all.

    Raises
    ------
    FolderError
        As `whole_file`.
    """
    with whole_file(target) as draft:
        draft.write_bytes(data.encode() if isinstance(data, str) else data)


def folder_error(error: OSError, where: Path) -> FolderError:
    """Turn an operating-system error into one that says what to do."""
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return FolderError("the disk is full", where, "Make room and run the same command again: it goes on")
    if isinstance(error, PermissionError) or error.errno == errno.EROFS:
        return FolderError("this place cannot be written", where, "Choose another folder with -o")
    return FolderError(f"writing failed ({error.strerror or error})", where, "Check the folder and try again")
