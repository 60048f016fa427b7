"""Train the naming of stretches: from stretches of known truth to weights."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from segmenter.understand.alike import FAMILIES, Directions
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.naming import Weights, exercise_features, family_features, log_softmax
from segmenter.understand.reader import Readings, Rows
from segmenter.understand.train_reader import Lesson

_STEPS = 600
_RATE = 0.02
_DECAY = 2e-3
"""Pull of the family weights towards 0; without it they learn the classes by heart."""


@dataclass(frozen=True)
class Case:
    """One exercise of one class as the naming sees it, and the truth; the catalogue may lack it (None)."""

    lesson: Lesson
    readings: Readings
    first: int
    last: int
    family: int
    exercise: int | None


def cases_of(lesson: Lesson, readings: Readings, known: Directions) -> list[Case]:
    """Return the exercises of a class."""
    cases: list[Case] = []
    chapters = lesson.example.chapters
    for number in sorted(set(chapters.tolist())):
        opens = lesson.example.truth.chapters[number].opens
        places = np.flatnonzero(chapters == number)
        if opens.kind == "exercise" and opens.family is not None:
            exercise = known.ids.index(opens.exercise) if opens.exercise in known.ids else None
            family = FAMILIES.index(opens.family)
            cases.append(Case(lesson, readings, int(places[0]), int(places[-1]) + 1, family, exercise))
    return cases


def fit_naming(cases: Sequence[Case], catalogue: Catalogue, known: Directions, seed: int = 0) -> Weights:
    """Train both models; the same cases give the same weights on one machine."""
    chance = np.random.default_rng(seed)
    seen = np.stack([_family_row(case, catalogue, known) for case in cases])
    truth = np.array([case.family for case in cases])
    families = _descend(
        np.zeros((seen.shape[1], len(FAMILIES)), dtype=np.float32), _family_slope(seen, truth, chance), _DECAY
    )
    rows: list[Rows] = []
    for case, row in zip(cases, seen, strict=True):
        scores = log_softmax(row @ families)
        rows.append(
            exercise_features(
                case.first, case.last, scores, case.readings, case.lesson.example.lines, catalogue, known
            )
        )
    right = [len(known.ids) if case.exercise is None else case.exercise for case in cases]
    exercises = _descend(np.zeros(rows[0].shape[1], dtype=np.float32), _exercise_slope(rows, right), 1e-4)
    return Weights(families, exercises)


def _family_row(case: Case, catalogue: Catalogue, known: Directions) -> Rows:
    return family_features(case.first, case.last, case.readings, case.lesson.example.lines, catalogue, known)


def _family_slope(seen: Rows, truth: np.ndarray, chance: np.random.Generator) -> Callable[[Rows], Rows]:
    def slope(own: Rows) -> Rows:
        kept = seen * (chance.random(seen.shape) > 0.3) / 0.7  # as dropout: no feature alone may decide
        odds = _softmax(np.asarray(kept @ own, dtype=np.float32))
        odds[np.arange(len(truth)), truth] -= 1
        return np.asarray(kept.T @ odds / len(truth), dtype=np.float32)

    return slope


def _softmax(scores: Rows) -> Rows:
    odds = np.exp(scores - scores.max(axis=1, keepdims=True))
    return np.asarray(odds / odds.sum(axis=1, keepdims=True), dtype=np.float32)


def _exercise_slope(rows: Sequence[Rows], right: Sequence[int]) -> Callable[[Rows], Rows]:
    def slope(own: Rows) -> Rows:
        total = np.zeros_like(own)
        for row, at in zip(rows, right, strict=True):
            total += np.exp(log_softmax(row @ own)) @ row - row[at]
        return np.asarray(total / len(rows), dtype=np.float32)

    return slope


def _descend(start: Rows, slope: Callable[[Rows], Rows], decay: float) -> Rows:
    """Adam (Kingma and Ba 2015) with a rate that falls to nothing."""
    own, mean, square = (np.array(values, dtype=np.float64) for values in (start, 0 * start, 0 * start))
    for step in range(1, _STEPS + 1):
        change = slope(own.astype(np.float32)) + decay * own
        mean = 0.9 * mean + 0.1 * change
        square = 0.999 * square + 0.001 * change**2
        rate = _RATE * (1 - (step - 1) / _STEPS)
        own = own - rate * (mean / (1 - 0.9**step)) / (np.sqrt(square / (1 - 0.999**step)) + 1e-8)
    return np.asarray(own, dtype=np.float32)
