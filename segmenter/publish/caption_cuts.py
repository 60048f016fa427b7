"""Where spoken words are cut into cues, and when each cue comes: one search over the whole class.

A cue can be read as long as it takes until the next one comes. That depends on where the next one starts, so cuts
and starts are searched together: a fast cue may borrow a moment from a calm neighbour, or share a cue with it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import accumulate

from segmenter.publish.limits import (
    AIM_WPM,
    BLINK_MS,
    CEILING_WPM,
    EARLY_ON_MS,
    LATE_OFF_MS,
    LONGEST_MS,
    SHORTEST_MS,
    count_words,
)
from segmenter.publish.phrases import Token, Typesetter

MOST_WORDS = 18
"""More words than fit two lines or six seconds."""
SHIFTS = (0, -EARLY_ON_MS, EARLY_ON_MS, -EARLY_ON_MS // 2, EARLY_ON_MS // 2)
"""How far a cue may come from its first word, in ms: nobody notices so little (BBC 5.2 allows 1.5 s)."""


@dataclass(frozen=True)
class Bounds:
    """What cuts have to keep to; each is a position, the number of the token that follows the cut.

    Attributes
    ----------
    forced, whole
        Positions that must be a cut, and that must not be one.
    exact
        Positions whose cue comes with its first word: a number on its beat.
    never_early
        Positions whose cue must not come before its first word: an answer, another speaker.
    until
        When what is shown before a position has to leave the screen, in ms, where it is not the next word.
    """

    forced: frozenset[int] = frozenset()
    whole: frozenset[int] = frozenset()
    exact: frozenset[int] = frozenset()
    never_early: frozenset[int] = frozenset()
    until: Mapping[int, int] = field(default_factory=dict)

    def shifts(self, at: int) -> Sequence[int]:
        """How far a cue that starts at a position may be moved."""
        if at in self.exact:
            return (0,)
        return [shift for shift in SHIFTS if shift >= 0] if at in self.never_early else SHIFTS


@dataclass(frozen=True)
class Cut:
    """One cue: its tokens ``first`` to ``last`` (excluded), its lines, and when it comes, in ms."""

    first: int
    last: int
    lines: tuple[str, ...]
    start_ms: int


def cut(tokens: Sequence[Token], bounds: Bounds) -> list[Cut]:
    """Part all tokens into cues, in order; every token is in exactly one.

    What is bad about each cue is added up, and the least sum wins (dynamic programming over cuts and shifts).
    """
    search = _Search(tokens, bounds)
    for last in range(1, len(tokens) + 1):
        if last not in bounds.whole:
            search.reach(last)
    return search.traced()


class _Search:
    """The least cost of every position and shift so far, and where it came from."""

    def __init__(self, tokens: Sequence[Token], bounds: Bounds) -> None:
        self.tokens, self.bounds = tokens, bounds
        self.setter = Typesetter(tokens)
        self.full_stops = [token.ends_sentence for token in tokens]
        self.words = [0, *accumulate(count_words(token.text) for token in tokens)]
        self.shifts = [
            [shift for shift in bounds.shifts(at) if shift >= -token.start_ms] for at, token in enumerate(tokens)
        ]
        self.shifts.append([0])
        self.totals = [[math.inf] * len(shifts) for shifts in self.shifts]
        self.totals[0] = [_shift_cost(shift) for shift in self.shifts[0]]
        self.before = [[(0, 0)] * len(shifts) for shifts in self.shifts]

    def reach(self, last: int) -> None:
        """Try every cue that ends before a position."""
        spoken_end, ends = 0, self._leaving(last)
        for first in range(last - 1, max(-1, last - MOST_WORDS - 1), -1):
            if first + 1 < last and first + 1 in self.bounds.forced:
                break
            spoken_end = max(spoken_end, self.tokens[first].end_ms)
            if first in self.bounds.whole:
                continue
            # A word alone, and a number with what belongs to it, must stand, however long they are.
            must = all(at in self.bounds.whole for at in range(first + 1, last))
            if not must and spoken_end - self.tokens[first].start_ms > LONGEST_MS:
                break
            lines = self.setter.break_of(first, last)
            if lines is not None or must:
                cost, second = lines or (0.0, None)
                cost += _CUE_COST + _CUT_WEIGHT * self.setter.costs[last] + self._sharing_cost(first, last, second)
                self._try(first, last, cost, spoken_end, ends)

    def _leaving(self, last: int) -> list[tuple[float, float]]:
        """When a cue before a position leaves the screen, with the cost of it, for each shift of the next one."""
        leaves = self.bounds.until.get(last, math.inf)
        following = self.tokens[last].start_ms if last < len(self.tokens) else math.inf
        return [(min(following + shift, leaves), _shift_cost(shift)) for shift in self.shifts[last]]

    def _try(self, first: int, last: int, fixed: float, spoken_end: int, ends: list[tuple[float, float]]) -> None:
        words = self.words[last] - self.words[first]
        totals = self.totals[last]
        for at, shift in enumerate(self.shifts[first]):
            base = self.totals[first][at] + fixed
            if base >= max(totals):
                continue
            start = self.tokens[first].start_ms + shift
            longest = min(LONGEST_MS, spoken_end + LATE_OFF_MS - start)
            for to, (end, cost) in enumerate(ends):
                there = end - start
                total = base + cost + _time_cost(words, min(there, longest))
                if LONGEST_MS < there < spoken_end + BLINK_MS - start:
                    total += _BLINK_COST
                if total < totals[to]:
                    totals[to] = total
                    self.before[last][to] = first, at

    def _sharing_cost(self, first: int, last: int, second: int | None) -> float:
        """Two sentences share no line unless both are short (DCMP, text); a scrap of one is worst.

        What follows a question waits where it can: it may be the answer to a riddle that nobody noticed.
        """
        ends = [at + 1 for at in range(first, last - 1) if self.full_stops[at]]
        if not ends:
            return 0.0
        asked = any(self._waits_for_answer(end) for end in ends)
        apart = ends == [second] and self.tokens[first].other == self.tokens[last - 1].other
        scrap = min(ends[0] - first, last - ends[-1]) < 3
        cost = (3.0 if apart else 9.0 * len(ends)) + (2.0 if apart else 6.0) * scrap
        return cost + (_ASKED_COST if asked else 0.0)

    def _waits_for_answer(self, at: int) -> bool:
        one, other = self.tokens[at - 1], self.tokens[at]
        return one.asks and other.start_ms - one.end_ms >= _THINKING_MS

    def traced(self) -> list[Cut]:
        """Follow the least cost back from the end."""
        cuts: list[Cut] = []
        last, to = len(self.tokens), 0
        while last > 0:
            first, at = self.before[last][to]
            start = self.tokens[first].start_ms + self.shifts[first][at]
            cuts.append(Cut(first, last, self.setter.lines(first, last), start))
            last, to = first, at
        return cuts[::-1]


_CUE_COST = 6.0
"""Every cue costs something, so that there are no more of them than needed."""
_CUT_WEIGHT = 1.5
"""A phrase parted between two cues is worse than one parted between two lines."""
_BLINK_COST = 20.0
"""The gap before the next cue would look like a blink."""
_SHORT_COST = 3.0
"""It could hardly be read before it is gone."""
_FAST_COST = 150.0
"""Worse than a phrase parted at both ends of a cue: who reads slowly loses more by a cue that goes too soon."""
_ASKED_COST = 9.0
_THINKING_MS = 300
"""A pause after a question that may be meant for thinking (common practice, no source)."""


def _shift_cost(shift: int) -> float:
    return abs(shift) / EARLY_ON_MS / 2


@lru_cache(maxsize=65_536)
def _time_cost(words: int, there_ms: float) -> float:
    # Few cues above the ceiling, and none far above it: the square keeps a fast voice from spoiling single cues.
    rate = words * 60_000 / max(1.0, there_ms)
    over = max(0.0, rate - CEILING_WPM)
    fast = max(0.0, rate - AIM_WPM) / 20 + (_FAST_COST if over else 0.0) + over / 8 + over**2 / 60
    short = max(0.0, SHORTEST_MS - there_ms)
    return fast + (_SHORT_COST + short / 40 if short else 0.0)
