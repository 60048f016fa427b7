"""``edits.json``: records that are only ever added, whole or not at all."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from filelock import FileLock
from pydantic import ValidationError

from segmenter.edits.kinds import ENTRIES, BaseEdit, Edit, Entry, Place, Redo, Undo
from segmenter.errors import LessonError
from segmenter.files import write_whole

FILE = "edits.json"


@dataclass(frozen=True)
class Steps:
    """What can be taken back and what can be done again: numbers of records, the next one last."""

    done: tuple[int, ...]
    undone: tuple[int, ...]


def read_entries(path: Path) -> list[Entry]:
    """Read every record of ``edits.json``, numbered; a missing file means none.

    Raises
    ------
    LessonError
        If the file cannot be understood. It is left as it is.
    """
    try:
        entries = ENTRIES.validate_json(path.read_bytes())
    except FileNotFoundError:
        return []
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        place = ".".join(str(step) for step in first["loc"])
        raise LessonError(
            f"these edits cannot be read ({place}: {first['msg']})",
            path,
            "Nothing was changed. Mend the file or move it away, then build again",
        ) from error
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
    LessonError
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

    def lock(self) -> FileLock:
        """Return the lock that whoever adds a record holds; it can be taken twice by one thread."""
        self._lock_path.parent.mkdir(parents=True, exist_ok=True)
        return FileLock(self._lock_path, is_singleton=True)

    def append(self, entry: Entry) -> list[Entry]:
        """Add one record and return all of them. One whose `key` is there already is not added again.

        Raises
        ------
        LessonError
            If the file cannot be understood.
        FolderError
            If it cannot be written.
        """
        with self.lock():
            entries = self.read()
            if entry.key is not None and any(old.key == entry.key for old in entries):
                return entries
            number = max((old.id or 0 for old in entries), default=0) + 1
            made = datetime.now(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
            entries = [*entries, entry.model_copy(update={"id": number, "made": made})]
            write_whole(self.path, entries_to_json(entries))
            return entries
