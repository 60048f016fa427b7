"""How likely a sentence is a caution: by its own words, and by what the reader makes of it in its place.

Both are needed: the reader knows meanings and surroundings but no words, and much of a caution is in small words
("unless", "never", "the moment you"). Trained by ``segmenter.understand.train``.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import numpy as np

from segmenter.resources import shipped
from segmenter.understand.reader import ROLES, Readings, Rows
from segmenter.understand.word_weights import word_weights

CAUTION = 0.12
"""How likely a sentence must be a caution to be kept as one: rather one too many."""
CAUTION_BY_WORD = 0.04
"""The same where some of its words are those of cautions."""
_HELD = r"(?:on ?to |hold of )?(?:the|that|your|a) (?:\w+ )?" + (
    r"(?:chairs?|counter|worktop|table|wall|rail|frame|sink|banister|bed)"
)
_SAFELY = re.compile(
    rf"\b(?:hold(?:ing)?|grab(?:bing)?|grip(?:ping)?|reach(?:ing)? for|touch(?:ing)?) {_HELD}\b"
    rf"|\b(?:hands?|fingers?|fingertips?) on {_HELD}\b"
    r"|\b(?:rise|(?:get|stand|sit|come) up|roll over|turn round|lie down) (?:very |nice and )?slowly\b"
    r"|\bslowly (?:rise|stand|(?:get|sit|come) up)\b"
    r"|\btake your time\b.*\b(?:before|when|as|to) you (?:rise|(?:sit|get|stand|come) up)\b"
    r"|\bkeep breathing\b|\b(?:do not|don't|never) (?:force|hold) \w+"
)
"""What people say who keep others from falling, from getting up too fast, from forcing anything."""
_FILE = "cautions.npz"
_TOKEN = re.compile(r"[a-z0-9']+")
_LEAST = 1e-5


@dataclass(frozen=True)
class CautionWords:
    """What was learned.

    `words` gives the place of each known word or pair of words, `rarity` (words,) its inverse document frequency,
    `weights` (words + SIZE + 1,) what each and the meaning say for a caution, the last the bias; `both` (3,) what
    that and the reader's log odds count for, the last the bias.
    """

    words: Mapping[str, int]
    rarity: Rows
    weights: Rows
    both: Rows

    def by_words(self, text: str, meaning: Rows) -> float:
        """Return the log odds that a sentence is a caution, by its words and its meaning, shape (SIZE,)."""
        return float(row_of(pieces(text), meaning, self.words, self.rarity) @ self.weights)

    def chances(self, texts: Sequence[str], readings: Readings) -> Rows:
        """Return how likely each sentence of a class is a caution, shape (n,)."""
        if not texts:
            return np.zeros(0, dtype=np.float32)
        odds = [self.by_words(text, meaning) for text, meaning in zip(texts, readings.meaning, strict=True)]
        return chances_of(odds, reader_odds(readings), self.both)

    def read_again(self, readings: Readings, texts: Sequence[str]) -> Readings:
        """Return the readings with these chances instead of the reader's own."""
        roles = readings.roles.copy()
        roles[:, ROLES.index("caution")] = self.chances(texts, readings)
        return replace(readings, roles=roles)

    def keep(self, folder: Path) -> None:
        """Write what was learned, to be shipped."""
        words = sorted(self.words, key=self.words.__getitem__)
        halves = self.rarity.astype(np.float16), self.weights.astype(np.float16)
        np.savez_compressed(folder / _FILE, words=words, rarity=halves[0], weights=halves[1], both=self.both)


@lru_cache(maxsize=1)
def caution_words() -> CautionWords:
    """Return what ships."""
    with np.load(shipped("reader") / _FILE) as file:
        words = {word: at for at, word in enumerate(file["words"].tolist())}
        rarity, weights = (file[name].astype(np.float32) for name in ("rarity", "weights"))
        return CautionWords(words, rarity, weights, file["both"])


def is_caution(chance: float, text: str, cued: float) -> bool:
    """Tell whether a sentence is kept as a caution.

    Parameters
    ----------
    chance : float
        How likely it is one.
    text : str
        The sentence.
    cued : float
        How much of a caution its words are by ``cues``.
    """
    by_word = cued > 0 or bool(_SAFELY.search(text.lower().replace("’", "'")))
    return chance >= (CAUTION_BY_WORD if by_word else CAUTION)


def chances_of(words: Sequence[float], reader: Rows, both: Rows) -> Rows:
    """Return chances from the log odds of words and of the reader, each of shape (n,), and what they count for."""
    odds = np.stack([np.asarray(words), reader, np.ones(len(reader))], axis=1) @ both
    return np.asarray(1 / (1 + np.exp(-odds)), dtype=np.float32)


def pieces(text: str) -> list[str]:
    """Return the words of a sentence and its pairs of neighbours.

    >>> pieces("Don't push.")
    ["don't", 'push', "don't push"]
    """
    words = _TOKEN.findall(text.lower().replace("’", "'"))
    return [*words, *map(" ".join, pairwise(words))]


def row_of(found: Sequence[str], meaning: Rows, words: Mapping[str, int], rarity: Rows) -> Rows:
    """Return a sentence as numbers: its words (length 1), its meaning, and a last 1."""
    return np.concatenate([word_weights(found, words, rarity), meaning, [1.0]], dtype=np.float32)


def reader_odds(readings: Readings) -> Rows:
    """Return the reader's log odds that each sentence is a caution, shape (n,)."""
    chance = np.clip(readings.all_of("caution"), _LEAST, 1 - _LEAST)
    return np.asarray(np.log(chance / (1 - chance)), dtype=np.float32)
