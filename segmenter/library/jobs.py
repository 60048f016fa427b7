"""What a batch has to build: every recording of a folder or a list, each with a lesson folder of its own."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath

from segmenter.containers import RECORDINGS
from segmenter.errors import FolderError, MediaError
from segmenter.library.places import entries, is_address

LONGEST_NAME = 100


@dataclass(frozen=True)
class Job:
    """One recording and the name of its lesson folder; the recording is a path or an address."""

    recording: str
    name: str


def find_jobs(source: str) -> list[Job]:
    """Return the recordings of a folder (also within other folders), or those named in a list, one a line.

    Parameters
    ----------
    source : str
        A folder, an address of one that fsspec knows, or a text file; ``#`` starts a remark in it. Paths in a list
        are taken from where the list lies.

    Raises
    ------
    FolderError, MediaError
        If there is no such folder or list, or no recording in it.
    """
    if is_address(source):
        recordings: list[str] = [name for name in entries(source) if _is_recording(name)]
    else:
        path = Path(source)
        if path.is_dir():
            recordings = [str(found) for found in sorted(path.rglob("*")) if _counts(found, path)]
        elif path.is_file():
            recordings = list(_listed(path))
        else:
            raise FolderError("there is no such folder or list", path, "Name a folder with recordings")
    if not recordings:
        raise MediaError("there is no recording here", source, f"Recordings end in {', '.join(sorted(RECORDINGS))}")
    return _named(list(dict.fromkeys(recordings)))


def _is_recording(name: str) -> bool:
    return PurePosixPath(name).suffix.lower() in RECORDINGS


def _counts(found: Path, root: Path) -> bool:
    if not _is_recording(found.name) or not found.is_file():
        return False
    folders = [folder for folder in found.parents if folder.is_relative_to(root)]
    # The copy of a recording in a lesson folder is no recording to build from.
    return not any(part.startswith(".") for part in found.relative_to(root).parts) and not any(
        (folder / "lesson.json").exists() or (folder / ".work").exists() for folder in folders
    )


def _listed(path: Path) -> Iterable[str]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise MediaError(
            "this list cannot be read", path, "Save it as plain text (UTF-8), one path a line"
        ) from error
    for line in text.splitlines():
        name = line.partition(" #")[0].strip()
        if name and not name.startswith("#"):
            yield name if is_address(name) else str(path.parent / name)


def _named(recordings: Sequence[str]) -> list[Job]:
    """Give every recording a folder name: its own, with more of its path where two would be the same."""
    stems = [_safe(PurePosixPath(recording.replace("\\", "/")).stem) for recording in recordings]
    taken: set[str] = set()
    jobs = []
    for recording, stem in zip(recordings, stems, strict=True):
        name, parts = stem, PurePosixPath(recording.replace("\\", "/"))
        if stems.count(stem) > 1:
            name = _safe(f"{parts.parent.name} {stem} {parts.suffix[1:]}")
        number = 2
        while name.casefold() in taken:
            name = f"{_safe(stem)} {number}"
            number += 1
        taken.add(name.casefold())
        jobs.append(Job(recording, name))
    return jobs


def _safe(text: str) -> str:
    plain = re.sub(r"[^\w \-().,&+']+", " ", unicodedata.normalize("NFC", text))
    return " ".join(plain.split()).strip(" .")[:LONGEST_NAME] or "class"
