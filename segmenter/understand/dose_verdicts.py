"""The rules' amounts of an utterance, held against what the trained model makes of its numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import get_args

from segmenter.lesson import Where
from segmenter.understand.dose_clauses import Amount, Field, Spot, Utterance
from segmenter.understand.dose_places import placed
from segmenter.understand.dose_reading import unit_of
from segmenter.understand.numbers import NumberAt

Measure = Field | None
MEASURES: tuple[Measure, ...] = (None, *get_args(Field))
"""What a number may measure; None: it asks for nothing."""
TAKEN, KEPT = 0.35, 0.05
"""How likely a measure must be to be taken where rules say another or none, and to be kept where they say it."""
LEAD = 0.3
"""How far from even the place must be to be moved from where rules have it."""


@dataclass(frozen=True)
class Weighed:
    """A number, ``words[first:last]``, and the probabilities of `MEASURES` and of being meant for home."""

    first: int
    last: int
    measures: tuple[float, ...]
    home: float

    @property
    def where(self) -> Where:
        """The likelier place."""
        return "home" if self.home >= 0.5 else "class"


def within(weighed: Sequence[Weighed], first: int, last: int) -> list[Weighed]:
    """Return the numbers inside ``words[first:last]``, their places counted from `first`."""
    own = [one for one in weighed if first <= one.first and one.last <= last]
    return [replace(one, first=one.first - first, last=one.last - first) for one in own]


def amount_of(number: NumberAt, amounts: Sequence[Amount]) -> Amount | None:
    """Return the amount that the rules made of a number."""
    own = [amount for amount in amounts if amount.first <= number.first < amount.last]
    return next((amount for amount in own if amount.first == number.first), own[0] if own else None)


def measure_of(rule: int, measures: Sequence[float]) -> int:
    """Return what a number measures, as a place in `MEASURES`: what rules say if that is likely enough, else the likeliest."""
    if rule and measures[rule] >= KEPT:
        return rule
    best = max(range(1, len(MEASURES)), key=lambda at: measures[at])
    return best if measures[best] >= TAKEN else 0


def outweighed(utterance: Utterance, weighed: Sequence[Weighed], *, away: bool) -> list[Amount]:
    """Return the amounts of an utterance: those of the rules, where the model does not speak against them."""
    by_place = {one.first: one for one in weighed}
    amounts = list(utterance.amounts)
    for number in utterance.said.numbers:
        own = by_place.get(number.first)
        if own is None:
            continue
        rule = amount_of(number, utterance.amounts)
        if rule is not None and rule.first != number.first:
            continue  # inside an amount that starts with another number: "three to five"
        amount = _weighed(utterance, number, rule, own, away=away)
        if rule is not None and rule in amounts:
            amounts.remove(rule)
        if amount is not None:
            amounts.append(amount)
    return sorted(amounts, key=lambda amount: amount.first)


def _weighed(
    utterance: Utterance, number: NumberAt, rule: Amount | None, own: Weighed, *, away: bool
) -> Amount | None:
    ruled = MEASURES.index(rule.field if rule is not None else None)
    measure = measure_of(ruled, own.measures)
    amount = rule if measure == ruled else _made(utterance, number, measure, own)
    if amount is None or away or amount.told:
        return amount
    return replace(amount, where=own.where) if rule is None or abs(own.home - 0.5) > LEAD else amount


def _made(utterance: Utterance, number: NumberAt, measure: int, own: Weighed) -> Amount | None:
    field = MEASURES[measure]
    if field is None or number.first in utterance.explained or number.lo == 0:
        return None
    spot = Spot(utterance.said, number)
    at, unit = unit_of(spot)
    scale = 60.0 if unit == "minute" and field in {"hold_s", "rest_s"} else 1.0
    if unit in {"second", "minute"} and field not in {"hold_s", "rest_s"}:
        return None
    lo, hi = (None if end is None else scale * end for end in (number.lo, number.hi))
    amount = spot.makes(field, at + 1, own.measures[measure], (lo, hi))
    return placed(utterance.said, [amount], utterance.carried)[0]
