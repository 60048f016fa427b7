"""Numbers counted aloud: seconds, repetitions, breaths and countdowns, with their beat."""

from __future__ import annotations

import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from segmenter.lesson import CountKind, CountRun, Word
from segmenter.understand.numbers import plain, read_numbers

LONGEST_BEAT_MS = 6_000
"""Numbers further apart than this are not one count."""
SECOND_MS = (600, 1_600)
"""Plausible pace of counted seconds (exercises' fact sheet, section C: common practice, no source)."""
_BETWEEN = 3
"""Words of praise that may stand between two numbers of a count."""
_LEADS = {"in", "out", "and", "then"}
_HOLD = {"hold", "holding", "stay", "keep", "squeeze", "press", "count", "seconds"}


@dataclass(frozen=True)
class _At:
    value: int
    first: int
    last: int
    start_ms: int
    end_ms: int
    lead: bool = False


def find_counts(words: Sequence[Word]) -> list[CountRun]:
    """Find runs of at least three numbers that are counted, one after the other.

    In counted breathing "in" and "out" stand for one. Numbers left out are listed in
    ``missing``; a word or two of praise does not break a count.

    Returns
    -------
    list of CountRun
        In order of time; `beat_s` is the median distance of the starts.
    """
    runs: list[list[_At]] = []
    run: list[_At] = []
    for number in _numbers(words):
        if run and _goes_on(words, run, number):
            run.append(number)
            continue
        runs.append(run)
        lead = _lead(words, number)
        run = [lead, number] if lead else [number]
    runs.append(run)
    return [_made(words, run) for run in runs if len(run) >= 3]


def _numbers(words: Sequence[Word]) -> list[_At]:
    found = []
    for number in read_numbers([word.text.replace(",", " ").strip() for word in words]):
        if number.value is None or number.value != int(number.value) or not 0 <= number.value <= 200:
            continue
        if plain(words[number.first].text) in {"once", "twice", "thrice"}:
            continue
        own = words[number.first : number.last]
        found.append(_At(int(number.value), number.first, number.last, own[0].start_ms, own[-1].end_ms))
    return found


def _goes_on(words: Sequence[Word], run: Sequence[_At], number: _At) -> bool:
    last = run[-1]
    step = number.value - last.value
    down = len(run) > 1 and run[-1].value < run[-2].value
    allowed = (-1, -2) if down else ((1, 2, 3) if len(run) > 1 else (1, 2, -1))
    between = words[last.last : number.first]
    if step not in allowed or len(between) > _BETWEEN or number.start_ms - last.start_ms > LONGEST_BEAT_MS:
        return False
    # "in, two, three; out, two, three" are two counts, not one that stumbles.
    return not any(plain(word.text) in {"in", "out", "to", "or", "for", "of"} for word in between)


def _lead(words: Sequence[Word], number: _At) -> _At | None:
    """The "in" or "out" that stands for one before a two."""
    if number.value != 2 or number.first == 0:
        return None
    word = words[number.first - 1]
    if plain(word.text) not in _LEADS or number.start_ms - word.start_ms > LONGEST_BEAT_MS // 2:
        return None
    return _At(1, number.first - 1, number.first, word.start_ms, word.end_ms, lead=True)


def _made(words: Sequence[Word], run: Sequence[_At]) -> CountRun:
    numbers = [at.value for at in run]
    lo, hi = min(numbers), max(numbers)
    steps = [b.start_ms - a.start_ms for a, b in pairwise(run)]
    beat = statistics.median(steps)
    return CountRun(
        start_ms=run[0].start_ms,
        end_ms=max(at.end_ms for at in run),
        kind=_kind(words, run, beat),
        numbers=tuple(numbers),
        beat_s=round(beat / 1000, 3),
        beat_spread_s=round(statistics.pstdev(steps) / 1000, 3),
        missing=tuple(n for n in range(lo, hi + 1) if n not in numbers),
    )


def _kind(words: Sequence[Word], run: Sequence[_At], beat_ms: float) -> CountKind:
    if run[0].lead:
        return "breath"
    if run[1].value < run[0].value:
        return "down"
    before = {plain(word.text) for word in words[max(0, run[0].first - 14) : run[0].first]}
    if SECOND_MS[0] <= beat_ms <= SECOND_MS[1] and (before & _HOLD or not before & {"reps", "times", "again"}):
        return "seconds"
    return "reps"
