"""Words as numbers: each by how often it stands there and how rare it is (Salton and Buckley 1988)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

import numpy as np
from numpy.typing import NDArray


def word_weights(
    found: Iterable[str], places: Mapping[str, int], rarity: NDArray[np.float32]
) -> NDArray[np.float32]:
    """Return a row of length 1, shape (len(places),): the weight of each known word; all 0 where none is known.

    Parameters
    ----------
    found : iterable of str
        Words, as often as they stand there.
    places : mapping
        Column of each known word.
    rarity : array
        Inverse document frequency of each known word.
    """
    row = np.zeros(len(places), dtype=np.float32)
    for word, times in Counter(found).items():
        at = places.get(word)
        if at is not None:
            row[at] = (1 + np.log(times)) * rarity[at]
    return np.asarray(row / max(1e-9, float(np.linalg.norm(row))), dtype=np.float32)
