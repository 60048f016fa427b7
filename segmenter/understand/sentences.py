"""Words to sentences: by punctuation where the recogniser wrote it, by pauses where it did not."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from segmenter.lesson import Word

LONG_PAUSE_MS = 1_000
"""A silence after which a new sentence starts whatever the punctuation says."""
PAUSE_MS = 550
"""A silence that ends a sentence of some length that has no punctuation."""
SOME_LENGTH = 7
"""Words after which such a pause is enough."""
BREATH_MS = 150
"""A silence after which a capital letter starts a sentence: recognisers drop the full stop more often."""
THOUGHT_MS = 2_000
"""A silence after which an answer may come, and the next question in one breath with it."""
_QUESTION_WORDS = (
    "what what's which who who's whose where where's when why how can could do does did is are was were has have "
    "will would"
)
_QUESTION = frozenset(_QUESTION_WORDS.split())
_OPENERS = frozenset(["if", "when", "say", "now", "so", "right", "ok", "okay", "and", "then", "tell"])
"""With these a question of two clauses begins, not an answer."""


@dataclass(frozen=True)
class Sentence:
    """A run of words, ``words[first:last]`` of the whole class."""

    first: int
    last: int
    start_ms: int
    end_ms: int
    text: str


def split_sentences(words: Sequence[Word]) -> list[Sentence]:
    """Part `words` into sentences; every word is in exactly one of them, in order."""
    sentences: list[Sentence] = []
    first = 0
    for at, word in enumerate(words):
        following = words[at + 1] if at + 1 < len(words) else None
        if (
            following is not None
            and not _ends(words, first, at, following.start_ms - word.end_ms)
            and not _asks_on(words, first, at)
        ):
            continue
        run = words[first : at + 1]
        text = " ".join(w.text.strip() for w in run)
        sentences.append(Sentence(first, at + 1, run[0].start_ms, max(w.end_ms for w in run), text))
        first = at + 1
    return sentences


def _ends(words: Sequence[Word], first: int, at: int, pause_ms: int) -> bool:
    text, following = words[at].text, words[at + 1].text.lstrip("\"'(“‘")
    if text.rstrip("\"')”’").endswith((".", "?", "!", "…")) or pause_ms >= LONG_PAUSE_MS:
        return True
    if following[:1].isupper() and following[1:2].islower() and pause_ms >= BREATH_MS:
        return True
    return at - first + 1 >= SOME_LENGTH and pause_ms >= PAUSE_MS


def _asks_on(words: Sequence[Word], first: int, at: int) -> bool:
    """Whether an answer ends here with a comma and the next question follows: "Brown, and what street was it?"."""
    if (
        not words[at].text.endswith(",")
        or not first
        or words[first].start_ms - words[first - 1].end_ms < THOUGHT_MS
    ):
        return False
    if _bare(words[first]) in _OPENERS:
        return False
    following = [_bare(word) for word in words[at + 1 : at + 3]]
    if following[:1] == ["and"]:
        following = following[1:]
    ends = next((w.text for w in words[at + 1 :] if w.text.endswith((".", "?", "!", ","))), "")
    return bool(following) and following[0] in _QUESTION and ends.endswith("?")


def _bare(word: Word) -> str:
    return word.text.strip("\"'“‘(.,?!…").lower().replace("’", "'")
