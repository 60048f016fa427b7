"""What the reader looks at: one row of numbers a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from segmenter.understand.alike import FAMILIES, Directions
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.cues import Cue
from segmenter.understand.encoder import SIZE, encode
from segmenter.understand.evidence import Line

CUES: tuple[Cue, ...] = get_args(Cue)
_STRONG = 5.0
"""Scale of directions: their numbers are small, and should weigh like the other features."""
_REACHES = (2, 4, 8)
"""Sentences before and after that are compared."""
_SHARP = 15.0
"""How much more the exercise that sounds most alike counts than the next."""
_RECENT = 12
"""Sentences before in which a name is still fresh in mind."""
ENCODED = SIZE + len(FAMILIES) + 3 * len(_REACHES)
"""First columns, which come from the sentence encoder."""
PLACES = 4
"""Last columns, which tell how far a sentence is from the start and the end."""

Rows = NDArray[np.float32]


def rows_of(lines: Sequence[Line], catalogue: Catalogue, known: Directions) -> tuple[Rows, Rows]:
    """Return the meaning of each sentence, shape (n, SIZE), and all features, shape (n, width)."""
    meaning = encode([line.sentence.text for line in lines])
    return meaning, features_of(meaning, lines, catalogue, known)


def features_of(meaning: Rows, lines: Sequence[Line], catalogue: Catalogue, known: Directions) -> Rows:
    """Return all features of sentences whose meaning is known."""
    signs = np.array([_signs(line, catalogue) for line in lines], dtype=np.float32)
    after = np.arange(len(lines), dtype=np.float32)
    before = after[::-1]
    place = np.exp(-np.stack([after / 3, before / 3, after / 10, before / 10], axis=1))
    alike = known.exercises(meaning)
    changes = [_changes(meaning, alike, reach) for reach in _REACHES]
    columns = [meaning * _STRONG, known.per_family(meaning) * _STRONG, *changes, freshly_named(lines), signs, place]
    return np.concatenate(columns, axis=1, dtype=np.float32)


def _changes(meaning: Rows, alike: Rows, reach: int) -> Rows:
    """How alike what is said before and from each sentence on is, in meaning and in the exercise it sounds like.

    The first is the measure of TextTiling (Hearst 1997), over meanings instead of words.
    """
    count = len(meaning)
    rows = np.ones((count, 3), dtype=np.float32)
    for at in range(1, count):
        before, after = slice(max(0, at - reach), at), slice(at, at + reach)
        rows[at, 0] = _cosine(meaning[before].mean(axis=0), meaning[after].mean(axis=0))
        one, other = (_softmax(_SHARP * alike[part].mean(axis=0)) for part in (before, after))
        rows[at, 1] = _cosine(one, other)
        rows[at, 2] = np.sqrt(one * other).sum()
    return rows * 2


def freshly_named(lines: Sequence[Line]) -> Rows:
    """How strongly exercises are named that were not named just before; in this sentence, and in the next few."""
    rows = np.zeros((len(lines), 3), dtype=np.float32)
    for at in range(len(lines)):
        before = _strongest(lines[max(0, at - _RECENT) : at])
        for column, ahead in enumerate((1, 3, 6)):
            named = _strongest(lines[at : at + ahead])
            rows[at, column] = max((s - before.get(name, 0.0) for name, s in named.items()), default=0.0)
    return rows


def _strongest(lines: Sequence[Line]) -> dict[str, float]:
    found: dict[str, float] = {}
    for line in lines:
        for name, strength in line.named.items():
            found[name] = max(found.get(name, 0.0), strength)
    return found


def _cosine(one: Rows, other: Rows) -> float:
    return float(one @ other / max(1e-9, float(np.linalg.norm(one) * np.linalg.norm(other))))


def _softmax(scores: Rows) -> Rows:
    odds = np.exp(scores - scores.max())
    return np.asarray(odds / odds.sum(), dtype=np.float32)


def _signs(line: Line, catalogue: Catalogue) -> list[float]:
    sentence = line.sentence
    named = dict.fromkeys(FAMILIES, 0.0)
    for name, strength in line.named.items():
        family = catalogue.by_id(name).family
        named[family] = max(named[family], strength)
    return [
        *(line.cues.get(cue, 0.0) for cue in CUES),
        *(line.families.get(family, 0.0) for family in FAMILIES),
        *named.values(),
        max(line.named.values(), default=0.0),
        min(2.0, line.efforts),
        float(line.counted),
        float(line.class_ask),
        float(line.home_ask),
        float(line.prompt),
        float(line.returned),
        float(line.waiting),
        float(line.answers),
        float(np.log1p(line.pause_before_ms / 300)),
        min(3.0, (line.until_ms - sentence.end_ms) / 3000),
        (sentence.last - sentence.first) / 15,
    ]
