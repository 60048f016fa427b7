"""Estimate when each word of a block is said: by its length, in speech, with the ends of sentences at pauses.

::

    speech     ██████      ███████████   ████
    words      Sit tall.   Now breathe,  hold.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.transcript_text import pause_ms, spoken_ms
from segmenter.intervals import Interval, length
from segmenter.lesson import Word

SLOWEST = 1.6
"""Without sound a block is stretched no further than this; the rest of its time is silence after the talk."""
LEAST_ROOM = 0.35
"""Nobody talks three times as fast as usual: with less speech than that, the speech is not this text's."""
_PAUSED = {600: 0.9, 250: 0.5, 0: 0.06}
"""How likely a pause of 0.3 s or more follows a full stop, a comma, or no sign (common practice, no source)."""
_WORD_SPREAD, _RATE_SPREAD, _EDGE_MS = 0.4, 0.15, 200
"""A word's length varies by two fifths, the rate of a stretch by a seventh, its edges by 0.2 s (as `_PAUSED`)."""
_EMPTY_COST = 3.0
_BAND_MS, _BAND_SHARE, _WIDEST_MS = 12_000, 0.06, 40_000
"""How far the words may run ahead of or fall behind their share of the speech; work grows with its square."""

Values = NDArray[np.float64]


def lay(words: Sequence[str], block: Interval, speech: Sequence[Interval]) -> tuple[list[Word], int]:
    """Share the time of a block among its words.

    Parameters
    ----------
    words : sequence of str
        One or more words.
    block : tuple of int
        Start and end of the block, ms.
    speech : sequence of tuple of int
        Stretches of speech of the recording, in order, apart from each other; may be empty.

    Returns
    -------
    list of Word
        As many, in order, within the block.
    int
        How far a word's time may be off, ms.
    """
    lengths = np.array([spoken_ms(word) for word in words], dtype=np.float64)
    pauses = np.array([pause_ms(word) for word in words])
    first = bisect_right(speech, block[0], key=lambda span: span[1])
    last = bisect_left(speech, block[1], key=lambda span: span[0])
    room = [(max(start, block[0]), min(end, block[1])) for start, end in speech[first:last]]
    if not room or sum(map(length, room)) < LEAST_ROOM * lengths.sum():
        return _without_sound(words, block, lengths, pauses)
    cuts = _cuts(lengths, pauses, np.array([length(stretch) for stretch in room], dtype=np.float64))
    laid: list[Word] = []
    for (start, end), first, last in zip(room, cuts, cuts[1:], strict=False):
        if last > first:
            edges = start + (end - start) * _from_zero(lengths[first:last]) / lengths[first:last].sum()
            laid += _words(words[first:last], edges[:-1], edges[1:])
    return laid, max(300, min(length(block) // 4, 400 + length(block) // 12, 6_000))


def _without_sound(
    words: Sequence[str], block: Interval, lengths: Values, pauses: NDArray[np.int_]
) -> tuple[list[Word], int]:
    # Nobody knows where in a long block silence lies: talk comes first, at its usual pace.
    needed = float(lengths.sum() + pauses.sum())
    scale = min(length(block) / needed, SLOWEST)
    starts = block[0] + scale * _from_zero(lengths + pauses)[:-1]
    slack = max(0.0, length(block) - needed)
    return _words(words, starts, starts + scale * lengths), max(300, round(slack / 2), length(block) // 6)


def _words(words: Sequence[str], starts: Values, ends: Values) -> list[Word]:
    return [
        Word(text=text, start_ms=round(float(start)), end_ms=round(float(max(start, end))))
        for text, start, end in zip(words, starts, ends, strict=True)
    ]


def _from_zero(values: Values) -> Values:
    return np.concatenate([[0.0], np.cumsum(values)])


@dataclass(frozen=True)
class _Sums:
    """Running sums over the words, from which the cost of any run of words follows."""

    expected: Values
    squares: Values
    inside: Values


def _cuts(lengths: Values, pauses: NDArray[np.int_], room: Values) -> list[int]:
    """The first word of each stretch and, last, the number of words: the likeliest division (dynamic programming).

    The cost is a negative log likelihood: of the lengths of the stretches, and of pauses where the signs stand.
    """
    count = len(lengths)
    if len(room) == 1:
        return [0, count]
    scale = room.sum() / lengths.sum()
    chance = np.array([_PAUSED[int(pause)] for pause in pauses])
    at_pause, inside = -np.log(chance), -np.log(1 - chance)
    at_pause[-1] = inside[-1] = 0.0
    scaled = lengths * scale
    sums = _Sums(_from_zero(scaled), _from_zero(scaled**2), _from_zero(inside))
    reached = np.concatenate([[0.0], np.cumsum(room)])
    band = min(max(_BAND_MS, _BAND_SHARE * reached[-1]), _WIDEST_MS)
    first, best = 0, np.zeros(1)
    steps: list[tuple[int, NDArray[np.int_], int]] = []
    for place, stretch in enumerate(room):
        if place == len(room) - 1:
            low, high = count, count
        else:
            low = max(first, int(np.searchsorted(sums.expected, reached[place + 1] - band)))
            high = max(low, min(count, int(np.searchsorted(sums.expected, reached[place + 1] + band, "right")) - 1))
        befores, afters = np.arange(first, first + len(best))[:, None], np.arange(low, high + 1)[None, :]
        cost = best[:, None] + _cost(sums, befores, afters, float(stretch), at_pause)
        choice = np.asarray(cost.argmin(axis=0))
        steps.append((low, choice, first))
        first, best = low, cost.min(axis=0)
    cuts = [count]
    for low, choice, before in reversed(steps):
        cuts.append(before + int(choice[cuts[-1] - low]))
    return cuts[::-1]


def _cost(
    sums: _Sums, befores: NDArray[np.int_], afters: NDArray[np.int_], stretch: float, at_pause: Values
) -> Values:
    expected = sums.expected[afters] - sums.expected[befores]
    spread = (
        _WORD_SPREAD**2 * np.maximum(sums.squares[afters] - sums.squares[befores], 0)
        + (_RATE_SPREAD * np.maximum(expected, stretch)) ** 2
        + _EDGE_MS**2
    )
    cost = (expected - stretch) ** 2 / (2 * spread) + np.log(spread) / 2
    last = np.maximum(afters - 1, 0)
    # The last word of a stretch is followed by a pause, all others are not.
    signs = sums.inside[last] - sums.inside[np.minimum(befores, last)] + at_pause[last]
    cost = cost + np.where(afters > befores, signs, _EMPTY_COST)
    return np.asarray(np.where(afters >= befores, cost, np.inf), dtype=np.float64)
