"""Numbers counted aloud: seconds, repetitions, breaths and countdowns, with their beat."""

from __future__ import annotations

import re
import statistics
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from segmenter.lesson import CountKind, CountRun, Word
from segmenter.understand.numbers import plain, read_numbers

SHORTEST = 3
"""Fewer numbers than this are no count."""
LONGEST_BEAT_MS = 20_000
"""Numbers further apart than this are not one count, even of slow repetitions."""
SECOND_S = (0.6, 1.6)
"""Plausible pace of counted seconds (common practice, no source)."""
LEAD_MS = 4_500
"""How far the "in" or "out" that stands for one may be from the two: recognisers put it early."""
BREATH_MS = 20_000
"""How near other counted breaths must be for an unclear lead ("and two three") to count as one of them."""
JOINED_MS = 150
"""Words this near are one phrase ("last one")."""
_BETWEEN = 4
"""Words of praise that may stand between two numbers of a count."""


def _all(words: str) -> frozenset[str]:
    return frozenset(words.split())


_BREAKERS = _all(
    "to or of past o'clock number exercise sets times weeks days minutes people years chapter page do make "
    "about next because remember today"
)
_MEASURED = _all("seconds second sets set times more minutes minute reps weeks days years people of each on either")
_POINTED = _all("last next final another easy every each other")
_FILLERS = _all("thousand one-thousand a-thousand mississippi elephant elephants hippopotamus banana")
_IN_OUT = _all("in out inhale exhale")
_UNCLEAR = _all("and an end n hold then pause wait")
_LEADS_ON = _all("for through your the nose mouth a count of and slowly again now with")
_HOLDING = _all(
    "hold holding stay keep squeeze squeezing press pressing push stretch count counting "
    "seconds tense clench still balance"
)
_MOVING = _all(
    "reps repetitions times again taps lifts turns circles rolls raises quick ones marches steps claps kicks "
    "squeezes presses swallows nods shrugs stands up down lift tap march step swallow turn blink kick clap"
)


@dataclass(frozen=True)
class _At:
    value: int
    first: int
    last: int
    start_ms: int
    end_ms: int
    lead: str = ""


def find_counts(words: Sequence[Word]) -> list[CountRun]:
    """Find runs of at least three numbers that are counted, one after the other.

    In counted breathing "in" and "out" stand for one. Numbers left out are listed in
    ``missing``; a few words of praise do not break a count. A run that only gives the start
    ("on three: one, two, three") is none.

    Parameters
    ----------
    words : sequence of Word
        The whole class in order.

    Returns
    -------
    list of CountRun
        In order of time; ``beat_s`` is the median distance of the starts, ``beat_spread_s`` their
        standard deviation, both in seconds.
    """
    runs: list[list[_At]] = []
    run: list[_At] = []
    for number in _numbers(words):
        if run and number.value == run[-1].value and _is_echo(words, run[-1], number):
            continue  # said twice, or heard twice
        if run and _goes_on(words, run, number):
            run.append(number)
            continue
        if len(run) == 2 and not run[0].lead and _goes_on(words, run[1:], number):
            # "Hold for two. One, two, three": the two before belongs to the talk.
            runs.append(run[:1])
            run = [*(_opened(words, run[1]) if run[1].value == 1 else run[1:]), number]
            continue
        runs.append(run)
        run = _opened(words, number)
    runs.append(run)
    long = [run for run in runs if len(run) >= SHORTEST and not _is_start_signal(words, run)]
    sure = [run for run in long if run[0].lead in _IN_OUT]
    # "In, two; out, two, three, four": two beats are a count beside longer ones.
    short = [run for run in runs if len(run) == 2 and run[0].lead in _IN_OUT and _is_near(run, sure)]
    long = sorted([*long, *short], key=lambda run: run[0].start_ms)
    return [
        _made(words, _settled(run, sure)) for run in long if len(_settled(run, sure)) >= SHORTEST or run in short
    ]


def _numbers(words: Sequence[Word]) -> list[_At]:
    """The whole numbers that may be part of a count; several in one word share its time evenly."""
    bare = [plain(word.text) for word in words]
    kept = [at for at, word in enumerate(bare) if not (word in _FILLERS and at and _is_number(bare[at - 1]))]
    read = read_numbers([words[at].text for at in kept])
    shared: dict[int, int] = {}
    for number in read:
        shared[number.first] = shared.get(number.first, 0) + 1
    seen: dict[int, int] = {}
    found: list[_At] = []
    for number in read:
        place = seen[number.first] = seen.get(number.first, -1) + 1
        first, last = kept[number.first], kept[number.last - 1] + 1
        value, following = number.value, bare[last] if last < len(bare) else ""
        closed = words[last - 1].text.rstrip().endswith((",", ".", "…", "!", "?", ";", ":"))
        if value is None or value != int(value) or not 0 < value <= 200 or number.unit:
            continue
        if following in _MEASURED and not closed:
            continue
        pause_ms = words[first].start_ms - words[first - 1].end_ms if first else 0
        if bare[first] in {"one", "1"} and first and bare[first - 1] in _POINTED and pause_ms < JOINED_MS:
            continue  # "last one, eight"
        start, end = words[first].start_ms, words[last - 1].end_ms
        if shared[number.first] > 1:
            step = (end - start) / shared[number.first]
            start, end = round(start + place * step), round(start + (place + 1) * step)
        found.append(_At(int(value), first, last, start, end))
    return found


def _is_echo(words: Sequence[Word], last: _At, number: _At) -> bool:
    between = [plain(word.text) for word in words[last.last : number.first]]
    return len(between) <= 1 and not set(between) & _IN_OUT


def _is_near(run: Sequence[_At], others: Sequence[Sequence[_At]]) -> bool:
    return any(
        other[0].start_ms - run[-1].end_ms <= BREATH_MS and run[0].start_ms - other[-1].end_ms <= BREATH_MS
        for other in others
    )


def _is_number(word: str) -> bool:
    return bool(read_numbers([word]))


def _goes_on(words: Sequence[Word], run: Sequence[_At], number: _At) -> bool:
    last = run[-1]
    step, gap = number.value - last.value, number.start_ms - last.start_ms
    if len(run) == 1:
        allowed = step in {1, 2, 3, -1, 5, 10}
    else:
        before = last.value - run[-2].value
        by_steps = all(b.value - a.value == before for a, b in pairwise(run)) and before in {5, 10}
        allowed = step == before if by_steps else (step in {-1, -2} if before < 0 else 1 <= step <= 4)
    between = [plain(word.text) for word in words[last.last : number.first]]
    if not allowed or len(between) > _BETWEEN or gap > LONGEST_BEAT_MS:
        return False
    if len(run) >= SHORTEST:
        beat = statistics.median(b.start_ms - a.start_ms for a, b in pairwise(run))
        if gap > max(3_000.0, 4 * beat * abs(step)):
            return False
    # "Ten more" between ten and eleven starts a new count that goes on from the old one.
    if any(_is_number(word) and after in {"more", "left", "to"} for word, after in pairwise(between)):
        return False
    # "In, two, three; out, two, three" are two counts, not one that stumbles.
    return not any(word in _BREAKERS or word in _IN_OUT for word in between)


def _opened(words: Sequence[Word], number: _At) -> list[_At]:
    """A new run, with the "in" or "out" before a one or a two."""
    lead = None
    for at in range(number.first - 1, max(-1, number.first - 4), -1):
        word = plain(words[at].text)
        if word in _IN_OUT or (word in _UNCLEAR and at == number.first - 1):
            lead = at
            break
    if lead is None or number.value > 2 or number.start_ms - words[lead].start_ms > LEAD_MS:
        return [number]
    if number.value == 1 and any(plain(word.text) not in _LEADS_ON for word in words[lead + 1 : number.first]):
        return [number]  # "in, lock, one, two" counts the lock
    word = plain(words[lead].text)
    if number.value == 1:
        return [replace(number, lead=word if word in _IN_OUT else "")]
    return [_At(1, lead, lead + 1, words[lead].start_ms, words[lead].end_ms, lead=word), number]


def _settled(run: list[_At], sure: Sequence[list[_At]]) -> list[_At]:
    """Keep an unclear lead only beside counted breaths."""
    if not run[0].lead or run[0].lead in _IN_OUT:
        return run
    return run if _is_near(run, sure) else run[1:]


def _is_start_signal(words: Sequence[Word], run: Sequence[_At]) -> bool:
    before = " ".join(plain(word.text) for word in words[max(0, run[0].first - 3) : run[0].first])
    return len(run) <= 4 and bool(re.search(r"\b(?:on|after) (?:three|four|3|4)$", before))


def _made(words: Sequence[Word], run: Sequence[_At]) -> CountRun:
    numbers = [at.value for at in run]
    steps = [b.start_ms - a.start_ms for a, b in pairwise(run)]
    beat = statistics.median(steps) / 1000
    stride = 1 if any(abs(b - a) not in {5, 10} for a, b in pairwise(numbers)) else abs(numbers[1] - numbers[0])
    return CountRun(
        start_ms=run[0].start_ms,
        end_ms=max(at.end_ms for at in run),
        kind=_kind(words, run, beat),
        numbers=tuple(numbers),
        beat_s=round(beat, 3),
        beat_spread_s=round(statistics.pstdev(steps) / 1000, 3),
        missing=tuple(n for n in range(min(numbers), max(numbers) + 1, stride) if n not in numbers),
    )


def _kind(words: Sequence[Word], run: Sequence[_At], beat: float) -> CountKind:
    if run[0].lead:
        return "breath"
    if run[1].value < run[0].value:
        return "down"
    between = {plain(word.text) for a, b in pairwise(run) for word in words[a.last : b.first]}
    # A number left out doubles the distance, or does not: some leave out the number, some the beat.
    pace = statistics.median((b.start_ms - a.start_ms) / 1000 / abs(b.value - a.value) for a, b in pairwise(run))
    if not any(SECOND_S[0] <= each <= SECOND_S[1] for each in (beat, pace)) or between & _MOVING:
        return "reps"
    # The nearest word before the count that tells, within two sentences or so.
    for word in reversed(words[max(0, run[0].first - 16) : run[0].first]):
        if plain(word.text) in _HOLDING:
            return "seconds"
        if plain(word.text) in _MOVING:
            return "reps"
    return "seconds"
