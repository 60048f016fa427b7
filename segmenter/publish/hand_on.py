"""A folder of its own with what viewers may have: the lesson folder itself also holds what was kept from them."""

from __future__ import annotations

import os
import shutil
from collections.abc import Sequence
from pathlib import Path

from segmenter.files import folder_error
from segmenter.folder import WORK

FOLDER = "for-viewers"
_LARGE = 8 * 1024**2
"""Bytes; what is larger shares its place on the disk with the file in the lesson folder where that can be."""


def hand_on(folder: Path, names: Sequence[str]) -> None:
    """Fill ``for-viewers`` in a lesson folder with these files and nothing else; with no names it goes away.

    The old folder stays until the new one is whole.

    Parameters
    ----------
    folder : Path
        The lesson folder, held by `segmenter.folder.claimed`.
    names : sequence of str
        Files of it, with ``/`` between folders.

    Raises
    ------
    FolderError
        If the disk is full or the folder cannot be written.
    """
    target, new, old = _places(folder)
    try:
        finish(folder)
        if names:
            new.mkdir(parents=True)
        for name in names:
            (new / name).parent.mkdir(parents=True, exist_ok=True)
            _put(folder / name, new / name)
        if target.exists():
            target.replace(old)
        if names:
            new.replace(target)
        shutil.rmtree(old, ignore_errors=True)
    except OSError as error:
        raise folder_error(error, target) from error


def unfinished(folder: Path) -> bool:
    """Whether a kill left something to `finish`."""
    return any(place.exists() for place in _places(folder)[1:])


def finish(folder: Path) -> None:
    """Bring to its end what a kill interrupted: ``for-viewers`` is then whole, the new one or the old one."""
    target, new, old = _places(folder)
    if old.exists() and not target.exists():
        # Only when the new one was whole did the old one make way.
        (new if new.exists() else old).replace(target)
    for left in (new, old):
        shutil.rmtree(left, ignore_errors=True)


def _places(folder: Path) -> tuple[Path, Path, Path]:
    return folder / FOLDER, folder / WORK / f"{FOLDER}.new", folder / WORK / f"{FOLDER}.old"


def _put(source: Path, target: Path) -> None:
    # The program only ever replaces files, so a second name for the same content is as good as a copy. Small texts
    # are copied, since a person may open and change them.
    if source.stat().st_size > _LARGE:
        try:
            os.link(source, target)
        except OSError:
            pass  # a file system without second names, such as a stick's
        else:
            return
    shutil.copy2(source, target)
