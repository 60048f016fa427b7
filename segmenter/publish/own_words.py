"""How an exercise is done, in the words of the class: shortened by choosing sentences, never rewritten."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from segmenter.intervals import overlap
from segmenter.lesson import Chapter, Word
from segmenter.publish.transcript import paragraphs

MOST: Final = 3
"""Sentences: a sheet on the fridge is read at a glance (own choice)."""
SHORTEST, LONGEST = 4, 24
"""Words a sentence: shorter is no instruction, longer is no help on paper (own choice)."""
_DOING: Final = re.compile(
    r"\b(?:breathe|blow|hold|keep|let|lift|lower|lean|look|make|move|open|close|press|pull|push|put|place|raise|reach|"
    r"relax|say|sing|sit|slide|slowly|gently|squeeze|stand|start|stick|stretch|swallow|take|tilt|tongue|turn|tuck|try|"
    r"hum|glide|bite|smile|pucker|purse|read|tap|touch|bend|drop|roll|shrug|sip|chin|lips?|shoulders?|yawn|whisper)\b",
    re.IGNORECASE,
)
_NOT_HOW: Final = re.compile(
    r"\b(?:pause|thank|welcome|video|recording|week|minutes? ago|stop if|dizzy|pain|doctor|clinician|therapist|"
    r"well done|good job|again next|remember to tell|subscribe)\b",
    re.IGNORECASE,
)


def how_words(chapter: Chapter, spoken: Sequence[Word], most: int = MOST) -> tuple[str, ...]:
    """Return up to `most` sentences that tell how the exercise is done, in the order they were said.

    `spoken` are the words of the chapter. Sentences come from the parts that explain or show; those that warn, ask
    for practice or hold a riddle are left to their own place. Nothing is returned when no sentence instructs.
    """
    taken = [(c.start_ms, c.end_ms) for c in chapter.cautions if c.start_ms is not None and c.end_ms is not None]
    taken += [p.span for q in chapter.quiz for p in (q.clue, q.answer) if p is not None]
    taken += [(part.start_ms, part.end_ms) for part in chapter.parts if part.kind in {"practice", "chat"}]
    taken += [count.span for count in chapter.shown.counts]
    weight = {"how": 2.0, "show": 1.0}
    ranked: list[tuple[float, int, str]] = []
    for number, words in enumerate(paragraphs(spoken)):
        span = words[0].start_ms, words[-1].end_ms
        text = " ".join(word.text.strip() for word in words)
        if not SHORTEST <= len(words) <= LONGEST or any(overlap(span, other) for other in taken):
            continue
        if _NOT_HOW.search(text) or text.endswith("?") or any(word.speaker == "other" for word in words):
            continue
        doing = len({found.lower() for found in _DOING.findall(text)})
        middle = (span[0] + span[1]) // 2
        part = next((p.kind for p in chapter.parts if p.start_ms <= middle < p.end_ms), "")
        # How often and how long stands in large print beside it already.
        dose = any(overlap(span, ask.span) for ask in chapter.asked)
        if doing:
            ranked.append((min(doing, 3) + weight.get(part, 0.0) - 2 * dose, number, text))
    best = sorted(ranked, key=lambda each: (-each[0], each[1]))[:most]
    return tuple(text for _, _, text in sorted(best, key=lambda each: each[1]))
