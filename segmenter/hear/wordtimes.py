"""Put word times right against the sound, and part counts that were written as one word.

Recognisers start a word where the one before it ends, silence or not. The level of the sound
knows better: a word after a pause starts where the level rises again.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.samples import RATE, Signal
from segmenter.intervals import Interval, length
from segmenter.lesson import Word

HOP_MS = 10
_SHORTEST_MS = 40
_PAUSE_FRAMES = 12  # a closure inside a word ("stop it") is shorter
_LATE_MS = 160  # how far a start may be moved back to the rise before it
_TAIL_SHARE = 0.5
_PARTED_MS = 200  # two words written as one ("F5" for "up, five") have a pause between them
_BREAK_MS = 500  # a word with a longer silence or a held sound inside was stretched over it
_NUMBERS = re.compile(r"^\D{0,2}(\d{1,3}(?:\s*[-–—,.…/]+\s*\d{1,3})+)([-–—,.…!?]*)$")
_LETTERS_DIGITS = re.compile(r"^(\W*[^\W\d_]+)(\d{1,3}\W*)$")
_DIGITS = re.compile(r"^(\d{3,10})([-,.…!?]*)$")


@dataclass(frozen=True)
class Level:
    """Where a stretch of the recording sounds and where it is silent.

    Parameters
    ----------
    start_ms : int
        Recording time of the first frame.
    level_db : array, shape (frames,)
        One value every ``HOP_MS``.
    active : array of bool, shape (frames,)
        Whether the frame sounds.
    """

    start_ms: int
    level_db: NDArray[np.float64]
    active: NDArray[np.bool_]

    @classmethod
    def of(cls, signal: Signal, start_ms: int, silenced: Sequence[Interval] = ()) -> Level:
        """Measure `signal`, which starts at `start_ms` of the recording; nothing sounds where it was silenced."""
        hop, reach = RATE * HOP_MS // 1000, RATE // 100
        count = max(1, len(signal) // hop)
        energy = np.concatenate([[0.0], np.cumsum(signal.astype(np.float64) ** 2)])
        centres = np.arange(count) * hop + hop // 2
        first, last = np.maximum(centres - reach, 0), np.minimum(centres + reach, len(signal))
        power = (energy[last] - energy[first]) / np.maximum(last - first, 1)
        level = 10 * np.log10(np.maximum(power, 1e-10))
        heard = np.ones(count, bool)
        for start, end in silenced:
            heard[max(0, (start - start_ms) // HOP_MS) : max(0, (end - start_ms) // HOP_MS)] = False
        # A held sound may be far louder than the talk: it has no say in what is silence.
        floor, loud = np.percentile(level[heard] if heard.any() else level, [8, 92])
        # Weak consonants lie 20 to 25 dB under the vowels; in noise the floor is what limits.
        threshold = max(float(loud) - 28.0, float(floor) + min(6.0, 0.3 * float(loud - floor)))
        active = heard & (level > threshold)
        return cls(start_ms, level, _without_blips(active))

    def frame(self, at_ms: int) -> int:
        """Index of the frame that holds a time, clipped to the stretch."""
        return min(max(0, (at_ms - self.start_ms) // HOP_MS), len(self.active))

    def time(self, frame: int) -> int:
        """Recording time at which a frame starts."""
        return self.start_ms + frame * HOP_MS

    def runs(self, start_ms: int, end_ms: int) -> list[Interval]:
        """The sounding stretches between two times."""
        first, last = self.frame(start_ms), self.frame(end_ms)
        return [(self.time(first + a), self.time(first + b)) for a, b in _runs(self.active[first:last])]


def _runs(active: NDArray[np.bool_]) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], active.astype(np.int8), [0]])))
    return [(int(a), int(b)) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _without_blips(active: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Clicks (under 30 ms) are not sound, closures (under 60 ms) are not silence."""
    steady = active.copy()
    for a, b in _runs(~active):
        if b - a < 6 and a > 0 and b < len(active):
            steady[a:b] = True
    for a, b in _runs(steady):
        if b - a < 3:
            steady[a:b] = False
    return steady


def refined(words: Sequence[Word], level: Level) -> list[Word]:
    """Return the words with starts and ends put right against the sound, in order.

    A word keeps its times where the sound says nothing. Times stay in order, and no word gets
    shorter than 40 ms.
    """
    put: list[Word] = []
    reached = level.start_ms
    for word, following in itertools.zip_longest(words, words[1:]):
        before = put[-1].end_ms if put else level.start_ms
        until = following.start_ms if following is not None else level.time(len(level.active))
        # What a word gives back after a break is the beginning of the next one.
        late = _BREAK_MS if reached > before + _BREAK_MS else _LATE_MS
        follows = bool(put) and reached >= word.start_ms - HOP_MS
        start, end = _put_right(word, before, until, level, late, follows=follows)
        reached = word.end_ms
        if put and start > before and put[-1].end_ms < word.start_ms + 1:
            put[-1] = _with_tail(put[-1], start, level)
        put.append(word.model_copy(update={"start_ms": start, "end_ms": max(end, start + _SHORTEST_MS)}))
    return in_order(put)


def _put_right(word: Word, before_ms: int, until_ms: int, level: Level, late_ms: int, *, follows: bool) -> Interval:
    start, end = max(word.start_ms, min(before_ms, word.end_ms)), word.end_ms
    runs = level.runs(start, end)
    if not runs:
        return start, end
    # Of the sounding stretches inside the word, a short first one is the tail of the word before. The last one is
    # measured as far as it sounds: recognisers end words early as well.
    beyond = level.runs(end, end + _LATE_MS) if runs[-1][1] > end - HOP_MS else []
    more = beyond[0][1] - end if beyond and beyond[0][0] <= end else 0
    while len(runs) > 1 and runs[0][0] <= start + HOP_MS:
        pause, rest = runs[1][0] - runs[0][1], more + sum(map(length, runs[1:]))
        # After a clear pause, what lies wholly in this word's time is its own, if there is a word for the rest.
        whole = more < _SHORTEST_MS or end + more <= until_ms - HOP_MS
        share = 1.0 if pause >= _PARTED_MS and follows and whole else _TAIL_SHARE
        if pause < _PAUSE_FRAMES * HOP_MS or length(runs[0]) >= share * rest:
            break
        runs = runs[1:]
    runs = _said(runs)
    first = runs[0][0]
    if first <= start + HOP_MS:
        earlier = level.runs(max(before_ms, start - late_ms - 3 * HOP_MS), start + HOP_MS)
        if earlier and start - late_ms <= earlier[-1][0] < start and earlier[-1][1] >= start:
            return earlier[-1][0], runs[-1][1]
        first = start
    return first, runs[-1][1]


def _said(runs: Sequence[Interval]) -> list[Interval]:
    """Of the sounding stretches of a word those that are it: the longest group without a break between."""
    groups = [[runs[0]]]
    for run in runs[1:]:
        if run[0] - groups[-1][-1][1] > _BREAK_MS:
            groups.append([])
        groups[-1].append(run)
    return max(groups, key=lambda group: sum(map(length, group)))


def _with_tail(word: Word, next_ms: int, level: Level) -> Word:
    """The word before, given back the sound that was cut off its end."""
    runs = level.runs(word.end_ms, next_ms)
    if runs and runs[0][0] <= word.end_ms + HOP_MS and runs[0][1] < next_ms:
        return word.model_copy(update={"end_ms": runs[0][1]})
    return word


def in_order(words: Sequence[Word]) -> list[Word]:
    """Return the words with times that never run backwards or over one another."""
    ordered: list[Word] = []
    for word in words:
        start = max(word.start_ms, ordered[-1].start_ms if ordered else 0)
        if ordered and ordered[-1].end_ms > start:
            ordered[-1] = ordered[-1].model_copy(update={"end_ms": start})
        ordered.append(word.model_copy(update={"start_ms": start, "end_ms": max(start, word.end_ms)}))
    return ordered


def counted(text: str) -> list[str] | None:
    """Return the words of a count that was written as one word; None when it is none.

    Three or more numbers that go up or down by one are a count. "10-15" and "2-3" are ranges
    and "1,000" is one number: they stay.

    >>> counted("2-3-4-5,"), counted("5,4,3"), counted("2345"), counted("10-15"), counted("2024")
    (['2', '3', '4', '5,'], ['5', '4', '3'], ['2', '3', '4', '5'], None, None)
    """
    if match := _NUMBERS.match(text):
        numbers = re.findall(r"\d+", match[1])
    elif match := _DIGITS.match(text):
        numbers = list(match[1])
    else:
        return None
    steps = {int(b) - int(a) for a, b in itertools.pairwise(numbers)}
    if len(numbers) < 3 or steps not in ({1}, {-1}):
        return None
    return [*numbers[:-1], numbers[-1] + match[2]]


def parted(word: Word, level: Level) -> list[Word]:
    """Return a count written as one word as one word a number, timed by the sound.

    When the sound has as many stretches as there are numbers, each number gets one;
    otherwise the time is divided evenly.
    """
    numbers = counted(word.text)
    if numbers is None:
        return _label_and_number(word, level)
    spans = _stretches(level, word.span, len(numbers))
    return [
        word.model_copy(update={"text": text, "start_ms": start, "end_ms": end})
        for text, (start, end) in zip(numbers, spans, strict=True)
    ]


def _label_and_number(word: Word, level: Level) -> list[Word]:
    """Letters with a number ("F5") are two words when a pause lies between them; "B12" is one."""
    both = _LETTERS_DIGITS.match(word.text)
    runs = level.runs(*word.span) if both else []
    pauses = [following[0] - run[1] for run, following in itertools.pairwise(runs)]
    if both is None or max(pauses, default=0) < _PARTED_MS:
        return [word]
    at = pauses.index(max(pauses))
    return [
        word.model_copy(update={"text": both[1], "end_ms": runs[at][1]}),
        word.model_copy(update={"text": both[2], "start_ms": runs[at + 1][0]}),
    ]


def _stretches(level: Level, span: Interval, count: int) -> list[Interval]:
    runs = level.runs(*span)
    while len(runs) > count:  # close the shortest gap until the stretches are as many as the numbers
        at = min(range(len(runs) - 1), key=lambda i: runs[i + 1][0] - runs[i][1])
        runs[at : at + 2] = [(runs[at][0], runs[at + 1][1])]
    if len(runs) == count:
        return runs
    edges = [span[0] + (span[1] - span[0]) * i // count for i in range(count + 1)]
    return list(itertools.pairwise(edges))
