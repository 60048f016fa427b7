"""The folder with the lessons: what is in it, and no way out of it."""

from __future__ import annotations

import contextlib
import json
import re
import unicodedata
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from segmenter.containers import RECORDINGS
from segmenter.edits.journal import read_entries, steps
from segmenter.errors import SegmenterError
from segmenter.folder import WORK, claimed
from segmenter.made import Made, read_made
from segmenter.publish.follow.film import NAME as FILM
from segmenter.publish.hand_on import finish, unfinished
from segmenter.publish.hold_traces import FOLDER as HOLDS
from segmenter.publish.stills import FOLDER as STILLS
from segmenter.publishing import OUTPUTS, mark_of
from segmenter.together import interrupted, settle

OWN = ".desk"
"""What belongs to the desk and to no lesson: its queue, its key, words to remember."""
TRANSCRIPTS = frozenset({".vtt", ".srt", ".txt", ".json"})
_MARKS = ("lesson.json", "draft.json", WORK)
_UNSAFE = re.compile(r"[^\w \-().,&+']+")
_RESERVED = re.compile(r"^(con|prn|aux|nul|com\d|lpt\d)$", re.IGNORECASE)  # names that Windows keeps for devices


@dataclass(frozen=True)
class Card:
    """A lesson as the home page shows it. `state`: draft, checked, published, broken or empty."""

    name: str
    title: str
    state: str
    seconds: float
    exercises: int
    checks: int
    changes: int


class Shelf:
    """The lessons of one folder.

    Parameters
    ----------
    root : Path
        The folder; made if it is missing. A lesson folder itself makes a shelf of one.
    """

    def __init__(self, root: Path) -> None:
        root = root.resolve()
        self.only = root.name if any((root / mark).exists() for mark in _MARKS) else None
        self.root = root.parent if self.only else root
        self.own = (root / WORK / OWN) if self.only else (root / OWN)
        self.own.mkdir(parents=True, exist_ok=True)
        self._cards: dict[str, tuple[object, Card]] = {}

    def names(self) -> list[str]:
        """Names of the lesson folders, newest first. Links to elsewhere are no lessons."""
        if self.only:
            return [self.only]
        found = [p for p in self.root.iterdir() if p.is_dir() and not p.is_symlink() and not p.name.startswith(".")]
        found = [p for p in found if any((p / mark).exists() for mark in _MARKS)]
        return [p.name for p in sorted(found, key=lambda p: (-p.stat().st_mtime, p.name))]

    def lesson(self, name: str) -> Path | None:
        """Return the folder of the lesson called `name`; None when there is none here."""
        # Compared with what is there, never joined: no spelling of a path can lead anywhere else.
        return self.root / name if name in self.names() else None

    def file(self, name: str, path: str) -> Path | None:
        """Return a published file of a lesson; None when it is none, or leads out of the lesson's folder."""
        folder = self.lesson(name)
        if folder is None:
            return None
        allowed = {"index.html", "lesson.json", *OUTPUTS, *read_made(folder).copies}
        allowed |= {f"{STILLS}/{p.name}" for p in (folder / STILLS).glob("*.jpg")}
        allowed |= {FILM, *(f"{HOLDS}/{p.name}" for p in (folder / HOLDS).glob("*.svg"))}
        found = folder / path if path in allowed else None
        return found if found is not None and self._inside(found, folder) else None

    def media(self, name: str) -> Path | None:
        """Return the recording of a lesson as a browser can play it."""
        folder = self.lesson(name)
        if folder is None:
            return None
        made = read_made(folder)
        names = [made.media] if made.media else [p.name for p in folder.iterdir() if p.suffix.lower() in RECORDINGS]
        found = next((folder / n for n in sorted(names)), None)
        return found if found is not None and self._inside(found, folder) else None

    @staticmethod
    def _inside(path: Path, folder: Path) -> bool:
        return path.is_file() and path.resolve().is_relative_to(folder.resolve())

    def free_name(self, wanted: str) -> str:
        """Return a folder name made of `wanted` that every system takes and nothing here has yet.

        >>> import tempfile
        >>> Shelf(Path(tempfile.mkdtemp())).free_name("../Tues<day>/Voice class.mp4")
        'Voice class'
        """
        last = re.split(r"[\\\\/]", unicodedata.normalize("NFC", wanted))[-1]
        stem = last.rsplit(".", 1)[0] if "." in last.strip(".") else last
        name = " ".join(_UNSAFE.sub(" ", stem).split()).strip(". ")[:80].strip() or "Class"
        name = f"Class {name}" if _RESERVED.match(name) else name
        taken = {p.name.casefold() for p in self.root.iterdir()}
        number = 1
        free = name
        while free.casefold() in taken:
            number += 1
            free = f"{name} {number}"
        return free

    def cards(self) -> list[Card]:
        """Return every lesson in a few words."""
        return [self._card(name) for name in self.names()]

    def _card(self, name: str) -> Card:
        folder = self.root / name
        files = [
            folder / "lesson.json",
            folder / "edits.json",
            folder / "draft.json",
            folder / WORK / "published.json",
        ]
        seen = tuple(_stamp(path) for path in files)
        kept = self._cards.get(name)
        if kept is None or kept[0] != seen:
            kept = self._cards[name] = (seen, _read_card(folder, name))
        return kept[1]


def mend(folder: Path) -> None:
    """Bring a publishing to its end that was killed; one that is going on is left alone."""
    if interrupted(folder) or unfinished(folder):
        with contextlib.suppress(SegmenterError), claimed(folder):
            settle(folder)
            finish(folder)


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        facts = path.stat()
    except OSError:
        return None
    return facts.st_mtime_ns, facts.st_size


def _read_card(folder: Path, name: str) -> Card:
    try:
        row: dict[str, Any] = json.loads((folder / "lesson.json").read_bytes())
        entries = read_entries(folder / "edits.json")
        chapters = row["chapters"]
        return Card(
            name=name,
            title=row["title"],
            state=state_of(folder, row.get("checked"), read_made(folder), len(entries)),
            seconds=row["recording"]["seconds"],
            exercises=sum(c["kind"] == "exercise" for c in chapters),
            checks=sum(c["level"] != "note" for c in row["checks"]),
            changes=len(steps(entries).done),
        )
    except FileNotFoundError:
        return Card(name, name, "empty", 0, 0, 0, 0)
    except (OSError, ValueError, KeyError, TypeError, SegmenterError):
        return Card(name, name, "broken", 0, 0, 0, 0)


def state_of(folder: Path, checked: str | None, made: Made, entries: int) -> str:
    """Return how far a lesson is: draft, checked, or published since the last change."""
    mark = mark_of(folder)
    if made.published == f"{mark}:{entries}":
        return "published"
    return "checked" if checked == mark else "draft"
