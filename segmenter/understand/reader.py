"""Read each sentence in its surroundings: what it is for, what it belongs to, whether something new starts.

A small convolutional network over the sentences of a class (as the token layers of spaCy are over words),
trained by ``segmenter.understand.train`` on the text in ``models/training``. It sees the meaning of each
sentence, the cues and names in it, and the sound around it; and of every sentence a few on either side.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, get_args

import numpy as np
from numpy.typing import NDArray

from segmenter.lesson import Kind, Where
from segmenter.resources import shipped
from segmenter.understand.alike import FAMILIES, directions
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.evidence import Line
from segmenter.understand.reader_features import rows_of
from segmenter.understand.scripts import Role

if TYPE_CHECKING:
    from thinc.api import Model

Rows = NDArray[np.float32]
Subject = str
"""A family where an exercise is done, else a kind of chapter."""
_APART: tuple[Kind, ...] = ("opening", "talk", "quiz", "closing")
SUBJECTS: tuple[Subject, ...] = (*_APART, *FAMILIES)
Sign = Role | Where
"""What a sentence is for, or where the dose in it is to be done."""
ROLES: tuple[Sign, ...] = (*get_args(Role), *get_args(Where))
START = len(SUBJECTS)
"""Column of the log odds that a chapter starts."""
WIDTH = START + 1 + len(ROLES)
DEPTH = 3
_HIDDEN = 128


@dataclass(frozen=True)
class Readings:
    """What the reader makes of a class of n sentences.

    `meaning` (n, 384) is each sentence's direction; `subjects` (n, len(SUBJECTS)) log probabilities; `starts`
    (n,) log odds that a chapter starts with it; `roles` (n, len(ROLES)) probabilities.
    """

    meaning: Rows
    subjects: Rows
    starts: Rows
    roles: Rows

    def role(self, at: int, role: Sign) -> float:
        """Return how likely sentence `at` has a role, or asks for a dose in class or at home."""
        return float(self.roles[at, ROLES.index(role)])

    def all_of(self, role: Sign) -> Rows:
        """Return the same of all sentences, shape (n,)."""
        return self.roles[:, ROLES.index(role)]


def read(lines: Sequence[Line], catalogue: Catalogue) -> Readings:
    """Read the sentences of one class."""
    meaning, rows = rows_of(lines, catalogue, directions(catalogue))
    return readings_of(meaning, np.mean([model.predict([rows])[0] for model in _models()], axis=0))


def readings_of(meaning: Rows, out: Rows) -> Readings:
    """Turn what the network puts out, shape (n, WIDTH), into readings."""
    subjects = out[:, :START] - out[:, :START].max(axis=1, keepdims=True)
    subjects -= np.log(np.exp(subjects).sum(axis=1, keepdims=True))
    roles = np.asarray(1 / (1 + np.exp(-out[:, START + 1 :])), dtype=np.float32)
    return Readings(meaning, subjects, out[:, START], roles)


def network(dropout: float = 0.0) -> Model[Any, Any]:
    """Return the network, not trained: a list of (n, features) to a list of (n, WIDTH)."""
    from thinc.api import Dropout, Linear, Maxout, chain, expand_window, residual, with_array  # noqa: PLC0415

    def layer() -> Model[Any, Any]:
        return Maxout(_HIDDEN, nP=2, normalize=True, dropout=dropout)

    seen: Model[Any, Any] = chain(Dropout(dropout / 2), layer())
    for _ in range(DEPTH):
        seen = chain(seen, residual(chain(expand_window(1), layer())))
    return with_array(chain(seen, Linear(WIDTH)), pad=DEPTH)


@lru_cache(maxsize=1)
def _models() -> list[Model[Any, Any]]:
    return [network().from_disk(path) for path in sorted(shipped("reader").glob("reader-*.bin"))]
