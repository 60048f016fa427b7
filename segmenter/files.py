"""Files that are written whole or not at all."""

from __future__ import annotations

import contextlib
import errno
import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path

from segmenter.errors import FolderError

_DRAFT = re.compile(r"\.(.+)-[a-z0-9_]{8}\.draft(\.\w+)?")


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
        handle, name = tempfile.mkstemp(
            prefix=f".{target.stem}-", suffix=f".draft{target.suffix}", dir=target.parent
        )
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


def kept_beside(path: Path) -> list[Path]:
    """Return copies of `path` that `keep_beside` made, oldest first."""
    found = {int(n[1]): p for p in path.parent.glob("*") if (n := _beside(path).fullmatch(p.name))}
    return [found[number] for number in sorted(found)]


def keep_beside(path: Path) -> Path:
    """Keep what `path` holds under ``NAME-damaged-1.SUFFIX``, or the next free number, and return that path.

    Content that is kept already is not kept twice.

    Raises
    ------
    FolderError
        If it cannot be read or written.
    """
    try:
        data, known = path.read_bytes(), kept_beside(path)
        for old in known:
            if old.read_bytes() == data:
                return old
    except OSError as error:
        raise folder_error(error, path) from error
    last = int(_beside(path).fullmatch(known[-1].name)[1]) if known else 0  # type: ignore[index]
    copy = path.with_name(f"{path.stem}-damaged-{last + 1}{path.suffix}")
    write_whole(copy, data)
    return copy


def _beside(path: Path) -> re.Pattern[str]:
    return re.compile(rf"{re.escape(path.stem)}-damaged-([1-9][0-9]{{0,5}}){re.escape(path.suffix)}")


def drop_drafts(folder: Path, but: str | None = None) -> None:
    """Remove drafts that `whole_file` left in `folder` when it was killed, but for those of the file `but`.

    Only for whoever is alone in writing to this folder.
    """
    for path in folder.glob(".*"):
        found = _DRAFT.fullmatch(path.name)
        if found and f"{found[1]}{found[2] or ''}" != but and path.is_file():
            with contextlib.suppress(OSError):
                path.unlink()


def folder_error(error: OSError, where: Path) -> FolderError:
    """Turn an operating-system error into one that says what to do."""
    if error.errno in {errno.ENOSPC, errno.EDQUOT}:
        return FolderError("the disk is full", where, "Make room and run the same command again: it goes on")
    if isinstance(error, PermissionError) or error.errno == errno.EROFS:
        return FolderError("this place cannot be written", where, "Choose another folder with -o")
    return FolderError(f"writing failed ({error.strerror or error})", where, "Check the folder and try again")
