"""What happens inside a chapter: its parts, its practice stops and its quiz items."""

from __future__ import annotations

from collections.abc import Sequence

from segmenter.lesson import Ask, Part, PartKind, Passage, Practice, QuizItem
from segmenter.understand.dose import practice_seconds
from segmenter.understand.evidence import THINK_MS, Facts, Line
from segmenter.understand.prompts import Prompt
from segmenter.understand.reader import ROLES, Readings, Sign

_PART_OF_ROLE: dict[Sign, PartKind] = {
    "why": "why", "how": "how", "caution": "how", "show": "show", "rest": "rest", "story": "chat", "news": "chat",
}  # fmt: skip
CLUE, ANSWER = 0.4, 0.6
"""How likely a sentence must be a clue or an answer to be taken for one."""
THOUGHT = 0.3
"""What time to think adds to that of an answer, and to that of a doubtful clue."""
DOUBTFUL = 0.15
"""How likely a sentence must be a clue before time to think after it counts."""
LOST = 4
"""Sentences of something else after which a clue is no longer open."""
NEAR_MS = 90_000
"""A welcome back later than this after the ask belongs to something else."""


def parts_of(
    places: Sequence[int], lines: Sequence[Line], readings: Readings, span: tuple[int, int]
) -> tuple[Part, ...]:
    """Part an exercise, touching and in order."""
    bounds = [span[0], *(lines[at].sentence.start_ms for at in places[1:]), span[1]]
    parts: list[Part] = []
    kind: PartKind = "how"
    for number, at in enumerate(places):
        kind = _kind(at, lines[at], readings) or kind
        start, end = bounds[number], max(bounds[number], bounds[number + 1])
        if parts and parts[-1].kind == kind:
            parts[-1] = parts[-1].model_copy(update={"end_ms": end})
        elif end > start:
            parts.append(Part(kind=kind, start_ms=start, end_ms=end))
    return tuple(parts)


def _kind(at: int, line: Line, readings: Readings) -> PartKind | None:
    """What happens in a sentence; None where it may belong to what happens around it."""
    if line.waiting or line.returned:
        return "practice"
    if line.counted:
        return "count"
    if line.efforts:
        return "show"
    return _PART_OF_ROLE.get(max(ROLES, key=lambda role: readings.role(at, role)))


def practice_of(
    prompts: Sequence[Prompt], asked: Sequence[Ask], facts: Facts, span: tuple[int, int]
) -> tuple[Practice, ...]:
    """Find where a player stops: after the whole ask, before the return.

    Two asks without a return between them are one stop, at the later one. Where nobody is
    welcomed back, the class goes on with the next word.
    """
    stops: list[Practice] = []
    pending: Prompt | None = None
    for prompt in [*prompts, None]:
        if pending is not None and (
            prompt is None or prompt.kind == "return" or prompt.start_ms - pending.end_ms > 8_000
        ):
            stops.append(_stop(pending, prompt, asked, facts, span))
            pending = None
        if prompt is not None and prompt.kind == "pause":
            pending = prompt
    return tuple(stops)


def _stop(
    pause: Prompt, following: Prompt | None, asked: Sequence[Ask], facts: Facts, span: tuple[int, int]
) -> Practice:
    at = min(pause.end_ms, span[1])
    resume = next((w.start_ms for w in facts.words if w.start_ms >= at), span[1])
    if following is not None and following.kind == "return" and following.start_ms - at <= NEAR_MS:
        resume = following.start_ms
    ask = pause.ask or next((a for a in reversed(asked) if a.start_ms <= at and a.where == "home"), None)
    return Practice(
        at_ms=at, resume_ms=max(at, min(resume, span[1])), asked=ask, seconds=practice_seconds(ask) if ask else None
    )


def quiz_of(places: Sequence[int], lines: Sequence[Line], readings: Readings) -> tuple[QuizItem, ...]:
    """Pair each clue with the answer that follows it after time to think."""
    items: list[QuizItem] = []
    clue: list[Line] = []
    since = 0
    for at in places:
        line = lines[at]
        clues = readings.role(at, "clue")
        clues += THOUGHT * (clues >= DOUBTFUL and at + 1 < len(lines) and lines[at + 1].pause_before_ms >= THINK_MS)
        answers = readings.role(at, "answer") + THOUGHT * (line.pause_before_ms >= THINK_MS)
        since += 1
        if clue and answers >= ANSWER and answers > clues:
            think_s = round((line.sentence.start_ms - clue[-1].sentence.end_ms) / 1000, 3)
            items.append(QuizItem(clue=_passage(clue), answer=_passage([line]), think_s=think_s))
            clue = []
        elif clues >= CLUE:
            clue.append(line)
            since = 0
        elif since > LOST:
            clue = []
    return tuple(items)


def _passage(lines: Sequence[Line]) -> Passage:
    return Passage(
        start_ms=lines[0].sentence.start_ms,
        end_ms=lines[-1].sentence.end_ms,
        text=" ".join(line.sentence.text for line in lines),
    )
