"""What happens inside a chapter: its parts, its practice stops and its quiz items."""

from __future__ import annotations

from collections.abc import Sequence

from segmenter.lesson import Ask, Part, PartKind, Passage, Practice, QuizItem
from segmenter.understand.dose import practice_seconds
from segmenter.understand.evidence import THINK_MS, Facts, Line
from segmenter.understand.prompts import Prompt

NEAR_MS = 90_000
"""A welcome back later than this after the ask belongs to something else."""


def parts_of(own: Sequence[Line], facts: Facts, span: tuple[int, int], *, is_exercise: bool) -> tuple[Part, ...]:
    """Part a chapter, touching and in order; talk has none."""
    if not is_exercise or not own:
        return ()
    bounds = [span[0], *(line.sentence.start_ms for line in own[1:]), span[1]]
    parts: list[Part] = []
    for number, line in enumerate(own):
        kind = _kind(line)
        start, end = bounds[number], max(bounds[number], bounds[number + 1])
        if parts and parts[-1].kind == kind:
            parts[-1] = parts[-1].model_copy(update={"end_ms": end})
        elif end > start:
            parts.append(Part(kind=kind, start_ms=start, end_ms=end))
    return tuple(parts)


def _kind(line: Line) -> PartKind:
    roles = line.roles
    if line.waiting or line.returned:
        return "practice"
    if line.counted:
        return "count"
    if line.efforts:
        return "show"
    scores: dict[PartKind, float] = {
        "why": 1.1 * roles.get("why", 0.0),
        "how": max(roles.get("how", 0.0), 0.3) + 0.5 * roles.get("caution", 0.0),
        "show": roles.get("show", 0.0),
        "rest": roles.get("rest", 0.0),
        "chat": roles.get("story", 0.0) + 0.5 * roles.get("news", 0.0),
    }
    return max(scores, key=lambda kind: scores[kind])


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


def quiz_of(own: Sequence[Line]) -> tuple[QuizItem, ...]:
    """Pair each clue with the answer given after the silence that follows it."""
    items: list[QuizItem] = []
    clue: list[Line] = []
    for line in own:
        thought = line.pause_before_ms >= THINK_MS and clue
        if thought:
            items.append(
                QuizItem(
                    clue=_passage(clue[-3:]),
                    answer=_passage([line]),
                    think_s=round(line.pause_before_ms / 1000, 3),
                )
            )
            clue = []
        else:
            clue.append(line)
    return tuple(items)


def _passage(lines: Sequence[Line]) -> Passage:
    return Passage(
        start_ms=lines[0].sentence.start_ms,
        end_ms=lines[-1].sentence.end_ms,
        text=" ".join(line.sentence.text for line in lines),
    )
