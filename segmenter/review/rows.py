"""A lesson as plain values for the screen. Times are milliseconds."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from segmenter.edits.chapters import BY_PERSON
from segmenter.lesson import Ask, Chapter, Check, Lesson, Word
from segmenter.publish.wording import caution_source, dose_text
from segmenter.understand.catalogue import Catalogue, Usual


def chapter_row(chapter: Chapter, catalogue: Catalogue) -> dict[str, Any]:
    """Return one chapter."""
    known = catalogue.by_id(chapter.exercise) if chapter.exercise and chapter.exercise in catalogue else None
    return {
        "id": chapter.id,
        "start": chapter.start_ms,
        "end": chapter.end_ms,
        "title": chapter.title,
        "kind": chapter.kind,
        "family": chapter.family,
        "exercise": chapter.exercise,
        "exerciseName": known.name if known else chapter.exercise,
        "confidence": chapter.confidence,
        "asked": [ask_row(ask) for ask in chapter.asked],
        "stops": [
            [stop.at_ms, stop.resume_ms, dose_text(stop.asked) if stop.asked else ""] for stop in chapter.practice
        ],
        "holds": [[hold.start_ms, hold.end_ms, hold.how] for hold in chapter.shown.holds],
        "reps": chapter.shown.reps,
        "cautions": [[c.text, c.source, caution_source(c)] for c in chapter.cautions],
        "hidden": chapter.hidden,
        "mine": list(chapter.by_person),
        "usual": usual_row(known.usual) if known else None,
        "reasons": [reason for reason in chapter.reasons if reason != BY_PERSON],
    }


def ask_row(ask: Ask) -> dict[str, Any]:
    """Return one dose: its fields as in the contract, and in words."""
    fields = ask.model_dump(mode="json", by_alias=True, exclude_none=True)
    return {**fields, "text": dose_text(ask)}


def usual_row(usual: Usual) -> dict[str, Any]:
    """Return a usual dose: what print says, and the fields that could be taken over."""
    names = ("reps", "hold_s", "sets", "rest_s", "per_day", "days_per_week")
    fields = {name: getattr(usual, name) for name in names if getattr(usual, name) is not None}
    return {"text": usual.text, "source": usual.source, "fields": fields}


def word_row(word: Word) -> list[Any]:
    """Return one word as ``[start, end, text, heard, mark]``; `mark`: 1 by a person, 2 other voice, 4 unsure."""
    mine = word.why is not None and "by a person" in word.why
    unsure = word.probability is not None and word.probability < 0.4 and not mine
    return [word.start_ms, word.end_ms, word.text, word.heard, mine + 2 * (word.speaker == "other") + 4 * unsure]


def check_row(check: Check, *, settled: bool) -> dict[str, Any]:
    """Return one thing to look at."""
    return {
        "code": check.code,
        "level": check.level,
        "message": check.message,
        "start": check.start_ms,
        "end": check.end_ms,
        "settled": settled,
    }


def lesson_row(lesson: Lesson) -> dict[str, Any]:
    """Return what belongs to the lesson as a whole."""
    return {"title": lesson.title, "length": lesson.duration_ms, "picture": lesson.recording.video is not None}


def changed_chapters(old: Sequence[Chapter], new: Sequence[Chapter], catalogue: Catalogue) -> list[Any]:
    """Return the chapters in order: an id alone for one that is as it was."""
    before = {chapter.id: chapter for chapter in old}
    rows: list[Any] = []
    for chapter in new:
        known = before.get(chapter.id)
        same = known is chapter or known == chapter
        rows.append(chapter.id if same else chapter_row(chapter, catalogue))
    return rows


def changed_words(old: Sequence[Word], new: Sequence[Word]) -> dict[str, Any]:
    """Return what changed about the words: nothing, some of them by number, or all."""
    if old is new:
        return {}
    if len(old) != len(new):
        return {"words": [word_row(word) for word in new]}
    pairs = enumerate(zip(old, new, strict=True))
    return {"changedWords": [[n, word_row(b)] for n, (a, b) in pairs if a is not b and a != b]}
