"""Train the reader: from examples to weights."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from segmenter.understand.alike import Directions
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.examples import Example
from segmenter.understand.reader import START, WIDTH, network
from segmenter.understand.reader_features import rows_of

if TYPE_CHECKING:
    from thinc.api import Model

Rows = NDArray[np.float32]
EPOCHS = 40
_DROPOUT = 0.35
_RATE = 0.002
_BATCH = 4
_LINES = 64
"""Lines a gradient is divided by, about those of one class."""
_START_WEIGHT, _ROLE_WEIGHT = 2.0, 0.5


@dataclass(frozen=True)
class Lesson:
    """An example as numbers: what the network sees, and the truth."""

    example: Example
    meaning: Rows
    rows: Rows


def lesson_of(example: Example, catalogue: Catalogue, known: Directions) -> Lesson:
    """Turn an example into numbers."""
    return Lesson(example, *rows_of(example.lines, catalogue, known))


def fit(lessons: Sequence[Lesson], seed: int, epochs: int = EPOCHS) -> Model[Any, Any]:
    """Train a network; the same lessons and seed give the same weights on one machine."""
    from thinc.api import Adam, fix_random_seed  # noqa: PLC0415

    fix_random_seed(seed)
    chance = np.random.default_rng(seed)
    model = network(_DROPOUT)
    model.initialize(X=[lessons[0].rows], Y=[np.zeros((len(lessons[0].rows), WIDTH), dtype=np.float32)])
    optimizer: Any = Adam(_RATE, L2=1e-4)
    order = np.arange(len(lessons))
    for epoch in range(epochs):
        optimizer.learn_rate = _RATE * (1 - epoch / epochs) + 1e-5
        chance.shuffle(order)
        for first in range(0, len(order), _BATCH):
            batch = [lessons[at] for at in order[first : first + _BATCH]]
            out, backprop = model.begin_update([lesson.rows for lesson in batch])
            backprop([_gradient(y, lesson.example) for y, lesson in zip(out, batch, strict=True)])
            model.finish_update(optimizer)
    return model


def _gradient(out: Rows, truth: Example) -> Rows:
    """Cross entropy of subject, start and roles."""
    gradient = np.zeros_like(out)
    odds = np.exp(out[:, :START] - out[:, :START].max(axis=1, keepdims=True))
    gradient[:, :START] = odds / odds.sum(axis=1, keepdims=True)
    gradient[np.arange(len(out)), truth.subjects] -= 1
    gradient[:, START] = _START_WEIGHT * (_sigmoid(out[:, START]) - truth.starts)
    gradient[:, START + 1 :] = _ROLE_WEIGHT * (_sigmoid(out[:, START + 1 :]) - truth.roles)
    return np.asarray(gradient / _LINES, dtype=np.float32)


def _sigmoid(values: Rows) -> Rows:
    return np.asarray(1 / (1 + np.exp(-np.clip(values, -30, 30))), dtype=np.float32)
