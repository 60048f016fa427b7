"""How much a sentence sounds like each exercise of the catalogue, named or not.

Each exercise is a direction in the space of the sentence encoder: the mean of its names and sayings, and of
the tellings of it in ``models/training/tellings``. What ships is computed once
(``python -m segmenter.understand.train``); an exercise that a clinic added or changed is encoded when it is
first needed.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from segmenter.lesson import Family
from segmenter.resources import shipped
from segmenter.understand.catalogue import Catalogue, Exercise
from segmenter.understand.encoder import SIZE, encode

FAMILIES: tuple[Family, ...] = get_args(Family)
_FILE = "exercises.npz"

Rows = NDArray[np.float32]


@dataclass(frozen=True)
class Directions:
    """One row of length 1 an exercise; `families` gives the place of each exercise's family in `FAMILIES`."""

    ids: tuple[str, ...]
    families: NDArray[np.int64]
    rows: Rows

    def exercises(self, sentences: Rows) -> Rows:
        """Return how alike each sentence and each exercise are, shape (sentences, exercises), -1 to 1."""
        return sentences @ self.rows.T

    def per_family(self, sentences: Rows) -> Rows:
        """Return how alike each sentence and the nearest exercise of each family are."""
        alike = self.exercises(sentences)
        nearest = np.full((len(sentences), len(FAMILIES)), -1.0, dtype=np.float32)
        np.maximum.at(nearest.T, self.families, alike.T)
        return nearest


def directions(catalogue: Catalogue) -> Directions:
    """Return the directions of all exercises of `catalogue`."""
    for known, result in _made:
        if known is catalogue:
            return result
    kept = _kept(shipped("reader") / _FILE)
    fresh = [exercise for exercise in catalogue.exercises if _key(exercise) not in kept]
    kept |= dict(zip(map(_key, fresh), centres(fresh, {}), strict=True))
    result = _directions(catalogue.exercises, np.array([kept[_key(exercise)] for exercise in catalogue.exercises]))
    _made.append((catalogue, result))
    del _made[:-4]
    return result


_made: list[tuple[Catalogue, Directions]] = []


def centres(exercises: Sequence[Exercise], tellings: Mapping[str, Sequence[str]]) -> Rows:
    """Return one row an exercise: the mean of what it is called and of the sentences that tell it."""
    phrases = [list(dict.fromkeys((e.name, e.plain, *e.says))) for e in exercises]
    told = [list(tellings.get(e.id, ())) for e in exercises]
    every = list(dict.fromkeys(text for texts in (*phrases, *told) for text in texts))
    place = {text: at for at, text in enumerate(every)}
    rows = encode(every)
    centred = np.zeros((len(exercises), SIZE), dtype=np.float32)
    for at, (names, sentences) in enumerate(zip(phrases, told, strict=True)):
        for texts in (names, sentences):
            if texts:
                mean = rows[[place[text] for text in texts]].mean(axis=0)
                centred[at] += mean / np.linalg.norm(mean)
    lengths = np.linalg.norm(centred, axis=1, keepdims=True)
    return np.asarray(centred / np.maximum(lengths, 1e-9), dtype=np.float32)


def keep(folder: Path, exercises: Sequence[Exercise], rows: Rows) -> None:
    """Write the rows of `exercises` to be shipped."""
    np.savez_compressed(folder / _FILE, keys=[_key(e) for e in exercises], rows=rows.astype(np.float16))


def _directions(exercises: Sequence[Exercise], rows: Rows) -> Directions:
    places = np.array([FAMILIES.index(e.family) for e in exercises], dtype=np.int64)
    return Directions(tuple(e.id for e in exercises), places, rows.astype(np.float32))


def _kept(path: Path) -> dict[str, Rows]:
    with np.load(path) as file:
        return dict(zip(file["keys"].tolist(), file["rows"].astype(np.float32), strict=True))


def _key(exercise: Exercise) -> str:
    """Tell an exercise by all that its direction depends on."""
    text = "\n".join((exercise.id, exercise.name, exercise.plain, *exercise.says))
    return hashlib.sha256(text.encode()).hexdigest()[:16]
