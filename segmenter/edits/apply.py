"""The lesson is the edits applied to the draft: a pure function of the two."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, get_args

from segmenter.edits.anchors import NoPlaceError
from segmenter.edits.chapters import with_border_moved, with_chapter, with_merge, with_piece, with_split
from segmenter.edits.kinds import (
    ChapterEdit,
    Edit,
    LateEdit,
    MarkChecked,
    Merge,
    MoveBoundary,
    PieceEdit,
    RemoveName,
    ReplaceWords,
    SettleCheck,
    SetWord,
    Split,
    TitleLesson,
)
from segmenter.edits.late import with_late
from segmenter.edits.telling import named
from segmenter.edits.words import with_name_removed, with_word, with_words_replaced
from segmenter.lesson import Caption, Check, Lesson
from segmenter.times import clock

Compose = Callable[[Lesson], tuple[tuple[Caption, ...], tuple[Check, ...]]]
"""Makes captions of a lesson, and what to look at about them."""


@dataclass(frozen=True)
class Misfit:
    """An edit that has no place in this draft, and why."""

    edit: Edit
    why: str


def is_late(edit: Edit) -> bool:
    """Whether an edit waits until the captions stand."""
    return isinstance(edit, LateEdit)


def apply_one(lesson: Lesson, edit: Edit) -> Lesson:
    """Return the lesson with one edit applied.

    Raises
    ------
    NoPlaceError
        If it has no place here.
    """
    return _ACTS[type(edit)](lesson, edit)


def _named(lesson: Lesson, edit: TitleLesson) -> Lesson:
    return lesson.model_copy(update={"title": edit.title})


def _checked(lesson: Lesson, edit: MarkChecked) -> Lesson:
    return lesson.model_copy(update={"checked": edit.draft if edit.checked else None})


_ACTS: dict[type, Callable[[Lesson, Any], Lesson]] = {
    **dict.fromkeys(get_args(ChapterEdit), with_chapter),
    **dict.fromkeys(get_args(PieceEdit), with_piece),
    **dict.fromkeys(get_args(LateEdit), with_late),
    MoveBoundary: with_border_moved,
    Split: with_split,
    Merge: with_merge,
    SetWord: with_word,
    ReplaceWords: with_words_replaced,
    RemoveName: with_name_removed,
    TitleLesson: _named,
    MarkChecked: _checked,
}


def apply_edits(draft: Lesson, edits: Sequence[Edit]) -> Lesson:
    """Return the draft with all edits applied in order; ones that do not fit become checks.

    Edits of captions and checks are passed over: `lay_over` does them when the captions stand.
    """
    lesson, misfits = _applied(draft, [edit for edit in edits if not is_late(edit)])
    return _with_misfits(lesson, misfits)


def lay_over(draft: Lesson, edits: Sequence[Edit], compose: Compose) -> tuple[Lesson, tuple[Misfit, ...]]:
    """Return the finished lesson with its captions, and the edits that have no place in it.

    Parameters
    ----------
    draft : Lesson
        The machine's draft, without captions.
    edits : sequence of Edit
        Those that count, in order.
    compose : callable
        Makes the captions.
    """
    lesson, misfits = _applied(draft, [edit for edit in edits if not is_late(edit)])
    captions, checks = compose(lesson)
    lesson = lesson.model_copy(update={"captions": captions, "checks": (*lesson.checks, *checks)})
    lesson, late = _applied(lesson, late_edits(edits))
    everything = (*misfits, *late)
    return _with_misfits(lesson, everything), everything


def late_edits(edits: Sequence[Edit]) -> list[Edit]:
    """Edits of captions and checks; a check that was opened again is no longer settled."""
    found: list[Edit] = []
    for edit in edits:
        if isinstance(edit, SettleCheck) and not edit.settled:
            found = [one for one in found if not (isinstance(one, SettleCheck) and _same_check(one, edit))]
        elif is_late(edit):
            found.append(edit)
    return found


def _same_check(one: SettleCheck, other: SettleCheck) -> bool:
    return (one.code, one.message, one.at_ms) == (other.code, other.message, other.at_ms)


def _applied(lesson: Lesson, edits: Sequence[Edit]) -> tuple[Lesson, tuple[Misfit, ...]]:
    misfits = []
    for edit in edits:
        try:
            lesson = apply_one(lesson, edit)
        except NoPlaceError as error:
            misfits.append(Misfit(edit, str(error)))
    return lesson, tuple(misfits)


def _with_misfits(lesson: Lesson, misfits: Sequence[Misfit]) -> Lesson:
    if not misfits:
        return lesson
    checks = [
        Check(
            code="edit-without-place",
            level="look",
            message=(
                f"Your change at {clock(one.edit.at_ms)} ({named(one.edit)}) no longer fits: {one.why}. "
                "It is kept in edits.json."
            ),
            start_ms=one.edit.at_ms,
            end_ms=one.edit.at_ms,
        )
        for one in misfits
    ]
    return lesson.model_copy(update={"checks": (*lesson.checks, *checks)})
