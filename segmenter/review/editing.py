"""One lesson under the hands of a person: the draft, the edits, and what they make, kept up to date.

Every window on a lesson, and every other program that writes its ``edits.json``, is seen: files are looked at
before each answer. An edit is applied to the lesson as it stands, not to the whole draft again, so that a step
costs the same in a class of two hours with many edits.
"""

from __future__ import annotations

import json
import threading
from collections import OrderedDict
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from segmenter.edits.anchors import NoPlaceError
from segmenter.edits.apply import apply_one, is_late, late_edits
from segmenter.edits.damage import damaged, told
from segmenter.edits.journal import FILE, Journal, active, read_entries, steps
from segmenter.edits.kinds import EDIT, BaseEdit, Edit, Entry, Place, Redo, SettleCheck, Undo
from segmenter.edits.late import settles
from segmenter.edits.telling import named
from segmenter.errors import FolderError
from segmenter.folder import WORK
from segmenter.lesson import Check, Lesson
from segmenter.made import read_made
from segmenter.publish.caption_store import CaptionStore
from segmenter.publishing import mark_of, read_draft
from segmenter.review.rows import changed_chapters, changed_words, chapter_row, check_row, lesson_row, word_row
from segmenter.review.shelf import mend, state_of
from segmenter.understand.catalogue import Catalogue, load_catalogue

KEPT = 40
"""Earlier states that are kept, to tell windows what changed since; older windows get everything."""


class StaleError(Exception):
    """The window that asks has not seen the newest changes yet."""


class RefusedError(Exception):
    """An edit cannot be made; its text says why."""


@dataclass(frozen=True)
class _Step:
    edit: Edit
    lesson: Lesson
    misfit: str | None


@dataclass(frozen=True)
class View:
    """What a window has seen of a lesson."""

    version: str
    lesson: Lesson
    entries: tuple[Entry, ...]
    edits: tuple[Edit, ...]
    misfits: dict[int | None, str]


class OpenLesson:
    """A lesson folder with its edits, for any number of windows.

    Parameters
    ----------
    folder : Path
        A lesson folder with a draft.

    Raises
    ------
    SegmenterError
        If draft or edits cannot be read.
    """

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.lock = threading.RLock()
        self._journal = Journal(folder)
        self._catalogue: Catalogue = load_catalogue()
        self._stamps: tuple[object, ...] = ()
        self._draft: Lesson | None = None
        self._draft_at = 0
        self._steps: list[_Step] = []
        self._views: OrderedDict[str, View] = OrderedDict()
        self._compose = CaptionStore(folder / WORK)
        mend(folder)

    def view(self) -> View:
        """Return the lesson as it is now, with every change on the disk."""
        with self.lock:
            stamps = self._looked_at()
            if stamps != self._stamps or not self._views:
                self._journal.mend()
                stamps = self._looked_at()
                if self._draft is None or stamps[:-1] != self._stamps[:-1]:
                    self._draft = told(read_draft(self.folder), self.folder)
                    self._draft_at += 1
                    self._steps = []
                self._take(read_entries(self.folder / FILE))
                self._stamps = stamps
            return next(reversed(self._views.values()))

    def _looked_at(self) -> tuple[object, ...]:
        return _stamp(self.folder / "draft.json"), damaged(self.folder), _stamp(self.folder / FILE)

    def _take(self, entries: list[Entry]) -> View:
        assert self._draft is not None  # noqa: S101 - read before
        known = next(reversed(self._views.values())).entries if self._views else ()
        # A record read before is the same object again, or else each view that is kept would hold one of its own.
        entries = [known[at] if known[at : at + 1] == (entry,) else entry for at, entry in enumerate(entries)]
        edits = active(entries)
        early = [edit for edit in edits if not is_late(edit)]
        same = 0
        while same < min(len(self._steps), len(early)) and self._steps[same].edit == early[same]:
            same += 1
        del self._steps[same:]
        for edit in early[same:]:
            self._steps.append(_stepped(self._lesson(), edit))
        misfits = {step.edit.id: step.misfit for step in self._steps if step.misfit}
        version = f"{self._draft_at}.{len(entries)}"
        view = View(version, self._lesson(), tuple(entries), tuple(edits), misfits)
        self._views[version] = view
        self._views.move_to_end(version)
        while len(self._views) > KEPT:
            self._views.popitem(last=False)
        return view

    def _lesson(self) -> Lesson:
        assert self._draft is not None  # noqa: S101 - read before
        return self._steps[-1].lesson if self._steps else self._draft

    def edit(self, raw: object, seen: str, key: str | None = None) -> dict[str, Any]:
        """Add one edit and return what changed since `seen`, and the number of the record that was made.

        Parameters
        ----------
        raw : object
            An edit as in ``edits.json``, without number and time.
        seen : str
            The version that the window shows.
        key : str or None
            The window's name for this edit: sent twice, it counts once.

        Raises
        ------
        StaleError
            If another window was faster; nothing is changed.
        RefusedError
            If it is no edit, or has no place.
        """
        try:
            wanted = EDIT.validate_json(json.dumps(raw))
        except ValidationError as error:
            first = error.errors(include_url=False, include_input=False)[0]
            raise RefusedError(
                f"this cannot be understood: {first['msg'].removeprefix('Value error, ')}"
            ) from error
        with self.lock, self._journal.lock():
            if self._fresh(seen, key):
                wanted = self._amending(wanted)
                changed = self._tried(wanted)
                if changed:
                    self._add(wanted.model_copy(update={"id": None, "made": None, "key": key}))
            made = (e.id for e in reversed(self.view().entries) if key is not None and e.key == key)
            return {**self.since(seen), "record": next(made, None)}

    def _fresh(self, seen: str, key: str | None) -> bool:
        """Whether this is to be done: not when it was done before. Raises when the window is behind."""
        view = self.view()
        if key is not None and any(entry.key == key for entry in view.entries):
            return False
        if view.version != seen:
            raise StaleError
        return True

    def _amending(self, edit: Edit) -> Edit:
        """Let it take the place of another record only where that is of its kind: no other step goes lost."""
        known = any(entry.id == edit.amends and entry.do == edit.do for entry in self.view().entries)
        return edit if known else edit.model_copy(update={"amends": None})

    def _tried(self, edit: Edit) -> bool:
        lesson = self._lesson()
        if isinstance(edit, BaseEdit) and edit.amends is not None:
            # It takes the place of the newest step: then that one must not stand in its way.
            lesson = next((s.lesson for s in self._before(edit.amends)), lesson)
        if isinstance(edit, SettleCheck):
            return True
        try:
            if is_late(edit):
                composed = self.composed()
                return apply_one(composed, edit) is not composed
            changed = apply_one(lesson, edit)
        except NoPlaceError as error:
            raise RefusedError(str(error)) from error
        return edit.amends is not None or (changed is not lesson and changed != lesson)

    def _before(self, number: int) -> list[_Step]:
        at = next((n for n, step in enumerate(self._steps) if step.edit.id == number), None)
        return self._steps[at - 1 : at] if at else []

    def _add(self, entry: Entry) -> None:
        self._take(self._journal.append(entry))
        self._stamps = self._looked_at()

    def undo(self, seen: str, key: str | None = None, number: int | None = None) -> dict[str, Any]:
        """Take the last step back, or the one of this number; raises as `edit`."""
        with self.lock, self._journal.lock():
            if self._fresh(seen, key):
                done = steps(self.view().entries).done
                if not done or (number is not None and number not in done):
                    raise RefusedError("there is nothing to take back")
                self._add(Undo(edit=done[-1] if number is None else number, key=key))
            return self.since(seen)

    def redo(self, seen: str, key: str | None = None) -> dict[str, Any]:
        """Do again what was taken back last; raises as `edit`."""
        with self.lock, self._journal.lock():
            if self._fresh(seen, key):
                undone = steps(self.view().entries).undone
                if not undone:
                    raise RefusedError("there is nothing to do again")
                self._add(Redo(edit=undone[-1], key=key))
            return self.since(seen)

    def place(self, number: int, at_ms: int, until_ms: int | None, seen: str, key: str | None) -> dict[str, Any]:
        """Put an edit that has no place somewhere else; raises as `edit`."""
        with self.lock, self._journal.lock():
            if self._fresh(seen, key):
                edit = next((edit for edit in self.view().edits if edit.id == number), None)
                if edit is None:
                    raise RefusedError("this change is not there any more")
                moved = edit.model_copy(update={"at_ms": at_ms, "until_ms": until_ms})
                self._tried(moved)
                self._add(Place(edit=number, at_ms=at_ms, until_ms=until_ms, key=key))
            return self.since(seen)

    def composed(self) -> Lesson:
        """Return the lesson with captions and its caption edits applied; made when asked for, and kept."""
        return self._composed_of(self.view())

    def _composed_of(self, view: View) -> Lesson:
        # Without the lock: captions of two hours take a while, and nobody's step may wait for them.
        lesson = view.lesson
        cues, checks = self._compose(lesson)
        lesson = lesson.model_copy(update={"captions": cues, "checks": (*lesson.checks, *checks)})
        for edit in late_edits(view.edits):
            if not isinstance(edit, SettleCheck):
                lesson = _stepped(lesson, edit).lesson
        return lesson

    def since(self, seen: str | None) -> dict[str, Any]:
        """Return what changed since a version, or everything when that is not known any more."""
        with self.lock:
            view = self.view()
            old = self._views.get(seen or "")
            answer: dict[str, Any] = {
                "version": view.version,
                "lesson": lesson_row(view.lesson),
                "state": state_of(self.folder, view.lesson.checked, read_made(self.folder), len(view.entries)),
                "draft": mark_of(self.folder),
                "checks": checks_of(view.lesson.checks, view),
                **_history(view),
            }
            if old is None:
                answer["chapters"] = [chapter_row(chapter, self._catalogue) for chapter in view.lesson.chapters]
                answer["words"] = [word_row(word) for word in view.lesson.words]
                return answer
            answer["chapters"] = changed_chapters(old.lesson.chapters, view.lesson.chapters, self._catalogue)
            return {**answer, **changed_words(old.lesson.words, view.lesson.words)}

    def captions(self) -> dict[str, Any]:
        """Return the captions as ``[start, end, text]``, and what to look at about them."""
        view = self.view()
        lesson = self._composed_of(view)
        return {
            "version": view.version,
            "captions": [[c.start_ms, c.end_ms, c.text] for c in lesson.captions],
            "checks": checks_of(lesson.checks[len(view.lesson.checks) :], view),
        }


def _stepped(lesson: Lesson, edit: Edit) -> _Step:
    try:
        return _Step(edit, apply_one(lesson, edit), None)
    except NoPlaceError as error:
        return _Step(edit, lesson, str(error))


def checks_of(checks: tuple[Check, ...], view: View) -> list[dict[str, Any]]:
    """Return checks, the open ones first by importance, each with whether a person settled it."""
    settled = [edit for edit in late_edits(view.edits) if isinstance(edit, SettleCheck)]

    def done(check: Check) -> bool:
        return any(settles(edit, check) for edit in settled)

    rows = [check_row(check, settled=done(check)) for check in checks]
    order = {"stop": 0, "look": 1, "note": 2}
    return sorted(rows, key=lambda row: (order[row["level"]], row["start"] or 0))


def _history(view: View) -> dict[str, Any]:
    now = steps(view.entries)
    by_number = {entry.id: entry for entry in view.entries}
    counting = {edit.id: edit for edit in view.edits}

    def words(number: int) -> str:
        entry = by_number[number]
        return "a change placed again" if isinstance(entry, Place | Undo | Redo) else named(entry)

    changes = [
        {
            "id": number,
            "text": words(number),
            "made": by_number[number].made,
            "at": getattr(counting.get(number, by_number[number]), "at_ms", 0),
            "why": view.misfits.get(number),
            "do": by_number[number].do,
        }
        for number in now.done
    ]
    return {
        "undo": words(now.done[-1]) if now.done else None,
        "redo": words(now.undone[-1]) if now.undone else None,
        "changes": changes[::-1],
    }


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        facts = path.stat()
    except OSError:
        return None
    return facts.st_mtime_ns, facts.st_size


class OpenLessons:
    """The lessons that windows have open."""

    def __init__(self) -> None:
        self._open: dict[Path, OpenLesson] = {}
        self._lock = threading.Lock()

    def get(self, folder: Path) -> OpenLesson:
        """Return the lesson of a folder, opened if it was not.

        Raises
        ------
        SegmenterError
            If its files cannot be read.
        """
        with self._lock:
            lesson = self._open.get(folder)
            if lesson is None:
                if not (folder / "draft.json").exists():
                    raise FolderError("this lesson has no draft yet", folder.name, "Wait until it is built")
                lesson = self._open[folder] = OpenLesson(folder)
        return lesson
