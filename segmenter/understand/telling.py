"""How much a stretch sounds like each exercise as people tell it, whether they name it or not.

A linear model over the words of a stretch, weighed by how rare they are, and over what its sentences mean on the
whole. Trained by ``segmenter.understand.train`` on exercises led in classes, on tellings of every exercise, and on
what the catalogue calls them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from segmenter.resources import shipped
from segmenter.understand.mentions import stems
from segmenter.understand.reader import Rows
from segmenter.understand.word_weights import word_weights

FIRST = 4
"""Sentences in which most speakers say what comes."""
_FIRST_SHARE = 0.7
"""What their meaning counts for beside that of the whole stretch."""
_FILE = "telling.npz"


@dataclass(frozen=True)
class Telling:
    """What was learned.

    `words` gives the place of each known stem, `rarity` (words,) its inverse document frequency, `weights`
    (words + 2 SIZE + 1, exercises) one column for each of `ids`, its last row the bias.
    """

    ids: tuple[str, ...]
    words: Mapping[str, int]
    rarity: Rows
    weights: Rows

    def sounds_like(self, texts: Iterable[str], meaning: Rows, ids: Sequence[str]) -> Rows:
        """Return the log probability that a stretch tells each exercise, shape (len(ids),).

        Parameters
        ----------
        texts : iterable of str
            Its sentences.
        meaning : Rows
            Their meanings, shape (sentences, SIZE).
        ids : sequence of str
            Exercises. One that was not learned, such as a clinic's own, is as likely as any before a word is said.
        """
        scores = row_of(stems_of(texts), meaning, self.words, self.rarity) @ self.weights
        scores -= scores.max()
        own = dict(zip(self.ids, scores - np.log(np.exp(scores).sum()), strict=True))
        return np.array([own.get(name, -np.log(len(self.ids))) for name in ids], dtype=np.float32)

    def keep(self, folder: Path) -> None:
        """Write what was learned, to be shipped."""
        np.savez_compressed(
            folder / _FILE,
            ids=list(self.ids),
            words=sorted(self.words, key=self.words.__getitem__),
            rarity=self.rarity,
            weights=self.weights.astype(np.float16),
        )


@lru_cache(maxsize=1)
def telling() -> Telling:
    """Return what ships."""
    with np.load(shipped("reader") / _FILE) as file:
        words = {word: at for at, word in enumerate(file["words"].tolist())}
        return Telling(tuple(file["ids"].tolist()), words, file["rarity"], file["weights"].astype(np.float32))


def stems_of(texts: Iterable[str]) -> list[str]:
    """Return the stems of all words that carry meaning."""
    return [stem for text in texts for stem in stems(text)]


def row_of(found: Iterable[str], meaning: Rows, words: Mapping[str, int], rarity: Rows) -> Rows:
    """Return one stretch as numbers: its words (length 1), what it means, what its start means, and a last 1."""
    start = _FIRST_SHARE * meaning[:FIRST].mean(axis=0)
    columns = [word_weights(found, words, rarity), meaning.mean(axis=0), start, [1.0]]
    return np.concatenate(columns, dtype=np.float32)
