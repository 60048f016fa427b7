"""What the other exercises of a class say about the family of one: a class keeps to a few families.

Learned from classes whose families are known (``segmenter.understand.train``).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from segmenter.understand.alike import FAMILIES
from segmenter.understand.reader import Rows

_SMOOTH = 3.0
"""Exercises that each family is thought to have kept company with before any is seen."""


@dataclass(frozen=True)
class Company:
    """How families come together.

    `usual` (families,) gives how often each family is met; `together` (families, families) how likely, in a class
    with one of the first family, another exercise is of the second; `following` the same of the next exercise.
    """

    usual: Rows
    together: Rows
    following: Rows


def company_of(classes: Iterable[Sequence[int]]) -> Company:
    """Learn from the families of the exercises of classes, as places in `FAMILIES`, each class in order."""
    count = len(FAMILIES)
    usual, together, following = np.ones(count), np.zeros((count, count)), np.zeros((count, count))
    for own in classes:
        np.add.at(usual, list(own), 1.0)
        for at, family in enumerate(own):
            rest = [*own[:at], *own[at + 1 :]]
            np.add.at(together[family], rest, 1 / max(1, len(rest)))
        for one, other in pairwise(own):
            following[one, other] += 1
    usual /= usual.sum()
    return Company(usual.astype(np.float32), _shares(together, usual), _shares(following, usual))


def _shares(counts: NDArray[np.float64], usual: NDArray[np.float64]) -> Rows:
    shares = (counts + _SMOOTH * usual) / (counts.sum(axis=1, keepdims=True) + _SMOOTH)
    return np.asarray(shares, dtype=np.float32)


def company_features(scores: Sequence[Rows], company: Company) -> list[Rows]:
    """Return, for every exercise of a class, one row a family: itself, and what its company says for it.

    Parameters
    ----------
    scores : sequence of Rows
        Of each exercise in order, the log probability of every family by itself, shape (families,).
    company : Company
        What was learned.
    """
    shares = [np.exp(score) for score in scores]
    backward = company.following * company.usual[:, None]
    backward = (backward / backward.sum(axis=0)).T
    rows = []
    for at, score in enumerate(scores):
        rest = [*shares[:at], *shares[at + 1 :]]
        around = np.mean(rest, axis=0) @ company.together if rest else company.usual
        before = shares[at - 1] @ company.following if at else company.usual
        after = shares[at + 1] @ backward if at + 1 < len(shares) else company.usual
        rows.append(np.stack([score, *map(np.log, (around, before, after))], axis=1).astype(np.float32))
    return rows
