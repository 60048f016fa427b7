"""Train what tells exercises by the way they are told."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from segmenter.understand.catalogue import Catalogue
from segmenter.understand.encoder import encode
from segmenter.understand.reader import Rows
from segmenter.understand.scripts import Opens, Said, Script
from segmenter.understand.telling import Telling, row_of, stems_of
from segmenter.understand.train_naming import Case

_EASE = 100.0
"""Inverse pull of the weights towards 0."""
_STEPS = 150
_LEAST_SEEN = 2
"""Stretches a word must stand in."""


@dataclass(frozen=True)
class Told:
    """One exercise as somebody tells it: its stems, and the meaning of its sentences."""

    exercise: str
    stems: list[str]
    meaning: Rows


def told_in_cases(cases: Iterable[Case], ids: Sequence[str]) -> list[Told]:
    """Return the exercises of classes that the catalogue knows."""
    return [
        Told(ids[case.exercise], stems_of(case.texts), case.meaning) for case in cases if case.exercise is not None
    ]


def told_alone(scripts: Iterable[Script]) -> list[Told]:
    """Return the tellings of single exercises."""
    told: list[tuple[str, list[str]]] = []
    for script in scripts:
        for item in script.items:
            if isinstance(item, Opens):
                told.append((item.exercise or "", []))
            elif isinstance(item, Said) and told:
                told[-1][1].append(item.text)
    return [_told(exercise, texts) for exercise, texts in told if exercise and texts]


def told_by_name(catalogue: Catalogue) -> list[Told]:
    """Return what the catalogue calls each exercise, as a telling."""
    return [_told(e.id, [e.name, e.plain, *e.says]) for e in catalogue.exercises]


def fit_telling(told: Sequence[Told]) -> Telling:
    """Fit a multinomial logistic regression; the same tellings give the same weights on one machine."""
    from sklearn.feature_extraction.text import TfidfVectorizer  # noqa: PLC0415 - only training needs it
    from sklearn.linear_model import LogisticRegression  # noqa: PLC0415

    words = TfidfVectorizer(analyzer=list, min_df=_LEAST_SEEN).fit([one.stems for one in told])
    places = {word: int(at) for word, at in words.vocabulary_.items()}
    rarity = words.idf_.astype(np.float32)
    rows = np.stack([row_of(one.stems, one.meaning, places, rarity)[:-1] for one in told])
    model = LogisticRegression(C=_EASE, max_iter=_STEPS).fit(rows, [one.exercise for one in told])
    weights = np.concatenate([model.coef_.T, model.intercept_[None]]).astype(np.float32)
    return Telling(tuple(model.classes_.tolist()), places, rarity, weights)


def _told(exercise: str, texts: list[str]) -> Told:
    return Told(exercise, stems_of(texts), encode(texts))
