"""``edits.json``: records that are only ever added, whole or not at all."""

from __future__ import annotations

import contextlib
import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from filelock import FileLock
from pydantic import ValidationError

from segmenter.edits.kinds import ENTRIES, ENTRY, BaseEdit, Edit, Entry, Place, Redo, Undo
from segmenter.errors import LessonError
from segmenter.files import folder_error, keep_beside, kept_beside, write_whole

FILE = "edits.json"
_OPEN, _NEXT = re.compile(r"\s*\[\s*"), re.compile(r"\s*,\s*")


@dataclass(frozen=True)
class Steps:
    """What can be taken back and what can be done again: numbers of records, the next one last."""

    done: tuple[int, ...]
    undone: tuple[int, ...]


def read_entries(path: Path) -> list[Entry]:
    """Read the records of ``edits.json``, numbered; a missing file means none.

    Of a damaged file every record before the damage is read; see `Journal.mend`.

    Raises
    ------
    FolderError
        If the file may not be read.
    LessonError
        If it is whole, but holds something that is not known. It is left as it is.
    """
    return _read(path)[0]


def _read(path: Path) -> tuple[list[Entry], bool]:
    """Return the records, and whether the file is whole."""
    try:
        data = path.read_bytes()
    except FileNotFoundError:
        return [], True
    except OSError as error:
        raise folder_error(error, path) from error
    try:
        return _numbered(ENTRIES.validate_json(data)), True
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        if first["type"] == "json_invalid":
            return _numbered(_before_damage(data)), False
        # Whole, but of a later version or written by hand: nothing of it may be passed over.
        place = ".".join(str(step) for step in first["loc"])
        raise LessonError(
            f"these edits cannot be read ({place}: {first['msg']})",
            path,
            "Nothing was changed. Mend the file or move it away, then build again",
        ) from error


def _before_damage(data: bytes) -> list[Entry]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        text = data[: error.start].decode("utf-8-sig", "ignore")
    entries: list[Entry] = []
    decoder = json.JSONDecoder()
    start = _OPEN.match(text)
    while start:
        try:
            row, end = decoder.raw_decode(text, start.end())
            entries.append(ENTRY.validate_json(json.dumps(row)))
        except (ValueError, RecursionError):
            break
        start = _NEXT.match(text, end)
    return entries


def _numbered(entries: Sequence[Entry]) -> list[Entry]:
    taken = {entry.id for entry in entries}
    numbered = []
    for at, entry in enumerate(entries, 1):
        number = entry.id
        if number is None:
            number = at if at not in taken else max(n or 0 for n in taken) + 1
            taken.add(number)
        numbered.append(entry if entry.id == number else entry.model_copy(update={"id": number}))
    return numbered


def read_edits(path: Path) -> list[Edit]:
    """Read the edits that count now, in the order they were made.

    Raises
    ------
    SegmenterError
        As `read_entries`.
    """
    return active(read_entries(path))


def entries_to_json(entries: Sequence[Entry]) -> str:
    """Return records as the text of ``edits.json``, one a line."""
    rows = ENTRIES.dump_python(list(entries), mode="json", by_alias=True, exclude_none=True)
    return "[\n" + ",\n".join(json.dumps(row, ensure_ascii=False) for row in rows) + "\n]\n"


def active(entries: Sequence[Entry]) -> list[Edit]:
    """Return the edits that count: not taken back, not amended, each where it was last placed."""
    off: set[int | None] = set()
    for entry in entries:
        if isinstance(entry, Undo):
            off.add(entry.edit)
        elif isinstance(entry, Redo):
            off.discard(entry.edit)
    off |= {entry.amends for entry in entries if isinstance(entry, BaseEdit) and entry.amends is not None}
    places = {entry.edit: entry for entry in entries if isinstance(entry, Place) and entry.id not in off}
    edits: list[Edit] = []
    for entry in entries:
        if isinstance(entry, Undo | Redo | Place) or entry.id in off:
            continue
        place = places.get(entry.id or 0)
        edits.append(entry if place is None else _placed(entry, place))
    return edits


def _placed(edit: Edit, place: Place) -> Edit:
    return edit.model_copy(update={"at_ms": place.at_ms, "until_ms": place.until_ms})


def steps(entries: Sequence[Entry]) -> Steps:
    """Return what undo and redo would do next. A new record after an undo leaves nothing to redo."""
    done: list[int] = []
    undone: list[int] = []
    for entry in entries:
        if isinstance(entry, Undo):
            if entry.edit in done:
                done.remove(entry.edit)
                undone.append(entry.edit)
        elif isinstance(entry, Redo):
            if entry.edit not in done:
                undone = [one for one in undone if one != entry.edit]
                done.append(entry.edit)
        else:
            if isinstance(entry, BaseEdit) and entry.amends in done:
                done.remove(entry.amends)
            done.append(entry.id or 0)
            undone.clear()
    return Steps(tuple(done), tuple(undone))


class Journal:
    """The edits of one lesson folder; several windows and programs may write to it."""

    def __init__(self, folder: Path) -> None:
        self.path = folder / FILE
        self._lock_path = folder / ".work" / "edits.lock"

    def read(self) -> list[Entry]:
        """Read every record; see `read_entries`."""
        return read_entries(self.path)

    @contextlib.contextmanager
    def lock(self) -> Iterator[None]:
        """Hold what whoever adds a record holds; it can be taken twice by one thread.

        Raises
        ------
        FolderError
            If the folder cannot be written.
        """
        try:
            self._lock_path.parent.mkdir(parents=True, exist_ok=True)
            held = FileLock(self._lock_path, is_singleton=True).acquire()
        except OSError as error:
            raise folder_error(error, self.path) from error
        with held:
            yield

    def mend(self) -> list[Path]:
        """Bring a damaged file in order and return every damaged one that was kept, oldest first.

        The damaged file is kept beside as ``edits-damaged-N.json``; ``edits.json`` then holds every record
        before the damage.

        Raises
        ------
        FolderError
            If the folder cannot be written.
        """
        if not _read(self.path)[1]:
            with self.lock():
                self._whole()
        return kept_beside(self.path)

    def _whole(self) -> list[Entry]:
        entries, whole = _read(self.path)
        if not whole:
            keep_beside(self.path)
            write_whole(self.path, entries_to_json(entries))
        return entries

    def append(self, entry: Entry) -> list[Entry]:
        """Add one record and return all of them. One whose `key` is there already is not added again.

        Raises
        ------
        FolderError
            If it cannot be written.
        """
        with self.lock():
            entries = self._whole()
            if entry.key is not None and any(old.key == entry.key for old in entries):
                return entries
            number = max((old.id or 0 for old in entries), default=0) + 1
            made = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
            entries = [*entries, entry.model_copy(update={"id": number, "made": made})]
            write_whole(self.path, entries_to_json(entries))
            return entries
