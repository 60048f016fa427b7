"""Train what tells cautions by their words."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from segmenter.understand.caution_words import CautionWords, pieces
from segmenter.understand.reader import ROLES, Rows
from segmenter.understand.train_reader import Lesson

_EASE = 20.0
"""Inverse pull of the weights towards 0."""
_STEPS = 100
_LEAST_SEEN = 2
"""Sentences a word or a pair must stand in."""
_ROLE = ROLES.index("caution")


def fit_words(lessons: Sequence[Lesson]) -> CautionWords:
    """Fit a logistic regression to words and meanings; what the reader adds is not known yet."""
    from scipy import sparse  # noqa: PLC0415 - only training needs it
    from sklearn.feature_extraction.text import TfidfVectorizer  # noqa: PLC0415
    from sklearn.linear_model import LogisticRegression  # noqa: PLC0415

    texts = [line.sentence.text for lesson in lessons for line in lesson.example.lines]
    words = TfidfVectorizer(analyzer=pieces, min_df=_LEAST_SEEN, sublinear_tf=True)
    meaning = np.concatenate([lesson.meaning for lesson in lessons])
    table = sparse.hstack([words.fit_transform(texts), sparse.csr_matrix(meaning)]).tocsr()
    model = LogisticRegression(C=_EASE, max_iter=_STEPS).fit(table, truth_of(lessons))
    weights = np.append(model.coef_[0], model.intercept_).astype(np.float32)
    places = {word: int(at) for word, at in words.vocabulary_.items()}
    return CautionWords(places, words.idf_.astype(np.float32), weights, np.array([1.0, 0.0, 0.0], dtype=np.float32))


def fit_both(odds: Sequence[float], reader: Rows, truth: NDArray[np.bool_]) -> Rows:
    """Weigh words against the reader, by the log odds of both from what has not met the voice."""
    from sklearn.linear_model import LogisticRegression  # noqa: PLC0415

    model = LogisticRegression().fit(np.stack([np.array(odds), reader], axis=1), truth)
    return np.append(model.coef_[0], model.intercept_).astype(np.float32)


def odds_of(own: CautionWords, lesson: Lesson) -> list[float]:
    """Return what the words of each sentence say."""
    pairs = zip(lesson.example.lines, lesson.meaning, strict=True)
    return [own.by_words(line.sentence.text, meaning) for line, meaning in pairs]


def truth_of(lessons: Sequence[Lesson]) -> NDArray[np.bool_]:
    """Return which sentences are cautions."""
    return np.concatenate([lesson.example.roles[:, _ROLE] for lesson in lessons])
