"""Train the naming of stretches: from stretches of known truth to weights."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import chain, islice

import numpy as np

from segmenter.understand.alike import FAMILIES, Directions
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.company import company_features, company_of
from segmenter.understand.naming import (
    Evidence,
    Weights,
    evidence_of,
    exercise_features,
    family_features,
    log_softmax,
)
from segmenter.understand.reader import Readings, Rows
from segmenter.understand.telling import Telling
from segmenter.understand.train_reader import Lesson

_STEPS = 600
_RATE = 0.02
_DECAY = 1e-4
"""Pull of the weights towards 0."""


@dataclass(frozen=True)
class Case:
    """One exercise of one class as the naming sees it, and the truth; the catalogue may lack it (None)."""

    lesson: Lesson
    readings: Readings
    first: int
    last: int
    family: int
    exercise: int | None

    @property
    def texts(self) -> list[str]:
        """Its sentences."""
        return [line.sentence.text for line in self.lesson.example.lines[self.first : self.last]]

    @property
    def meaning(self) -> Rows:
        """Their meanings."""
        return self.readings.meaning[self.first : self.last]

    def evidence(self, known: Directions, learned: Telling) -> Evidence:
        """Return what the naming sees of it."""
        return evidence_of(self.first, self.last, self.readings, self.lesson.example.lines, known, learned)


def cases_of(lesson: Lesson, readings: Readings, known: Directions) -> list[Case]:
    """Return the exercises of a class, thinking tasks with them."""
    cases: list[Case] = []
    chapters = lesson.example.chapters
    for number in sorted(set(chapters.tolist())):
        opens = lesson.example.truth.chapters[number].opens
        places = np.flatnonzero(chapters == number)
        if opens.kind in {"exercise", "quiz"} and opens.family is not None:
            exercise = known.ids.index(opens.exercise) if opens.exercise in known.ids else None
            family = FAMILIES.index(opens.family)
            cases.append(Case(lesson, readings, int(places[0]), int(places[-1]) + 1, family, exercise))
    return cases


def fit_naming(
    named: Sequence[Sequence[Case]], seen: Sequence[Sequence[Evidence]], catalogue: Catalogue, known: Directions
) -> Weights:
    """Train all three models on the cases of classes; the same cases give the same weights on one machine.

    `seen` is the evidence of each case, with tellings by what was not trained on its voice.
    """
    cases, evidence = [*chain(*named)], [*chain(*seen)]
    right = [case.family for case in cases]
    rows = [family_features(own, catalogue, known) for own in evidence]
    families = _descend(rows[0].shape[1], _slope(rows, right))
    alone = iter([log_softmax(row @ families) for row in rows])
    company = company_of([case.family for case in own] for own in named)
    rows = [row for own in named for row in company_features([*islice(alone, len(own))], company)]
    beside = _descend(rows[0].shape[1], _slope(rows, right))
    likely = [log_softmax(row @ beside) for row in rows]
    rows = [exercise_features(own, one, catalogue, known) for own, one in zip(evidence, likely, strict=True)]
    right = [len(known.ids) if case.exercise is None else case.exercise for case in cases]
    return Weights(families, beside, _descend(rows[0].shape[1], _slope(rows, right)), company)


def _slope(rows: Sequence[Rows], right: Sequence[int]) -> Callable[[Rows], Rows]:
    """Cross entropy of choosing the right row of each."""

    def slope(own: Rows) -> Rows:
        total = np.zeros_like(own)
        for row, at in zip(rows, right, strict=True):
            total += np.exp(log_softmax(row @ own)) @ row - row[at]
        return np.asarray(total / len(rows), dtype=np.float32)

    return slope


def _descend(size: int, slope: Callable[[Rows], Rows]) -> Rows:
    """Adam (Kingma and Ba 2015) with a rate that falls to nothing."""
    own, mean, square = np.zeros(size), np.zeros(size), np.zeros(size)
    for step in range(1, _STEPS + 1):
        change = slope(own.astype(np.float32)) + _DECAY * own
        mean = 0.9 * mean + 0.1 * change
        square = 0.999 * square + 0.001 * change**2
        rate = _RATE * (1 - (step - 1) / _STEPS)
        own = own - rate * (mean / (1 - 0.9**step)) / (np.sqrt(square / (1 - 0.999**step)) + 1e-8)
    return np.asarray(own, dtype=np.float32)
