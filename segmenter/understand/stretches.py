"""One search over the whole class: which stretches of sentences are one thing, and of what kind.

The reader says of every sentence how well it fits each subject, and how likely something new starts with it.
A path gives every sentence a subject; it collects how well each fits, and pays or gains where it starts a new
stretch. The best path through all sentences is found exactly (Viterbi 1967), so that one stray sentence moves
nothing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from segmenter.understand.reader import SUBJECTS, Readings, Rows

LEAST = -5.0
"""Log probability below which a sentence says no more against a subject."""
SHARE = 0.25
"""What a sentence's subject counts for beside a start: the subjects of neighbours are no independent evidence."""
LEANING = -0.4
"""Added to the log odds of every start; below 0, fewer and surer ones."""
_OPENING, _CLOSING = SUBJECTS.index("opening"), SUBJECTS.index("closing")


@dataclass(frozen=True)
class Stretch:
    """Sentences ``first`` to ``last`` (exclusive) on one subject, and how sure their start is (log odds)."""

    first: int
    last: int
    subject: str
    start: float


def best_stretches(readings: Readings, *, share: float = SHARE, leaning: float = LEANING) -> list[Stretch]:
    """Return the class as stretches in order; every sentence is in exactly one."""
    count = len(readings.subjects)
    if count == 0:
        return []
    fits = (share * np.maximum(readings.subjects, LEAST)).astype(np.float32)
    path, starts = _best_path(fits, readings.starts + leaning)
    firsts = [0, *(at for at in range(1, count) if starts[at])]
    return [
        Stretch(first, last, SUBJECTS[path[first]], float(readings.starts[first]) if first else np.inf)
        for first, last in zip(firsts, [*firsts[1:], count], strict=True)
    ]


def _best_path(fits: Rows, gains: Rows) -> tuple[list[int], list[bool]]:
    """Return the subject of each sentence, and whether something new starts with it."""
    count, width = fits.shape
    best = fits[0].copy()
    source = np.zeros(count, dtype=np.int64)
    fresh = np.zeros((count, width), dtype=np.bool_)
    for at in range(1, count):
        leaving = best.copy()
        leaving[_CLOSING] = -np.inf  # nothing follows the goodbye
        source[at] = int(np.argmax(leaving))
        moved = np.full(width, leaving[source[at]] + gains[at])
        moved[_OPENING] = -np.inf  # the welcome comes first or not at all
        fresh[at] = moved > best
        best = np.where(fresh[at], moved, best) + fits[at]
    path, starts = [int(np.argmax(best))], [False] * count
    for at in range(count - 1, 0, -1):
        starts[at] = bool(fresh[at, path[-1]])
        path.append(int(source[at]) if starts[at] else path[-1])
    return path[::-1], starts
