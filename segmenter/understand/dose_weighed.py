"""Every number of a class weighed: what it measures, if anything, and whether in class or at home.

The rules of `dose_reading` know what most numbers measure by the words right beside them. What they cannot know is
how this voice puts things; a linear model, trained by ``segmenter.understand.train`` on voices' own words, weighs
the rules' answer with the words around, what follows in time, and what the reader takes the sentence for.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from segmenter.resources import shipped
from segmenter.understand.dose_clauses import Amount, Spot, Utterance
from segmenter.understand.dose_reading import unit_of
from segmenter.understand.dose_verdicts import Weighed, amount_of
from segmenter.understand.evidence import Line
from segmenter.understand.numbers import NumberAt
from segmenter.understand.reader import Readings, Sign
from segmenter.understand.spans import Span

_FILE = "doses.npz"
_REACH = 8
"""Words to either side that count as near."""
_FAR = 60
"""Words from which on another number has nothing to do with it."""
_STEPS = (1, 2, 3, 4, 6, 8, 10, 12, 15, 20, 30, 60, 100)
_ROLES: tuple[Sign, ...] = (
    "ask",
    "class",
    "home",
    "stop",
    "caution",
    "story",
    "news",
    "greet",
    "how",
    "show",
    "why",
    "clue",
    "bye",
)
_DIGITS = re.compile(r"\d+(\.\d+)?")

Features = dict[str, float]


@dataclass(frozen=True)
class Weights:
    """One row a feature: weights of `MEASURES`, then of home; `names` are the features in order."""

    names: tuple[str, ...]
    rows: NDArray[np.float32]

    def keep(self, folder: Path) -> None:
        """Write the weights to be shipped."""
        np.savez_compressed(folder / _FILE, names=np.array(self.names), rows=self.rows.astype(np.float16))

    def weigh(self, features: Features) -> tuple[tuple[float, ...], float]:
        """Return the probabilities of `MEASURES` and of home."""
        own = [(place, value) for name, value in features.items() if (place := self._places.get(name)) is not None]
        scores = sum((self.rows[place] * value for place, value in own), np.zeros(self.rows.shape[1], np.float32))
        odds = np.exp(scores[:-1] - scores[:-1].max())
        return tuple((odds / odds.sum()).tolist()), float(1 / (1 + np.exp(-scores[-1])))

    @property
    def _places(self) -> dict[str, int]:
        return _places(self.names)


@lru_cache(maxsize=4)
def _places(names: tuple[str, ...]) -> dict[str, int]:
    return {name: at for at, name in enumerate(names)}


@dataclass(frozen=True)
class Number:
    """A number where it stands: in which utterance, after how many words of the class, and what the rules make of it."""

    utterance: Utterance
    number: NumberAt
    rule: Amount | None

    @property
    def first(self) -> int:
        """Its place among the words of the class."""
        return self.utterance.first + self.number.first


def numbers_of(utterances: Sequence[Utterance]) -> list[Number]:
    """Return every number of a class, in order."""
    return [
        Number(utterance, number, amount_of(number, utterance.amounts))
        for utterance in utterances
        for number in utterance.said.numbers
    ]


def weigh(
    utterances: Sequence[Utterance], spans: Sequence[Span], lines: Sequence[Line], readings: Readings
) -> list[Weighed]:
    """Weigh every number of a class with the weights that ship."""
    own = weights()
    numbers = numbers_of(utterances)
    return [
        Weighed(number.first, number.utterance.first + number.number.last, *own.weigh(features))
        for number, features in zip(numbers, features_of(numbers, spans, lines, readings), strict=True)
    ]


def features_of(
    numbers: Sequence[Number], spans: Sequence[Span], lines: Sequence[Line], readings: Readings
) -> Iterator[Features]:
    """Yield what speaks for or against each measure of each number."""
    starts = [line.sentence.first for line in lines]
    labels = {at: span.label for span in spans for at in range(span.first, span.last)}
    for at, one in enumerate(numbers):
        features = _own(one)
        for name, place in (("before", at - 1), ("after", at + 1)):
            if 0 <= place < len(numbers) and abs(numbers[place].utterance.first - one.utterance.first) < _FAR:
                features |= _beside(name, one, numbers[place])
        features[f"span {labels.get(one.first)}"] = 1.0
        place = bisect_right(starts, one.first) - 1
        features |= {f"role {role}": 2 * readings.role(place, role) for role in _ROLES if place >= 0}
        yield features


def _own(one: Number) -> Features:
    said, number = one.utterance.said, one.number
    bare, first, last = said.bare, number.first, number.last
    unit = unit_of(Spot(said, number))[1]
    rule = one.rule.field if one.rule is not None else None
    features: Features = {"bias": 1.0}
    for step in (1, 2, 3):
        features[f"-{step} {_word(bare, first - step)}"] = 1.0
        features[f"+{step} {_word(bare, last - 1 + step)}"] = 1.0
    features[f"-- {_word(bare, first - 2)} {_word(bare, first - 1)}"] = 1.0
    features[f"++ {_word(bare, last)} {_word(bare, last + 1)}"] = 1.0
    features[f"number {' '.join(bare[first:last])}"] = 1.0
    features |= {f"in {word}": 0.7 for word in set(bare)}
    features |= {f"left {word}": 0.5 for word in bare[max(0, first - _REACH) : first]}
    features |= {f"right {word}": 0.5 for word in bare[last : last + _REACH]}
    features |= {
        f"glued {number.unit}": 1.0,
        f"unit {unit}": 1.0,
        f"rule {rule}": 2.0,
        f"rule {rule} unit {unit}": 1.0,
    }
    features[f"rule in {one.rule.where if one.rule is not None else None}"] = 1.0
    features[f"carried {one.utterance.carried}"] = 1.0
    features["explained"] = float(first in one.utterance.explained)
    features["doing"] = float(said.around.doing)
    features["question"] = float(said.is_question)
    features["closed before"] = float(said.closed[first - 1]) if first else 2.0
    features["closed"] = float(said.closed[last - 1])
    features["numbers"] = float(min(4, len(said.numbers)))
    features["words"] = min(len(bare), 40) / 10
    features["place"] = first / max(1, len(bare))
    features["leads"] = float(first == 0)
    features["ends"] = float(last >= len(bare))
    features["exact"] = float(number.bound == "exact")
    value = number.hi or number.lo or 0.0
    features |= {f"from {step}": float(value >= step) for step in _STEPS}
    if said.around.count is not None:
        same = max(said.around.count.numbers) == number.hi
        features |= {f"count {said.around.count.kind}": 1.0, f"count {said.around.count.kind} {same}": 1.0}
    return features


def _beside(name: str, one: Number, other: Number) -> Features:
    mine, its = (n.rule.field if n.rule is not None else None for n in (one, other))
    return {
        f"{name} {its}": 1.0,
        f"{name} {its} here {mine}": 1.0,
        f"{name} same": float(other.number.hi == one.number.hi),
        f"{name} near": float(other.utterance is one.utterance),
    }


def _word(bare: Sequence[str], at: int) -> str:
    if not 0 <= at < len(bare):
        return "<" if at < 0 else ">"
    return "#" if _DIGITS.fullmatch(bare[at]) else bare[at]


@lru_cache(maxsize=1)
def weights() -> Weights:
    """Return the weights that ship."""
    with np.load(shipped("reader") / _FILE) as file:
        return Weights(tuple(file["names"].tolist()), file["rows"].astype(np.float32))
