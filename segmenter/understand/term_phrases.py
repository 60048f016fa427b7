"""The phrases of a catalogue, laid out so that those like what was heard are found fast."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from segmenter.understand.repair_words import split, word_set
from segmenter.understand.sounds_alike import distance, phones_of

if TYPE_CHECKING:
    from segmenter.understand.catalogue import Catalogue

LISTED = 0.6
"""A listed mis-hearing stands for the phrase it sounds most like, up to this distance."""
LEAST_PHONES = 7
"""Shorter phrases sound like too many others to be found by their sound alone."""
FUNCTION = word_set(
    "a an the your my our his her their its this that these those and or but so to of in on at for with from by "
    "as if is are was be it you i we he she they me us him them up down out off over then than not no do does "
    "did don't one two three four five six seven eight nine ten twelve twenty thirty left right both other each "
    "all just"
)
"""Words that carry no meaning of their own."""
FIXED = word_set(
    "zero one two three four five six seven eight nine ten eleven twelve fifteen twenty thirty forty fifty "
    "sixty left right up down in out upward downward upwards downwards forward backward forwards backwards "
    "inward outward not don't"
)
"""Words that say how much or which way: a sound alone never changes one into another."""
OPPOSITES = word_set(
    "adduction abduction inspiratory expiratory inspiration expiration inhale exhale flexion extension "
    "supination pronation elevation depression sit sitting stand standing"
)
"""Opposites that sound alike or stand side by side: what was heard stands."""
EPONYMS = frozenset({"brandt", "daroff", "masako", "mendelsohn", "shaker"})
"""Written with a capital."""
_SKELETON = str.maketrans("bdɡvzʒðθʃʤnŋ", "ptkfssttsʧmm")


@dataclass(frozen=True)
class Phrase:
    """One way an exercise is called."""

    tokens: tuple[str, ...]
    family: str

    @cached_property
    def sound(self) -> str:
        """Its phones."""
        return phones_of(self.tokens)


class Terms:
    """The phrases of a catalogue, laid out so that likely ones are found fast."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.phrases: dict[tuple[str, ...], Phrase] = {}
        self._misheard: dict[tuple[str, ...], tuple[str, ...]] = {}
        for exercise in catalogue.exercises:
            for text in (exercise.name, exercise.plain, *exercise.says):
                tokens = tuple(split(text))
                if tokens and tokens not in self.phrases:
                    self.phrases[tokens] = Phrase(tokens, exercise.family)
        self.vocabulary = {token for tokens in self.phrases for token in tokens}
        self._starting: dict[str, list[Phrase]] = defaultdict(list)
        self._ending: dict[str, list[Phrase]] = defaultdict(list)
        self._alone: dict[str, list[Phrase]] = defaultdict(list)
        self._sounding: dict[str, list[Phrase]] = defaultdict(list)
        for tokens, phrase in self.phrases.items():
            if len(tokens) > 1:
                self._starting[tokens[0]].append(phrase)
                self._ending[tokens[-1]].append(phrase)
            sound = phrase.sound
            if len(sound) >= LEAST_PHONES - 1:
                self._sounding[_skeleton(sound)].append(phrase)
            if len(tokens) <= 2 and all(len(token) > 4 for token in tokens):
                self._alone[sound[:1].translate(_SKELETON)].append(phrase)
        for exercise in catalogue.exercises:
            for text in exercise.misheard:
                self._misheard.setdefault(tuple(split(text)), (exercise.name, exercise.plain, *exercise.says))
        self.longest_listed = max((len(tokens) for tokens in self._misheard), default=0)

    def listed(self, heard: tuple[str, ...]) -> Phrase | None:
        """The phrase that a listed mis-hearing sounds most like; None if it is none, or like nothing."""
        texts = self._misheard.get(heard)
        if texts is None or heard in self.phrases:
            return None
        sound = phones_of(heard)
        best = min((tuple(split(text)) for text in texts), key=lambda tokens: distance(sound, phones_of(tokens)))
        return self.phrases[best] if distance(sound, phones_of(best)) <= LISTED else None

    def starting(self, token: str) -> list[Phrase]:
        """Phrases whose first word is `token`."""
        return self._starting.get(token, [])

    def ending(self, token: str) -> list[Phrase]:
        """Phrases whose last word is `token`."""
        return self._ending.get(token, [])

    def sounding(self, sound: str) -> list[Phrase]:
        """Phrases with the same consonants, more or less."""
        return self._sounding.get(_skeleton(sound), [])

    def alone(self, sound: str) -> list[Phrase]:
        """Distinctive short phrases that start with the same sound."""
        return self._alone.get(sound[:1].translate(_SKELETON), [])


def _skeleton(sound: str) -> str:
    return re.sub(r"[^ptkfsʧml]", "", sound.translate(_SKELETON))
