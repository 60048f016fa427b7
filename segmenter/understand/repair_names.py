"""Names that were written in two ways: a suggestion, never a change."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Sequence
from itertools import combinations, pairwise

from segmenter.lesson import Check, Word
from segmenter.understand.repair_words import ends_sentence
from segmenter.understand.sounds_alike import distance, known, phones

ALIKE = 0.14
"""Names this near in sound may be one name."""


def names_alike(words: Sequence[Word]) -> list[Check]:
    """Return a note for every two spellings that may be one person's name, at the rarer one.

    A name is a word with a capital in mid-sentence that is no English word.
    """
    places: dict[str, list[Word]] = defaultdict(list)
    for before, word in pairwise(words):
        name = re.sub(r"(?:'s|’s)?\W*$", "", word.text.strip("\"'“”‘’("))
        capital = name[:1].isupper() and name[1:].islower() and len(name) > 3
        if capital and not ends_sentence(before.text) and not known(name.lower()):
            places[name].append(word)
    checks: list[Check] = []
    for one, other in combinations(sorted(places, key=lambda name: (len(places[name]), name)), 2):
        if distance(phones(one), phones(other)) <= ALIKE:
            first = places[one][0]
            checks.append(
                Check(
                    code="name-written-two-ways",
                    level="note",
                    message=f"“{one}” and “{other}” sound alike. If they are one name, choose one spelling.",
                    start_ms=first.start_ms,
                    end_ms=first.end_ms,
                )
            )
    return checks
