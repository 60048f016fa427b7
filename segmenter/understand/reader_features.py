"""What the reader looks at: one row of numbers a sentence."""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args

import numpy as np
from numpy.typing import NDArray

from segmenter.understand.alike import FAMILIES, Directions
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.cues import Cue
from segmenter.understand.encoder import encode
from segmenter.understand.evidence import Line

CUES: tuple[Cue, ...] = get_args(Cue)
_STRONG = 5.0
"""Scale of directions: their numbers are small, and should weigh like the other features."""
PLACES = 4
"""Last columns, which tell how far a sentence is from the start and the end."""

Rows = NDArray[np.float32]


def rows_of(lines: Sequence[Line], catalogue: Catalogue, known: Directions) -> tuple[Rows, Rows]:
    """Return the meaning of each sentence, shape (n, SIZE), and all features, shape (n, width)."""
    meaning = encode([line.sentence.text for line in lines])
    signs = np.array([_signs(line, catalogue) for line in lines], dtype=np.float32)
    after = np.arange(len(lines), dtype=np.float32)
    before = after[::-1]
    place = np.exp(-np.stack([after / 3, before / 3, after / 10, before / 10], axis=1))
    columns = [meaning * _STRONG, known.per_family(meaning) * _STRONG, signs, place]
    return meaning, np.concatenate(columns, axis=1, dtype=np.float32)


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
