"""What the page's scripts know of a lesson."""

from __future__ import annotations

import hashlib
import statistics
from collections.abc import Mapping
from typing import Any

from segmenter.intervals import Interval, gaps
from segmenter.lesson import Ask, Chapter, CountRun, Lesson, Practice, QuizItem
from segmenter.publish.page.guard import guarded_captions
from segmenter.publish.page.phrases import dose
from segmenter.publish.page.texts import FIRST, LANGUAGES, texts
from segmenter.times import seconds

STILL_THERE = ("swallow", "breath", "neck", "balance")
"""Families where a person should know that no caution was heard (people can choke, faint or fall)."""


def page_data(lesson: Lesson, media: str | None, stills: Mapping[str, str]) -> dict[str, Any]:
    """Return the lesson as plain JSON values.

    Parameters
    ----------
    lesson : Lesson
        What to show.
    media : str or None
        Link to the recording.
    stills : mapping
        Link to a picture by chapter id.
    """
    video = lesson.recording.video
    return {
        "key": _key(lesson),
        "title": lesson.title,
        "language": lesson.language,
        "media": media,
        "picture": round(video.width / video.height, 4) if video else None,
        "seconds": lesson.recording.seconds,
        "chapters": [_chapter(chapter, stills.get(chapter.id)) for chapter in lesson.chapters],
        "captions": guarded_captions(lesson),
        "hidden": [[seconds(start), seconds(end)] for start, end in _hidden(lesson)],
    }


def _hidden(lesson: Lesson) -> list[Interval]:
    """What no chapter covers was hidden by a person: players jump over it."""
    spans = [chapter.span for chapter in lesson.chapters]
    return gaps(spans, (0, lesson.duration_ms)) if spans else []


def _key(lesson: Lesson) -> str:
    # Pages opened from one stick share a browser's memory: each lesson needs a name of its own there.
    source = lesson.recording.sha256 or f"{lesson.title}\n{lesson.recording.seconds}"
    return hashlib.sha256(source.encode()).hexdigest()[:12]


def _chapter(chapter: Chapter, still: str | None) -> dict[str, Any]:
    beats = [c.beat_s for c in chapter.shown.counts if c.kind == "breath" and c.beat_s]
    beat = round(statistics.median(beats), 2) if beats else None
    return {
        "id": chapter.id,
        "start": seconds(chapter.start_ms),
        "end": seconds(chapter.end_ms),
        "title": chapter.title,
        "kind": chapter.kind,
        "main": chapter.kind in {"exercise", "quiz"},
        "family": chapter.family,
        "still": still,
        "parts": [[part.kind, seconds(part.start_ms), seconds(part.end_ms)] for part in chapter.parts],
        "doses": doses(chapter),
        "stops": [_stop(practice, beat) for practice in chapter.practice],
        "own": _own(chapter, beat),
        "cautions": [[c.text, c.source, c.reference] for c in chapter.cautions],
        "unwarned": chapter.family in STILL_THERE and not any(c.source == "spoken" for c in chapter.cautions),
        "quiz": [_question(item) for item in chapter.quiz],
        "holds": [[seconds(h.start_ms), seconds(h.end_ms)] for h in chapter.shown.holds],
        "breaths": breaths(chapter),
        "credit": chapter.credit,
    }


def doses(chapter: Chapter) -> list[dict[str, Any]]:
    """Return what was asked, once each, with where it is to be done, in every language.

    What is asked for at a stop alone comes last, under ``stop``.
    """
    found: list[dict[str, Any]] = [{"where": ask.where, "text": _in_all(ask)} for ask in chapter.asked]
    known = [each["text"] for each in found]
    at_stops = [_in_all(practice.asked) for practice in chapter.practice]
    found += [{"where": "stop", "text": text} for text in at_stops if text not in known]
    return [each for n, each in enumerate(found) if each["text"][FIRST] and each not in found[:n]]


def breaths(chapter: Chapter) -> list[list[Any]]:
    """Return counted breaths as ``[start, end, numbers, phase, beat]``.

    `phase` is 0 to 3 (in, hold, out, hold) when the class asked for a pattern and the runs of
    numbers follow it; None when which run is which was not said.
    """
    runs = [c for c in chapter.shown.counts if c.kind == "breath"]
    pattern = next((ask.pattern for ask in chapter.asked if ask.pattern), None)
    cycle = [n for n, beats in enumerate(pattern) if beats] if pattern else []
    phases: list[int | None] = [cycle[n % len(cycle)] if cycle else None for n in range(len(runs))]
    if pattern and any(
        p is not None and abs(len(r.numbers) - (pattern[p] or 0)) > 1 for r, p in zip(runs, phases, strict=True)
    ):
        phases = [None] * len(runs)
    return [
        [seconds(run.start_ms), seconds(_ends(run, following)), list(run.numbers), phase, run.beat_s]
        for run, following, phase in zip(runs, [*runs[1:], None][: len(runs)], phases, strict=True)
    ]


def _ends(run: CountRun, following: CountRun | None) -> int:
    # A count of three lasts three beats: its last word ends earlier than the breath does.
    whole = run.start_ms + round((run.beat_s or 0) * 1000 * len(run.numbers))
    end = max(run.end_ms, whole)
    return end if following is None else min(end, max(run.end_ms, following.start_ms))


def _in_all(ask: Ask | None) -> dict[str, str]:
    return {language: dose(ask, texts(language)) if ask else "" for language in LANGUAGES}


def _stop(practice: Practice, beat: float | None) -> dict[str, Any]:
    ask = practice.asked
    return {
        "at": seconds(practice.at_ms),
        "resume": seconds(practice.resume_ms),
        "dose": _in_all(ask),
        "reps": ask.reps if ask else None,
        "hold": ask.hold_s if ask else None,
        "sets": ask.sets if ask else None,
        "rest": ask.rest_s if ask else None,
        "pattern": ask.pattern if ask else None,
        "beat": beat,
        "takes": practice.seconds,
    }


def _own(chapter: Chapter, beat: float | None) -> dict[str, Any] | None:
    """What to practise after an exercise that the class never stops for; None where it does.

    The one dose for home, else the one of the class. Of several, which one is meant cannot be known: the viewer
    is asked.
    """
    if chapter.kind != "exercise" or chapter.practice:
        return None
    home = [ask for ask in chapter.asked if ask.where == "home"]
    asks = home or chapter.asked
    ask = asks[0] if len(asks) == 1 else None
    return _stop(Practice(at_ms=chapter.end_ms, resume_ms=chapter.end_ms, asked=ask), beat)


def _question(item: QuizItem) -> dict[str, Any]:
    answer = item.answer
    return {
        "clue": item.clue.text,
        "from": seconds(item.clue.start_ms),
        "to": seconds(item.clue.end_ms),
        "answer": None if answer is None else answer.text,
        "start": None if answer is None else seconds(answer.start_ms),
    }
