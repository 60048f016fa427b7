"""``edits.json``: records that are only ever added, whole or not at all."""

from __future__ import annotations

import hashlib
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
MENDS = "Nothing was changed. Publish the lesson again: what can be read of it is kept"


@dataclass(frozen=True)
class Steps:
    """What can be taken back and what can be done again: numbers of records, the next one last."""

    done: tuple[int, ...]
    undone: tuple[int, ...]


class DamagedEditsError(LessonError):
    """The file of edits is torn or overwritten: no JSON any more. `mend_edits` keeps what can be read of it."""


def mend_edits(path: Path) -> Path | None:
    """Make a damaged file of edits readable again: the damaged one is kept beside, its readable beginning counts.

    A file that is whole but holds something this version does not know is left alone: nothing is thrown away.

    Returns
    -------
    Path or None
        Where the damaged file is kept; None when there was nothing to mend.

    Raises
    ------
    FolderError
        If the folder cannot be written.
    """
    try:
        read_entries(path)
    except DamagedEditsError:
        data = path.read_bytes()
        kept = path.with_name(f"{path.name}.damaged-{hashlib.sha256(data).hexdigest()[:8]}")
        write_whole(kept, data)
        write_whole(path, entries_to_json(_readable(data)))
        return kept
    except LessonError:
        return None
    return None


def damaged(folder: Path) -> list[Path]:
    """Return the damaged files that `mend_edits` kept in a lesson folder."""
    return sorted(folder.glob(f"{FILE}.damaged-*"))


def _readable(data: bytes) -> list[Entry]:
    """The records before the first that cannot be read; each stands on a line of its own."""
    entries: list[Entry] = []
    for line in data.decode("utf-8", "replace").splitlines()[1:]:
        try:
            entries += ENTRIES.validate_json(f"[{line.strip().removesuffix(',')}]")
        except ValidationError:
            break
    return entries


def read_entries(path: Path) -> list[Entry]:
    """Read every record of ``edits.json``, numbered; a missing file means none.

    Raises
    ------
    DamagedEditsError
        If the file is damaged; see `mend_edits`.
    LessonError
        If it holds something that is not known. It is left as it is.
    """
    try:
        entries = ENTRIES.validate_json(path.read_bytes())
    except FileNotFoundError:
        return []
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        if first["type"] == "json_invalid":
            raise DamagedEditsError("these edits cannot be read, the file is damaged", path, MENDS) from error
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
