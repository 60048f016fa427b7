"""Move a part of a lesson in time: everything in it by the same amount, cut to the stretch that is taken."""

from __future__ import annotations

from typing import Any, TypeVar

from segmenter.intervals import Interval
from segmenter.lesson import Frozen

Part = TypeVar("Part", bound=Frozen)


def moved(part: Part, by_ms: int, within: Interval) -> Part:
    """Return `part` with all its times moved by `by_ms`; what lies outside `within` goes to its nearest edge.

    Parameters
    ----------
    part : Frozen
        A chapter, word, check, or any other part of a lesson.
    by_ms : int
        How much later, in milliseconds; earlier if negative.
    within : Interval
        Where the stretch that is taken will lie.
    """
    return type(part).model_validate(_moved(part.model_dump(by_alias=False), by_ms, within))


def _moved(value: Any, by_ms: int, within: Interval) -> Any:
    if isinstance(value, dict):
        return {
            name: min(max(inner + by_ms, within[0]), within[1])
            if name.endswith("_ms") and inner is not None
            else _moved(inner, by_ms, within)
            for name, inner in value.items()
        }
    if isinstance(value, list | tuple):
        return [_moved(inner, by_ms, within) for inner in value]
    return value
