"""Counting on a beat: numbers that were heard as other words, and what a second hearing says of them.

::

    heard       hold   tune   three   four
    expected           2                      the next is three, the one before is no number
    primed      hold   two    three   four    agrees with all that was sure: "two" it is
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from segmenter.intervals import Interval, length, overlap
from segmenter.lesson import Word

PROMPT = "In, two, three, four. Hold, two, three, four."
"""Leads an English recogniser to write numbers; what it answers is only believed where it fits (`settled`)."""

SHORT_MS = 900
BEAT_MS = (350, 4_000)
LEAST_BEATS = 4
UNEVEN = 1.6
"""How much longer one beat may be than the one before it (common practice, no source)."""
AGREED = 0.75
"""Share of the numbers known that a second hearing must repeat in their places to be believed."""
_WORDS = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty",
)  # fmt: skip


def number(text: str) -> int | None:
    """Return the number a word stands for, from 0 to 999 as figures and to twenty in letters.

    >>> number("Two."), number("12,"), number("tune")
    (2, 12, None)
    """
    bare = re.sub(r"[^\w]", "", text).lower()
    if bare.isdecimal() and len(bare) <= 3:
        return int(bare)
    return _WORDS.index(bare) if bare in _WORDS else None


def passages(talk: Sequence[Interval]) -> list[list[Interval]]:
    """Return runs of four or more short stretches of talk that start on an even beat.

    Parameters
    ----------
    talk : sequence of (int, int)
        Stretches of talk in order, ms.
    """
    found: list[list[Interval]] = []
    run: list[Interval] = []
    for stretch in talk:
        if length(stretch) > SHORT_MS:
            found.append(run)
            run = []
            continue
        if run and not _on_beat(run, stretch):
            found.append(run)
            run = run[-1:] if BEAT_MS[0] <= stretch[0] - run[-1][0] <= BEAT_MS[1] else []
        run = [*run, stretch]
    return [run for run in [*found, run] if len(run) >= LEAST_BEATS]


def _on_beat(run: Sequence[Interval], stretch: Interval) -> bool:
    beat = stretch[0] - run[-1][0]
    before = run[-1][0] - run[-2][0] if len(run) > 1 else beat
    return BEAT_MS[0] <= beat <= BEAT_MS[1] and max(beat, before) <= UNEVEN * min(beat, before)


def said(words: Sequence[Word], passage: Sequence[Interval]) -> list[list[Word]]:
    """Return the words on each beat of a passage."""
    return [
        [word for word in words if 2 * overlap(word.span, beat) > max(1, length(word.span))] for beat in passage
    ]


def _values(beats: Sequence[Sequence[Word]]) -> list[int | None]:
    return [number(words[0].text) if len(words) == 1 else None for words in beats]


def doubtful(beats: Sequence[Sequence[Word]]) -> dict[int, int]:
    """Return the beats on which one word that is no number stands where a number belongs, each with that number."""
    values = _values(beats)
    found = {}
    for at, words in enumerate(beats[:-1]):
        after = values[at + 1]
        if len(words) != 1 or values[at] is not None or after is None:
            continue
        before = values[at - 1] if at else None
        if after >= 3 and before in {None, after - 2}:
            found[at] = after - 1
        elif before == after + 2 and after - 1 in values[at + 2 : at + 3]:  # "four, hold, two, three" goes up
            found[at] = after + 1
    return found


def settled(
    beats: Sequence[Sequence[Word]], again: Sequence[Sequence[Word]], expected: Mapping[int, int]
) -> dict[int, Word]:
    """Return the words that a second hearing puts right, by beat; none when it contradicts what was known.

    Parameters
    ----------
    beats, again : sequence of sequences of Word
        The words on each beat, as first heard and as heard with `PROMPT`.
    expected : mapping of int to int
        What `doubtful` returned.
    """
    first, second = (
        [number(words[0].text) if len(words) == 1 else None for words in one] for one in (beats, again)
    )
    known = [at for at, value in enumerate(first) if value is not None]
    agreed = sum(second[at] == first[at] for at in known)
    if not known or agreed < AGREED * len(known):
        return {}
    right = {at: again[at][0] for at, value in expected.items() if second[at] == value}
    return {
        at: beats[at][0].model_copy(update={"text": word.text, "probability": word.probability})
        for at, word in right.items()
    }
