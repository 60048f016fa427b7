"""The class as stretches: where something new starts, and the subject of what lies between.

Two exact searches. The reader's scores become the chance that something new starts with each sentence, over all
ways to read the whole class together (forward-backward, Rabiner 1989). Then those starts are chosen that leave the
least expected error: speakers often take two or three sentences to turn to something new, each as likely a start as
the next, and of these one is right and all are near enough.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from segmenter.understand.reader import SUBJECTS, Readings

LEAST = -5.0
"""Log probability below which a sentence says no more against a subject."""
SHARE = 0.25
"""What a sentence's subject counts for beside a start: the subjects of neighbours are no independent evidence."""
LEANING = 1.6
"""Added to the log odds of every start: it comes from training, where most sentences start nothing."""
NEAR_MS = 5_000
"""A start this near to the true one is near enough: a viewer misses nothing."""
COST = 0.6
"""Chance of a true start nearby that a start must add."""
EXACT = 0.1
"""What the chance of the very sentence counts beside that of all near it: of equals, the likeliest is taken."""
_OPENING, _CLOSING = SUBJECTS.index("opening"), SUBJECTS.index("closing")

Values = NDArray[np.float64]


@dataclass(frozen=True)
class Stretch:
    """Sentences ``first`` to ``last`` (exclusive) on one subject."""

    first: int
    last: int
    subject: str


def best_stretches(readings: Readings, starts_ms: Sequence[int]) -> list[Stretch]:
    """Return the class as stretches in order; every sentence is in exactly one.

    Parameters
    ----------
    readings : Readings
        Of n sentences.
    starts_ms : sequence of int
        When each of them starts, in order.
    """
    if not starts_ms:
        return []
    times = np.asarray(starts_ms)
    firsts = [0, *chosen(chances(readings), times)]
    lasts = [*firsts[1:], len(times)]
    return [
        Stretch(first, last, _subject(readings, first, last)) for first, last in zip(firsts, lasts, strict=True)
    ]


def chances(readings: Readings, share: float = SHARE, leaning: float = LEANING) -> Values:
    """Return the chance that something new starts with each sentence, shape (n,); of the first it is 0.

    All readings of the class count, each by its probability: every sentence has one subject, which stays until
    something starts; the opening comes first or not at all, and nothing follows the closing.
    """
    fits = share * np.maximum(readings.subjects.astype(np.float64), LEAST)
    gains = readings.starts.astype(np.float64) + leaning - np.log(len(SUBJECTS))
    count = len(fits)
    leave, enter = np.zeros(len(SUBJECTS)), np.zeros(len(SUBJECTS))
    leave[_CLOSING], enter[_OPENING] = -np.inf, -np.inf
    before = np.zeros_like(fits)  # of all ways to read up to and with a sentence, by its subject
    after = np.zeros_like(fits)  # of all ways to read on from it
    before[0] = fits[0]
    for at in range(1, count):
        before[at] = np.logaddexp(before[at - 1], _total(before[at - 1] + leave) + gains[at] + enter) + fits[at]
    for at in range(count - 2, -1, -1):
        stay = after[at + 1] + fits[at + 1]
        after[at] = np.logaddexp(stay, leave + _total(stay + enter) + gains[at + 1])
    whole = _total(before[-1])
    chance = np.zeros(count)
    for at in range(1, count):
        starting = _total(before[at - 1] + leave) + gains[at] + _total(enter + fits[at] + after[at])
        chance[at] = np.exp(starting - whole)
    return chance


def chosen(chance: Values, times: NDArray[np.int64], cost: float = COST) -> list[int]:
    """Return the starts, in order, that together reach the most chance at the least cost.

    A start reaches all chance within `NEAR_MS`; what two reach counts once; each costs `cost`, less `EXACT` of its
    own chance.
    """
    reached = np.concatenate([[0.0], np.cumsum(chance)])
    low = np.searchsorted(times, times - NEAR_MS, "left")
    high = np.searchsorted(times, times + NEAR_MS, "right")
    high[0] = 0  # stands for "none before"; the first sentence is no news
    best = np.full(len(times), -np.inf)
    source = np.zeros(len(times), dtype=np.int64)
    best[0] = 0.0
    for at in range(1, len(times)):
        worth = best[:at] - reached[np.maximum(low[at], high[:at])]
        source[at] = int(np.argmax(worth))
        best[at] = worth[source[at]] + reached[high[at]] + EXACT * chance[at] - cost
    at = int(np.argmax(best))
    found: list[int] = []
    while at:
        found.append(at)
        at = int(source[at])
    return found[::-1]


def _subject(readings: Readings, first: int, last: int) -> str:
    fits = np.maximum(readings.subjects[first:last], LEAST).sum(axis=0)
    if first:
        fits[_OPENING] = -np.inf
    if last < len(readings.subjects):
        fits[_CLOSING] = -np.inf
    return SUBJECTS[int(np.argmax(fits))]


def _total(values: Values) -> float:
    return float(np.logaddexp.reduce(values))
