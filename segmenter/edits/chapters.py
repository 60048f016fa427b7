"""Edits of chapters: what they are called, where they begin, what is asked and marked in them."""

from __future__ import annotations

from collections.abc import Mapping

from segmenter.edits.anchors import WORD_MS, NoPlaceError, border_for, chapter_for
from segmenter.edits.kinds import (
    AcceptUsual,
    AddHold,
    AddStop,
    ChapterEdit,
    Hide,
    Merge,
    MoveBoundary,
    MoveStop,
    PieceEdit,
    Reclassify,
    RemoveHold,
    RemoveStop,
    Retitle,
    SetAsked,
    SetStill,
    Split,
)
from segmenter.edits.pieces import shared_out
from segmenter.lesson import Ask, Chapter, Hold, Lesson, Practice
from segmenter.times import clock

BY_PERSON = "changed by a person"
SHORTEST_MS = 100
"""No chapter gets shorter than a press of the smallest step."""


def with_chapter(lesson: Lesson, edit: ChapterEdit) -> Lesson:
    """Return the lesson with one chapter described differently."""
    number = chapter_for(lesson, edit)
    chapter = lesson.chapters[number]
    match edit:
        case Retitle():
            changed = _by_person(chapter, {"title": edit.title}, "title")
        case Reclassify():
            change = {"kind": edit.kind, "family": edit.family, "exercise": edit.exercise, "confidence": 1.0}
            changed = _by_person(chapter, change, "kind", "family", "exercise")
        case SetAsked():
            changed = _by_person(chapter, {"asked": edit.asked}, "asked")
        case AcceptUsual():
            usual = edit.asked.model_copy(update={"usual": edit.source, "said": None})
            rest = tuple(ask for ask in chapter.asked if not (ask.usual and ask.where == usual.where))
            changed = _by_person(chapter, {"asked": (*rest, usual)}, "asked")
        case SetStill():
            changed = _by_person(chapter, {"still_ms": edit.still_ms}, "still")
        case Hide():
            changed = _by_person(chapter, {"hidden": edit.hidden}, "hidden")
    return _replaced(lesson, number, 1, changed)


def with_border_moved(lesson: Lesson, edit: MoveBoundary) -> Lesson:
    """Return the lesson with one border elsewhere; what lies between changes sides with its time."""
    if any(chapter.start_ms == edit.to_ms for chapter in lesson.chapters[1:]):
        return lesson
    number = border_for(lesson, edit.at_ms)
    if number is None:
        # A better draft may have found the place by itself.
        number = border_for(lesson, edit.to_ms)
    if number is None:
        raise NoPlaceError(f"no chapter begins near {clock(edit.at_ms)}")
    return _moved(lesson, number, edit.to_ms)


def _moved(lesson: Lesson, number: int, to_ms: int) -> Lesson:
    before, after = lesson.chapters[number - 1], lesson.chapters[number]
    if not before.start_ms + SHORTEST_MS <= to_ms <= after.end_ms - SHORTEST_MS:
        raise NoPlaceError(
            "a chapter can only begin between its neighbours, "
            f"here {clock(before.start_ms)} to {clock(after.end_ms)}"
        )
    olds = (before, after)
    news = shared_out(
        olds,
        (
            _by_person(before, {"end_ms": to_ms}, "end"),
            _by_person(after, {"start_ms": to_ms}, "start"),
        ),
    )
    return _replaced(lesson, number - 1, 2, *news)


def with_split(lesson: Lesson, edit: Split) -> Lesson:
    """Return the lesson with one chapter made two."""
    near = border_for(lesson, edit.at_ms, WORD_MS)
    if near is not None:
        # Another draft may have begun a chapter here by itself: then it begins where the person said.
        moved = lesson if lesson.chapters[near].start_ms == edit.at_ms else _moved(lesson, near, edit.at_ms)
        if edit.title is None or moved.chapters[near].title == edit.title:
            return moved
        return _replaced(moved, near, 1, _by_person(moved.chapters[near], {"title": edit.title}, "title"))
    number = chapter_for(lesson, edit.model_copy(update={"until_ms": None}))
    old = lesson.chapters[number]
    if not old.start_ms + SHORTEST_MS <= edit.at_ms <= old.end_ms - SHORTEST_MS:
        raise NoPlaceError("a chapter begins or ends there already")
    ids = {chapter.id for chapter in lesson.chapters}
    new_id = f"{old.id}-{edit.at_ms}"
    while new_id in ids:
        new_id += "x"
    untimed = tuple(caution for caution in old.cautions if caution.start_ms is None)
    first = _by_person(old, {"end_ms": edit.at_ms}, "end")
    second = _by_person(
        old,
        {"id": new_id, "start_ms": edit.at_ms, "title": edit.title or old.title, "still_ms": None},
        "start",
        *(("title",) if edit.title else ()),
    ).model_copy(update={"cautions": untimed})
    news = [_reps_known(chapter, old) for chapter in shared_out((old,), (first, second))]
    return _replaced(lesson, number, 1, *news)


def _reps_known(chapter: Chapter, whole: Chapter) -> Chapter:
    # How often it was done is known of a half only if all that was counted lies in it.
    same = (chapter.shown.holds, chapter.shown.counts) == (whole.shown.holds, whole.shown.counts)
    evidence = bool(whole.shown.holds or whole.shown.counts)
    if chapter.shown.reps is None or (same and evidence):
        return chapter
    return chapter.model_copy(update={"shown": chapter.shown.model_copy(update={"reps": None})})


def with_merge(lesson: Lesson, edit: Merge) -> Lesson:
    """Return the lesson with two neighbours joined; the first gives title and kind."""
    number = border_for(lesson, edit.at_ms, 2 * WORD_MS)
    if number is None:
        return lesson  # nothing begins here any more: that is what was wanted
    before, after = lesson.chapters[number - 1], lesson.chapters[number]
    known = [reps for reps in (before.shown.reps, after.shown.reps) if reps is not None]
    cautions = tuple(dict.fromkeys((*before.cautions, *after.cautions)))
    one = _by_person(
        before,
        {
            "end_ms": after.end_ms,
            "cautions": cautions,
            "shown": before.shown.model_copy(update={"reps": sum(known) if known else None}),
        },
        "end",
    )
    return _replaced(lesson, number - 1, 2, *shared_out((before, after), (one,)))


def with_piece(lesson: Lesson, edit: PieceEdit) -> Lesson:
    """Return the lesson with a hold or a practice stop marked, moved or taken away."""
    number = chapter_for(lesson, edit.model_copy(update={"until_ms": None}))
    chapter = lesson.chapters[number]
    match edit:
        case AddHold():
            changed = _with_hold(chapter, edit, lesson.duration_ms)
        case RemoveHold():
            gone = min(chapter.shown.holds, key=lambda h: abs(h.start_ms - edit.at_ms), default=None)
            if gone is None or abs(gone.start_ms - edit.at_ms) > WORD_MS:
                return lesson  # it is gone already
            changed = _with_holds(chapter, tuple(hold for hold in chapter.shown.holds if hold is not gone))
        case AddStop():
            resume = min(max(edit.at_ms, edit.resume_ms or edit.at_ms), lesson.duration_ms)
            rest = tuple(stop for stop in chapter.practice if stop.at_ms != edit.at_ms)
            stop = Practice(at_ms=edit.at_ms, resume_ms=resume, asked=_asked(chapter))
            changed = _with_stops(chapter, (*rest, stop))
        case MoveStop() | RemoveStop():
            found = min(chapter.practice, key=lambda stop: abs(stop.at_ms - edit.at_ms), default=None)
            if found is None or abs(found.at_ms - edit.at_ms) > 2 * WORD_MS:
                if isinstance(edit, RemoveStop) or any(stop.at_ms == edit.to_ms for stop in chapter.practice):
                    return lesson
                raise NoPlaceError(f"there is no practice stop near {clock(edit.at_ms)}")
            rest = tuple(stop for stop in chapter.practice if stop is not found)
            if isinstance(edit, MoveStop):
                if not chapter.start_ms <= edit.to_ms < chapter.end_ms:
                    raise NoPlaceError("a stop stays inside its chapter")
                resume = max(edit.to_ms, found.resume_ms)
                rest = (*rest, found.model_copy(update={"at_ms": edit.to_ms, "resume_ms": resume}))
            changed = _with_stops(chapter, rest)
    return _replaced(lesson, number, 1, changed)


def _asked(chapter: Chapter) -> Ask | None:
    # What the class was asked for is what is practised, unless only home was spoken of.
    return next((ask for ask in chapter.asked if ask.where == "class"), next(iter(chapter.asked), None))


def _with_hold(chapter: Chapter, edit: AddHold, duration_ms: int) -> Chapter:
    end = min(edit.end_ms, duration_ms)
    if end - edit.at_ms < SHORTEST_MS:
        raise NoPlaceError("a hold ends after it begins")
    rest = tuple(hold for hold in chapter.shown.holds if hold.start_ms != edit.at_ms)
    hold = Hold(start_ms=edit.at_ms, end_ms=end, seconds=(end - edit.at_ms) / 1000, how=edit.how)
    return _with_holds(chapter, tuple(sorted((*rest, hold), key=lambda hold: hold.span)))


def _with_holds(chapter: Chapter, holds: tuple[Hold, ...]) -> Chapter:
    shown = chapter.shown.model_copy(update={"holds": holds})
    return _by_person(chapter, {"shown": shown}, "shown")


def _with_stops(chapter: Chapter, stops: tuple[Practice, ...]) -> Chapter:
    ordered = tuple(sorted(stops, key=lambda stop: stop.at_ms))
    return _by_person(chapter, {"practice": ordered}, "practice")


def _by_person(chapter: Chapter, change: Mapping[str, object], *fields: str) -> Chapter:
    reasons = chapter.reasons if BY_PERSON in chapter.reasons else (*chapter.reasons, BY_PERSON)
    marks = tuple(dict.fromkeys((*chapter.by_person, *fields)))
    return chapter.model_copy(update={**change, "reasons": reasons, "by_person": marks})


def _replaced(lesson: Lesson, number: int, count: int, *news: Chapter) -> Lesson:
    chapters = (*lesson.chapters[:number], *news, *lesson.chapters[number + count :])
    return lesson.model_copy(update={"chapters": chapters})
