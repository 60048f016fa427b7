"""Train the weighing of numbers: from the doses marked in annotated classes to weights."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from segmenter.intervals import overlap
from segmenter.understand.dose_clauses import Spot
from segmenter.understand.dose_reading import unit_of
from segmenter.understand.dose_verdicts import MEASURES
from segmenter.understand.dose_weighed import Features, Number, Weights, features_of, numbers_of
from segmenter.understand.examples import Example
from segmenter.understand.numbers import NumberAt
from segmenter.understand.reader import Readings
from segmenter.understand.scripts import Counted, Dose, Said, Value
from segmenter.understand.spans import Span

LEAST_SEEN = 3
"""Numbers that a feature must stand beside to be learned from."""
EASE = 0.15
"""Inverse of how strongly weights are held near nothing; chosen on held-out voices among 0.05, 0.15 and 0.4."""
_STEPS = 500
_NEVER = -30.0
"""Score of a measure that no number has in the cases."""
_TIMED = frozenset({"second", "minute"})


@dataclass(frozen=True)
class Case:
    """A number as the model sees it, what it measures by the rules and in truth (places in `MEASURES`), and whether
    it is meant for home (None: it asks for nothing).
    """

    features: Features
    rule: int
    measure: int
    home: bool | None


def cases_of(example: Example, readings: Readings, spans: Sequence[Span]) -> list[Case]:
    """Return the numbers of a class with the truth beside them."""
    numbers = numbers_of(example.facts.utterances)
    told = _told(example, numbers)
    rows = features_of(numbers, spans, example.lines, readings)
    return [
        Case(
            features,
            MEASURES.index(number.rule.field if number.rule is not None else None),
            MEASURES.index(name) if name in MEASURES else 0,
            dose.where != "class" if dose is not None else None,
        )
        for number, features, (dose, name) in zip(numbers, rows, told, strict=True)
    ]


def fit_doses(cases: Sequence[Case]) -> Weights:
    """Fit multinomial logistic regressions; the same cases give the same weights on one machine."""
    from sklearn.feature_extraction import DictVectorizer  # noqa: PLC0415 - only training needs it
    from sklearn.linear_model import LogisticRegression  # noqa: PLC0415

    seen = Counter(name for case in cases for name in case.features)
    rows = [{name: value for name, value in case.features.items() if seen[name] >= LEAST_SEEN} for case in cases]
    columns = DictVectorizer(dtype=np.float32)
    table = columns.fit_transform(rows)
    measures = np.array([case.measure for case in cases])
    placed = np.array([case.home is not None for case in cases])
    homes = np.array([case.home for case in cases if case.home is not None])
    weights = np.zeros((table.shape[1], len(MEASURES) + 1), dtype=np.float32)
    weights[columns.vocabulary_["bias"], : len(MEASURES)] = _NEVER
    measure = LogisticRegression(C=EASE, max_iter=_STEPS, fit_intercept=False).fit(table, measures)
    weights[:, measure.classes_] = measure.coef_.T
    weights[:, -1] = (
        LogisticRegression(C=EASE, max_iter=_STEPS, fit_intercept=False).fit(table[placed], homes).coef_[0]
    )
    return Weights(tuple(columns.get_feature_names_out().tolist()), weights)


def _told(example: Example, numbers: Sequence[Number]) -> list[tuple[Dose | None, str | None]]:
    """Pair numbers with the fields marked in their sentence, the best fit first; each field takes one number."""
    pairs = sorted(_pairs(example, numbers), key=lambda pair: -pair[0])
    told: list[tuple[Dose | None, str | None]] = [(None, None)] * len(numbers)
    taken: set[tuple[int, int, str]] = set()
    for _, at, place, dose, name in pairs:
        if told[at][0] is None and (*place, name) not in taken:
            told[at] = dose, name
            taken.add((*place, name))
    return told


def _pairs(example: Example, numbers: Sequence[Number]) -> Iterator[tuple[float, int, tuple[int, int], Dose, str]]:
    items = [item for item in example.script.items if isinstance(item, Said | Counted)]
    words = example.facts.words
    for at, one in enumerate(numbers):
        own = words[one.utterance.first], words[one.utterance.first + len(one.utterance.said.bare) - 1]
        unit = unit_of(Spot(one.utterance.said, one.number))[1]
        for number, (item, (start, end, _)) in enumerate(zip(items, example.truth.sentences, strict=True)):
            if not isinstance(item, Said) or not overlap((start, end), (own[0].start_ms, own[1].end_ms)):
                continue
            for which, dose in enumerate(item.doses):
                for name, value in dose.fields:
                    fit = _fit(one.number, name, value)
                    if fit:
                        fit += 2 * ((unit in _TIMED) == (name in {"hold_s", "rest_s"}))
                        if one.rule is not None:
                            fit += (one.rule.field == name) + (one.rule.where == dose.where) / 2
                        yield fit - at / 1e4, at, (number, which), dose, name


def _fit(number: NumberAt, name: str, value: Value) -> float:
    """How well a number fits a field: 3 exactly, 1 as one end of it, 0 not at all."""
    if name not in MEASURES or isinstance(value, str):
        return 0
    best = 0.0
    for scale in (1.0, 60.0) if name in {"hold_s", "rest_s"} else (1.0,):
        lo, hi = (None if end is None else end * scale for end in (number.lo, number.hi))
        if (lo, hi) == tuple(value):
            return 3
        if lo is not None and lo == hi and lo in value:
            best = 1
    return best
