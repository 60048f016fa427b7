"""Pure functions on half-open intervals ``(start_ms, end_ms)``.

::

    given     ████   ████ ██        (0, 4) (7, 11) (12, 14)
    gaps          ░░░    ░          (4, 7) (11, 12)
    merge(1)  ████   ███████        (0, 4) (7, 14)
"""

from __future__ import annotations

from collections.abc import Iterable

Interval = tuple[int, int]


def length(interval: Interval) -> int:
    """Milliseconds from start to end.

    >>> length((3, 10))
    7
    """
    return interval[1] - interval[0]


def overlap(one: Interval, other: Interval) -> int:
    """Milliseconds that two intervals share, 0 when they do not meet.

    >>> overlap((0, 5), (3, 9)), overlap((0, 3), (3, 9))
    (2, 0)
    """
    return max(0, min(one[1], other[1]) - max(one[0], other[0]))


def merge(intervals: Iterable[Interval], gap: int = 0) -> list[Interval]:
    """Sort, drop empty ones and join those that touch or stand at most `gap` apart.

    >>> merge([(7, 11), (0, 4), (12, 14), (5, 5)], gap=1)
    [(0, 4), (7, 14)]
    """
    joined: list[Interval] = []
    for start, end in sorted(intervals):
        if end <= start:
            continue
        if joined and start - joined[-1][1] <= gap:
            joined[-1] = (joined[-1][0], max(joined[-1][1], end))
        else:
            joined.append((start, end))
    return joined


def gaps(intervals: Iterable[Interval], within: Interval) -> list[Interval]:
    """What `intervals` leave uncovered of `within`.

    >>> gaps([(0, 4), (7, 11)], (0, 12))
    [(4, 7), (11, 12)]
    """
    free: list[Interval] = []
    at = within[0]
    for start, end in merge(intervals):
        if start > at:
            free.append((at, min(start, within[1])))
        at = max(at, end)
        if at >= within[1]:
            break
    if at < within[1]:
        free.append((at, within[1]))
    return [(start, end) for start, end in free if end > start]


def subtract(intervals: Iterable[Interval], holes: Iterable[Interval]) -> list[Interval]:
    """The parts of `intervals` that no hole covers.

    >>> subtract([(0, 10)], [(2, 3), (8, 12)])
    [(0, 2), (3, 8)]
    """
    holes = merge(holes)
    return [piece for whole in merge(intervals) for piece in gaps(holes, whole)]


def covered(interval: Interval, by: Iterable[Interval]) -> float:
    """Share of `interval` (0 to 1) that the others cover; 1 for an empty interval.

    >>> covered((0, 10), [(0, 4), (2, 5)])
    0.5
    """
    if interval[1] <= interval[0]:
        return 1.0
    return sum(overlap(interval, other) for other in merge(by)) / length(interval)
