"""Erase what this program knows of a class."""

from __future__ import annotations

import json
import os
import re
import shutil
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from filelock import FileLock, Timeout

from segmenter.errors import FolderError
from segmenter.files import folder_error, write_whole
from segmenter.folder import WORK
from segmenter.library.store import NAME as INDEX
from segmenter.library.store import index_file
from segmenter.made import read_made
from segmenter.publish.follow.film import NAME as FILM
from segmenter.publish.hand_on import FOLDER as FOR_VIEWERS
from segmenter.publish.hold_traces import FOLDER as HOLDS
from segmenter.publish.stills import FOLDER as STILLS
from segmenter.publishing import OUTPUTS

_OWN: Final = ("lesson.json", "draft.json", "edits.json", "index.html", FILM, *OUTPUTS)
_PICTURES: Final = {STILLS: r"\d\d[\w-]*\.jpg", HOLDS: r"\d\d-\d\d[\w-]*\.svg"}
_KEPT_EDITS: Final = "edits-damaged-*.json"
_MARKS: Final = ("lesson.json", "draft.json", WORK)
_DESK_QUEUE: Final = Path(".desk") / "queue.json"
_UP: Final = 6


@dataclass(frozen=True)
class Forgotten:
    """What was erased, what is left in the folder because it is not of this program, and what cannot be reached."""

    erased: int
    left: tuple[str, ...]
    recording: str | None

    def text(self) -> str:
        """Say it in plain words."""
        lines = [f"Erased: {self.erased} files."]
        if self.left:
            lines.append(f"Left in the folder, since they are not of this program: {', '.join(self.left)}.")
        if self.recording:
            lines.append(f"Your recording is still there: {self.recording}")
        lines.append(
            "Out of reach: copies that you handed on or uploaded, backups, and records of a batch. A disk may keep "
            "erased files for a while; where that matters, ask whoever looks after your computer."
        )
        return "\n".join(lines)


def forget(folder: Path) -> Forgotten:
    """Erase a lesson folder: every file of this program, its work folder, and the index and queue that name it.

    Files of a person are left, and links are taken away without following them.

    Raises
    ------
    FolderError
        If this is no lesson folder, a build is working in it, or something in it cannot be erased.
    """
    if folder.is_symlink() or not any((folder / mark).exists() for mark in _MARKS):
        raise FolderError("this is no lesson folder", folder, "Name the folder of one lesson; nothing was erased")
    made = read_made(folder)
    work = folder / WORK
    recording = made.recording if made.recording and Path(made.recording).exists() else None
    if recording is not None and Path(recording).resolve().is_relative_to(work.resolve()):
        recording = None  # it was handed over at the desk, and goes too
    own = [folder / name for name in (*_OWN, *made.copies)]
    own += folder.glob(_KEPT_EDITS)
    for name, shape in _PICTURES.items():
        own += [path for path in (folder / name).glob("*") if re.fullmatch(shape, path.name)]
    own += [path for path in folder.glob(".*") if re.match(r"\.[\w-]+-\w{8}\.", path.name)]  # half-written files
    try:
        _held(work)
        erased = sum(1 for top in (work, folder / FOR_VIEWERS) for path in _below(top))
        for top in (folder / FOR_VIEWERS, work):
            if top.is_symlink():
                top.unlink()
            elif top.exists():
                shutil.rmtree(top)
        for path in dict.fromkeys(own):
            if path.is_symlink() or path.is_file():
                path.unlink()
                erased += 1
        for name in _PICTURES:
            if (folder / name).is_dir() and not any((folder / name).iterdir()):
                (folder / name).rmdir()
        _unname(folder)
        left = tuple(sorted(path.name for path in folder.iterdir()))
        if not left:
            folder.rmdir()
    except OSError as error:
        raise folder_error(error, folder) from error
    return Forgotten(erased, left, recording)


def _held(work: Path) -> None:
    """Make sure that nobody builds here."""
    work.mkdir(exist_ok=True)
    try:
        with FileLock(work / "lock", timeout=0):
            pass
    except Timeout as error:
        raise FolderError(
            "a build is working in this folder", work.parent, "Wait for it or stop it; nothing was erased"
        ) from error


def _below(folder: Path) -> list[Path]:
    if folder.is_symlink() or not folder.is_dir():
        return []
    return [Path(place) / name for place, _, names in os.walk(folder) for name in names]


def _unname(folder: Path) -> None:
    """Take the lesson out of what lies around it: indexes, which are made anew, and the jobs of a desk."""
    for place in list(folder.resolve().parents)[:_UP]:
        for index in {place / INDEX, index_file(place) if place.is_dir() else place / INDEX}:
            for part in ("", "-journal", "-wal", "-shm"):
                index.with_name(index.name + part).unlink(missing_ok=True)
    queue = folder.resolve().parent / _DESK_QUEUE
    try:
        jobs = json.loads(queue.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return
    if isinstance(jobs, list):
        write_whole(queue, json.dumps([job for job in jobs if job.get("lesson") != folder.name], indent=1))
