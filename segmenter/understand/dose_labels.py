"""A number inside a span that the recogniser of spans has labelled: what it measures is known."""

from __future__ import annotations

from segmenter.understand.dose_clauses import Amount, Field, Label, Spot
from segmenter.understand.dose_talk import limits
from segmenter.understand.dose_words import UNITS
from segmenter.understand.scripts import SpanLabel

_FIELDS: dict[SpanLabel, Field] = {"reps": "reps", "sets": "sets", "hold": "hold_s", "rest": "rest_s"}
_SURE = 0.85


def read_labelled(spot: Spot, label: Label) -> Amount | None:
    """Return the amount of a number in a labelled span, None where the label measures nothing."""
    last = max(label.last, spot.number.last)
    words = spot.said.bare[spot.number.first : last]
    if label.label == "often":
        following = [n.first for n in spot.said.numbers if spot.number.first < n.first < last]
        own = words[: following[0] - spot.number.first] if following else words
        return spot.makes("days_per_week" if "week" in own else "per_day", last, _SURE)
    field = _FIELDS.get(label.label)
    if field is None:
        return None
    lo, hi = spot.number.lo, spot.number.hi
    if field in {"hold_s", "rest_s"}:
        unit = UNITS.get(spot.number.unit) or next((UNITS[word] for word in words if word in UNITS), None)
        if unit == "minute":
            lo, hi = (None if end is None else 60.0 * end for end in (lo, hi))
        elif unit not in {None, "second", "count"}:
            return None  # "rest two breaths"
        if limits(spot):
            lo = None
    return spot.makes(field, last, _SURE, (lo, hi))
