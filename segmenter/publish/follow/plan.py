"""The film as a list of pieces: clips of the class, and what is put in between."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from segmenter.errors import SettingError
from segmenter.lesson import Caption, Chapter, Lesson
from segmenter.publish.chapters import chapter_title, one_line
from segmenter.publish.follow.settings import FollowSettings
from segmenter.publish.follow.steps import CARD_S, WORD_S, Step, practice_steps, think_step
from segmenter.publish.follow.time_map import TimeMap, laid_out
from segmenter.publish.wording import DEFER, STOP_AND_REST, STOP_FOR_HELP
from segmenter.times import clock

BEFORE_ANSWER_MS: Final = 150
"""The film stops this long before an answer, so that no first sound gives it away."""
SHORTEST_THINK_S: Final = 2
"""A shorter wait is no time to think."""
LEAST_CAPTION_MS: Final = 300
"""What is left of a caption beside a cut is dropped when it is shorter: it would only flash."""
CUE_MS: Final = 4_000
"""How long the caption of something put in stays."""


@dataclass(frozen=True)
class Insert:
    """Something put in: its steps, what stands above them, and the frame of the class behind it."""

    steps: tuple[Step, ...]
    title: str
    family: str | None
    behind: int | None
    lines: tuple[str, ...] = ()

    def tick_frames(self, rate: Fraction) -> list[tuple[Step, int, int]]:
        """Every picture as ``(step, number shown, frames)``."""
        ticks = []
        for step in self.steps:
            frames = max(1, round(Fraction(step.beat_s).limit_denominator(1000) * rate))
            ticks += [(step, number, frames) for number in range(step.counts, 0, -1)]
        return ticks

    def frames(self, rate: Fraction) -> int:
        """Length."""
        return sum(frames for _, _, frames in self.tick_frames(rate))


@dataclass(frozen=True)
class Clip:
    """A piece of the class, from frame `first` up to `last`."""

    first: int
    last: int
    chapter: str


@dataclass(frozen=True)
class FollowPlan:
    """The whole film: pieces, their time map, chapters and captions."""

    pieces: tuple[Clip | Insert, ...]
    map: TimeMap
    lesson: Lesson
    """The lesson as the film has it: chapters and captions moved."""
    stops: int
    open_waits: int


def plan_film(lesson: Lesson, rate: Fraction, settings: FollowSettings) -> FollowPlan:
    """Lay out the film.

    Parameters
    ----------
    lesson : Lesson
        Gives chapters, stops, quiz items and captions.
    rate : Fraction
        Frames a second of the film.
    settings : FollowSettings
        Choices.

    Raises
    ------
    SettingError
        If chapters were named that are not there, or nothing is left.
    """
    chosen = chosen_chapters(lesson, settings)
    pieces: list[Clip | Insert] = []
    begins: list[tuple[Chapter, int]] = []  # number of pieces before each chapter
    for chapter in chosen:
        begins.append((chapter, len(pieces)))
        pieces += _chapter(chapter, rate, settings)
    kept = [piece for piece in pieces if _frames(piece, rate) > 0]
    if not any(isinstance(piece, Clip) for piece in kept):
        raise SettingError("nothing of the class is left to show", None, "Choose other chapters with --only")
    if settings.cards:
        kept.append(_last_card(chosen))
    sizes = [(piece.first if isinstance(piece, Clip) else None, _frames(piece, rate)) for piece in kept]
    made = laid_out(rate, sizes)
    starts = {id(piece): made.ms(stretch.at) for piece, stretch in zip(kept, made.stretches, strict=True)}
    moved = _moved_chapters(begins, pieces, starts, made.duration_ms)
    captions = sorted([*_moved_captions(lesson, made), *_told(kept, starts, made)], key=lambda c: c.start_ms)
    film = lesson.model_copy(
        update={
            "chapters": moved,
            "captions": tuple(captions),
            "recording": lesson.recording.model_copy(update={"seconds": made.duration_ms / 1000}),
        }
    )
    practice = [p for p in kept if isinstance(p, Insert) and p.steps[-1].kind == "done"]
    waits = sum(insert.steps[0].kind == "wait" for insert in practice)
    return FollowPlan(tuple(kept), made, film, len(practice), waits)


def chosen_chapters(lesson: Lesson, settings: FollowSettings) -> tuple[Chapter, ...]:
    """The chapters to show, in the order of the class.

    Raises
    ------
    SettingError
        If one is named that is not there; all chapters are listed.
    """
    chapters = [chapter for chapter in lesson.chapters if chapter.end_ms > chapter.start_ms]
    names = {str(number): chapter.id for number, chapter in enumerate(chapters, 1)}
    names |= {chapter.id: chapter.id for chapter in chapters}
    wrong = [name for name in settings.only if name not in names]
    if wrong:
        listed = "; ".join(f"{n} = {chapter_title(c)} ({clock(c.start_ms)})" for n, c in enumerate(chapters, 1))
        raise SettingError(f"there is no chapter {wrong[0]!r}", None, f"Choose from: {listed}")
    if settings.only:
        wanted = {names[name] for name in settings.only}
        chapters = [chapter for chapter in chapters if chapter.id in wanted]
    if settings.cut_opening:
        first = next((n for n, chapter in enumerate(chapters) if chapter.kind in {"exercise", "quiz"}), 0)
        chapters = chapters[first:]
    return tuple(chapters)


def _frames(piece: Clip | Insert, rate: Fraction) -> int:
    return piece.last - piece.first if isinstance(piece, Clip) else piece.frames(rate)


def _chapter(chapter: Chapter, rate: Fraction, settings: FollowSettings) -> Iterator[Clip | Insert]:
    """The chapter in order; clips go on from where a stop resumes."""

    def frame(ms: int) -> int:
        return round(ms * rate / 1000)

    title = chapter_title(chapter)
    if settings.cards and chapter.kind in {"exercise", "quiz"}:
        lines = tuple(one_line(c.text) for c in chapter.cautions if c.source == "spoken")[:2]
        yield _card(title, chapter.family, lines)
    at, end = frame(chapter.start_ms), frame(chapter.end_ms)
    for stop_ms, resume_ms, steps in sorted(_stops(chapter, settings), key=lambda stop: stop[0]):
        stop = min(max(frame(stop_ms), at), end)
        yield Clip(at, stop, chapter.id)
        yield Insert(steps, title, chapter.family, max(0, stop - 1))
        at = min(max(frame(resume_ms), stop), end)
    yield Clip(at, end, chapter.id)


def _stops(chapter: Chapter, settings: FollowSettings) -> Iterator[tuple[int, int, tuple[Step, ...]]]:
    beats = sorted(c.beat_s for c in chapter.shown.counts if c.kind == "breath" and c.beat_s)
    beat = beats[len(beats) // 2] if beats else None
    for practice in chapter.practice:
        yield practice.at_ms, practice.resume_ms, practice_steps(practice.asked, settings, beat)
    for item in chapter.quiz:
        if item.answer is None:
            continue
        missing = settings.think_s - (item.think_s or 0.0)
        if missing >= SHORTEST_THINK_S:
            at = max(item.clue.end_ms, item.answer.start_ms - BEFORE_ANSWER_MS)
            yield at, at, (think_step(one_line(item.clue.text), math.ceil(missing)),)


def _last_card(chosen: tuple[Chapter, ...]) -> Insert:
    spoken = dict.fromkeys(one_line(c.text) for ch in chosen for c in ch.cautions if c.source == "spoken")
    lines = (DEFER, *list(spoken)[:2], STOP_AND_REST, STOP_FOR_HELP)
    return _card("Before you go", None, lines)


def _card(title: str, family: str | None, lines: tuple[str, ...]) -> Insert:
    words = sum(len(line.split()) for line in (title, *lines))
    return Insert((Step("card", "", max(CARD_S, math.ceil(words * WORD_S))),), title, family, None, lines)


def _moved_chapters(
    begins: list[tuple[Chapter, int]], pieces: list[Clip | Insert], starts: dict[int, int], end_ms: int
) -> tuple[Chapter, ...]:
    points = []
    for chapter, first in begins:
        # The start of its first piece that has any length; a chapter cut away whole has none.
        later = [starts[id(piece)] for piece in pieces[first:] if id(piece) in starts]
        points.append((chapter, later[0] if later else end_ms))
    ends = [start for _, start in points[1:]] + [end_ms]
    return tuple(
        Chapter(id=c.id, title=c.title, kind=c.kind, family=c.family, start_ms=start, end_ms=end)
        for (c, start), end in zip(points, ends, strict=True)
    )


def _moved_captions(lesson: Lesson, made: TimeMap) -> Iterator[Caption]:
    for caption in lesson.captions:
        parts = made.moved(caption.span)
        if parts:
            start, end = max(parts, key=lambda part: part[1] - part[0])
            if end - start >= min(LEAST_CAPTION_MS, caption.end_ms - caption.start_ms):
                yield caption.model_copy(update={"start_ms": start, "end_ms": end})


def _told(kept: list[Clip | Insert], starts: dict[int, int], made: TimeMap) -> Iterator[Caption]:
    """A caption for each thing put in: the tones are heard, and the screen may not be seen."""
    for piece in kept:
        if isinstance(piece, Insert) and piece.steps[0].kind != "card":
            start = starts[id(piece)]
            end = min(start + CUE_MS, start + made.ms(piece.frames(made.rate)))
            text = "[time to think]" if piece.steps[0].kind == "think" else "[time to practise, with soft tones]"
            yield Caption(start_ms=start, end_ms=end, text=text, kind="sound")
