"""Doses and practice stops as rules find them, held against what the reader takes their sentences for."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence

from segmenter.intervals import Interval, overlap
from segmenter.lesson import Ask, Word
from segmenter.understand.dose import find_asks
from segmenter.understand.dose_verdicts import Weighed, within
from segmenter.understand.evidence import Line
from segmenter.understand.prompts import Prompt, practice_ask
from segmenter.understand.reader import Readings, Sign

LEAST = 0.01
"""A dose in sentences that ask for something less likely than this is talk about a number."""
STOP = 0.3
"""How likely a sentence must be a request to stop, to be one that no rule knows."""
STOP_LEAST = 0.1
"""How likely it must be where a rule knows it."""
PLAIN = 0.8
"""Confidence of a rule from which on nobody need ask the reader: "pause me here"."""
RETURN = 0.5
GENERAL = 0.6
"""How likely a sentence outside of exercises must speak of home for its dose to count: "all this, every day"."""


def judged_asks(asks: Sequence[Ask], lines: Sequence[Line], readings: Readings) -> tuple[Ask, ...]:
    """Leave out doses in sentences that ask for nothing."""
    return tuple(ask for ask in asks if _asked(ask, lines, readings) >= LEAST)


def _asked(ask: Ask, lines: Sequence[Line], readings: Readings) -> float:
    """How likely the sentences of a dose ask for something; 1 where there are none."""
    signs: tuple[Sign, ...] = ("ask", "class", "home", "stop")
    return max((readings.role(at, sign) for at in _places(ask.span, lines) for sign in signs), default=1.0)


def is_general(ask: Ask, lines: Sequence[Line], readings: Readings) -> bool:
    """Whether a dose said outside of an exercise is one for home, as closings have it for all that was done."""
    return ask.where == "home" and any(readings.role(at, "home") >= GENERAL for at in _places(ask.span, lines))


def judged_prompts(
    prompts: Sequence[Prompt],
    lines: Sequence[Line],
    readings: Readings,
    words: Sequence[Word],
    weighed: Sequence[Weighed],
) -> tuple[Prompt, ...]:
    """Leave out requests that the reader takes for something else; add those that no rule knows."""
    kept = [prompt for prompt in prompts if _likely(prompt, lines, readings)]
    taken = [(prompt.start_ms, prompt.end_ms) for prompt in kept]
    fresh = [prompt for prompt in _read(lines, readings, words, weighed) if not _among(prompt, taken)]
    return tuple(sorted((*kept, *fresh), key=lambda prompt: prompt.start_ms))


def _likely(prompt: Prompt, lines: Sequence[Line], readings: Readings) -> bool:
    if prompt.kind == "return" or prompt.confidence >= PLAIN:
        return True
    own = _places((prompt.start_ms, prompt.end_ms), lines)
    return not own or max(readings.role(at, "stop") for at in own) >= STOP_LEAST


def _read(
    lines: Sequence[Line], readings: Readings, words: Sequence[Word], weighed: Sequence[Weighed]
) -> Iterator[Prompt]:
    waiting = False
    for at, line in enumerate(lines):
        sentence, sure = line.sentence, readings.role(at, "stop")
        if sure >= STOP:
            first, last = sentence.first, sentence.last
            ask = practice_ask(find_asks(words[first:last], within(weighed, first, last), away=True))
            yield Prompt(sentence.start_ms, sentence.end_ms, "pause", ask, sentence.text, round(sure, 2))
            waiting = True
        elif waiting and readings.role(at, "return") >= RETURN:
            yield Prompt(
                sentence.start_ms,
                sentence.end_ms,
                "return",
                None,
                sentence.text,
                round(readings.role(at, "return"), 2),
            )
            waiting = False


def _among(prompt: Prompt, taken: Sequence[tuple[int, int]]) -> bool:
    return any(overlap(span, (prompt.start_ms, prompt.end_ms)) for span in taken)


def _places(span: Interval, lines: Sequence[Line]) -> range:
    """The sentences that share time with a span; they are in order and apart."""
    first = bisect_right(lines, span[0], key=lambda line: line.sentence.end_ms)
    last = bisect_left(lines, span[1], key=lambda line: line.sentence.start_ms)
    return range(first, max(first, last))
