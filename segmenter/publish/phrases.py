"""Where a run of spoken words may be parted: into cues, and a cue into lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from segmenter.lesson import Word

LINE = 37
"""Characters a line (BBC Subtitle Guidelines, about 68 % of a 16:9 picture; from memory)."""
LINES = 2
"""Lines a cue (DCMP Captioning Key, placement; BBC)."""
_WEAK_WORDS = """
    a an the and or but so because if when while that than of to in on at for with from by as into your my our
    his her their its this these is are was were be been am do does did have has had will would can could should
    may might must not i'm you're we're it's let's i'll you'll we'll don't mr mrs ms dr
"""
_WEAK = frozenset(_WEAK_WORDS.split())


@dataclass(frozen=True)
class Token:
    """One piece of text without blanks, and when it is spoken."""

    text: str
    start_ms: int
    end_ms: int

    @property
    def ends_sentence(self) -> bool:
        """Whether a sentence ends here."""
        return self.text.rstrip("\"')]”’").endswith((".", "?", "!", "…"))


def tokens_of(words: Sequence[Word]) -> list[Token]:
    """Return the words in order of time; one that holds blanks becomes several, sharing its time by length."""
    found: list[Token] = []
    for word in sorted(words, key=lambda w: (w.start_ms, w.end_ms)):
        pieces = word.text.split()
        letters = sum(map(len, pieces))
        at = 0
        for piece in pieces:
            span = word.end_ms - word.start_ms
            start = word.start_ms + span * at // letters
            at += len(piece)
            found.append(Token(piece, start, word.start_ms + span * at // letters))
    return found


def break_cost(token: Token, pause_ms: int) -> float:
    """How bad it is to part after `token`: 0 after a sentence, high inside a phrase.

    Parts where speech pauses; keeps modifier, preposition and helping verb with what follows,
    and ends no line on a conjunction (DCMP Captioning Key, text).
    """
    if token.ends_sentence:
        return 0.0
    pause_relief = min(pause_ms, 900) / 150
    if token.text.endswith((",", ";", ":", "-", "–", "—")):
        return max(0.0, 3.0 - pause_relief)
    weak = token.text.lower().strip(".,;:!?\"'") in _WEAK
    return max(0.0, (16.0 if weak else 8.0) - pause_relief)


def lines_of(tokens: Sequence[Token]) -> tuple[str, ...] | None:
    """Set tokens in one or two lines at the best place; None when they do not fit.

    A single token that is longer than a line stands alone, since words are never cut.
    """
    whole = " ".join(token.text for token in tokens)
    if len(whole) <= LINE or len(tokens) == 1:
        return (whole,)
    best: tuple[float, tuple[str, ...]] | None = None
    for at in range(1, len(tokens)):
        upper = " ".join(token.text for token in tokens[:at])
        lower = " ".join(token.text for token in tokens[at:])
        if len(upper) > LINE or len(lower) > LINE:
            continue
        pause = tokens[at].start_ms - tokens[at - 1].end_ms
        cost = break_cost(tokens[at - 1], pause) + abs(len(upper) - len(lower)) / 6
        if best is None or cost < best[0]:
            best = cost, (upper, lower)
    return None if best is None else best[1]


def best_cuts(count: int, cost: Callable[[int, int], float], longest: int) -> list[tuple[int, int]]:
    """Part ``range(count)`` into runs ``(first, last)`` of least total cost, none over `longest`.

    `cost` returns infinity for a run that cannot be; a run of one must always be possible.
    """
    totals = [0.0] + [math.inf] * count
    before = [0] * (count + 1)
    for last in range(1, count + 1):
        for first in range(last - 1, max(-1, last - longest - 1), -1):
            total = totals[first] + cost(first, last)
            if total < totals[last]:
                totals[last], before[last] = total, first
    runs = []
    at = count
    while at > 0:
        runs.append((before[at], at))
        at = before[at]
    return runs[::-1]
