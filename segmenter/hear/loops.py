"""Notice where a recogniser made up words: one phrase written over and over, or words with no time to say them."""

from __future__ import annotations

import re
import zlib
from collections.abc import Sequence

from segmenter.hear.recogniser import RecognisedWord
from segmenter.lesson import Word

_TIMES = 3
_COMPRESSION = 2.4
_LONGEST = 8  # words of a phrase
_NO_TIME_S = 0.03  # nobody says a word in this; recognisers give it to words for which there is no sound


def plain(text: str) -> str:
    """Return a word without signs, in small letters."""
    return re.sub(r"[^\w']", "", text).lower()


def _repeats(words: Sequence[str]) -> tuple[int, int, int]:
    """Times, first index and phrase length of the phrase that is most often repeated on end."""
    best = (1, 0, 1)
    for size in range(1, _LONGEST + 1):
        run = 0
        for i in range(size, len(words)):
            run = run + 1 if words[i] == words[i - size] else 0
            times = run // size + 1
            if times > best[0]:
                best = (times, i - run - size + 1, size)
    return best


def stuck(texts: Sequence[str]) -> bool:
    """Whether the words (with their leading spaces) say one phrase over and over, and pack too well for talk."""
    times, _, size = _repeats([plain(text) for text in texts])
    text = "".join(texts).encode()
    packed = len(text) / max(1, len(zlib.compress(text)))
    return times > _TIMES and times * size >= 8 and packed > _COMPRESSION


def said_once(words: Sequence[Word]) -> list[Word]:
    """Return the words with the most repeated phrase kept once."""
    times, first, size = _repeats([plain(word.text) for word in words])
    return [*words[: first + size], *words[first + times * size :]]


def unsaid(words: Sequence[RecognisedWord]) -> list[RecognisedWord]:
    """Return the words, three or more on end, that were given no time to be said.

    >>> count = [RecognisedWord(f" {n}", n if n < 3 else 3.0, n + 0.4 if n < 3 else 3.01, 0.9) for n in range(1, 7)]
    >>> [word.text for word in unsaid(count)]
    [' 3', ' 4', ' 5', ' 6']
    """
    found: list[RecognisedWord] = []
    run: list[RecognisedWord] = []
    for word in [*words, None]:
        if word is not None and word.end_s - word.start_s <= _NO_TIME_S:
            run.append(word)
            continue
        found += run if len(run) >= _TIMES else []
        run = []
    return found
