"""Counts and their homophones: what must come next tells what was said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from segmenter.lesson import Word
from segmenter.understand.homophones import repair_homophones
from segmenter.understand.numbers import plain
from segmenter.understand.repair_words import Change, closed, ends_sentence, word_set
from segmenter.understand.sounds_alike import distance, phones

_NAMES = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen", "twenty",
)  # fmt: skip
_VALUES = {name: value for value, name in enumerate(_NAMES)}
SLOT = 0.5
"""A word between two numbers of a count may sound this far from the number that is missing there."""
CLOSE = 0.12
"""A word at the end of a count must sound as near as this."""
LONG_CLOSE = 0.25
"""And as near as this after four numbers in a row."""
BEAT_MS = 12_000
"""Numbers further apart are not one count."""
APART_MS = 300
"""Silence between words that come one a beat."""
STEADY = 1.35
"""A beat may be this much longer than another of the same count."""
NEAR_MS = 20_000
"""Counted breaths this near belong together."""
HELD = 0.3
"""How far from "hold" the word may sound that stands where it must."""
_BREATHS = frozenset({"in", "out"})
_PRAISE = word_set(
    "good well done lovely nice and great that's it keep going up down yes hold in out breathe relax rest now "
    "then last halfway nearly almost half there squeeze push lift lower press more slowly gently still again "
    "bravo super perfect excellent okay ok um uh er a bit higher stay"
)
"""Words that a speaker puts between numbers; they are never numbers mis-heard."""


@dataclass(frozen=True)
class _Number:
    value: int
    at: int


def repair_counts(words: Sequence[Word]) -> list[Change]:
    """Return what to change in counts and doses, in order and apart.

    Parameters
    ----------
    words : sequence of Word
        The whole class.
    """
    bare = [plain(word.text) for word in words]
    numbers = [_Number(value, at) for at, word in enumerate(bare) if (value := _value(word)) is not None]
    found: dict[int, Change] = {change.first: change for change in _inside(words, bare, numbers)}
    # Numbers put in go on counting: what stands before and after them is judged with them.
    for at, change in found.items():
        bare[at] = change.texts[0]
    numbers = [_Number(value, at) for at, word in enumerate(bare) if (value := _value(word)) is not None]
    for change in (*_ends(words, bare, numbers), *_leads(words, bare, numbers), *_twos(words, bare, numbers)):
        found.setdefault(change.first, change)
    for change in repair_homophones(words, bare):
        found.setdefault(change.first, change)
    return [found[at] for at in sorted(found)]


def _value(word: str) -> int | None:
    if word.isascii() and word.isdigit() and len(word) <= 2:
        return int(word)
    return _VALUES.get(word)


def _written(value: int, near: str) -> str:
    """The number written as the one beside it is: in digits or in letters."""
    return str(value) if near.isdigit() or value >= len(_NAMES) else _NAMES[value]


def _sounds_like(word: str, value: int) -> float:
    return distance(phones(word), phones(_NAMES[value])) if value < len(_NAMES) else 1.0


def _steps(numbers: Sequence[_Number], place: int, words: Sequence[Word]) -> tuple[int, int]:
    """How many numbers before and after `place` go on one by one, with nothing between them."""
    before = after = 0
    for a, b in pairwise(reversed(numbers[: place + 1])):
        if a.at - b.at != 1 or a.value - b.value != 1 or words[a.at].start_ms - words[b.at].start_ms > BEAT_MS:
            break
        before += 1
    for a, b in pairwise(numbers[place:]):
        if b.at - a.at != 1 or b.value - a.value != 1 or words[b.at].start_ms - words[a.at].start_ms > BEAT_MS:
            break
        after += 1
    return before, after


def _inside(words: Sequence[Word], bare: Sequence[str], numbers: Sequence[_Number]) -> Iterator[Change]:
    """Words that fill exactly the place of the numbers missing between two others."""
    for place, (a, b) in enumerate(pairwise(numbers)):
        missing, slots = b.value - a.value - 1, b.at - a.at - 1
        if not 0 < missing <= 3 or missing != slots or words[b.at].start_ms - words[a.at].start_ms > BEAT_MS:
            continue
        steady = _is_steady(words[a.at : b.at + 1])
        if any(ends_sentence(words[at].text) for at in range(a.at, b.at)) and not steady:
            continue
        before, _ = _steps(numbers, place, words)
        _, after = _steps(numbers, place + 1, words)
        filled = bare[a.at + 1 : b.at]
        far = max(_sounds_like(word, a.value + 1 + n) for n, word in enumerate(filled))
        exact = far <= 0.05
        # "two to four" and "one to three" are ranges unless a count goes on around them.
        known = before + after + 2 * steady
        if any(word in _PRAISE for word in filled) or not (
            far <= SLOT and known >= 1 and (known >= 2 or exact or far <= 0.36)
        ):
            continue
        if filled in (["to"], ["or"]) and known < 2:
            continue
        for n, at in enumerate(range(a.at + 1, b.at)):
            yield Change(
                at,
                at + 1,
                (_written(a.value + 1 + n, bare[a.at]),),
                f"it stands between {a.value} and {b.value} of a count",
                round(0.97 - 0.4 * far, 2),
            )


def _is_steady(words: Sequence[Word]) -> bool:
    """Whether words come on a beat, each alone: so people count, and seldom talk."""
    beats = [b.start_ms - a.start_ms for a, b in pairwise(words)]
    alone = all(b.start_ms - a.end_ms >= APART_MS for a, b in pairwise(words))
    return alone and max(beats) <= STEADY * min(beats)


def _ends(words: Sequence[Word], bare: Sequence[str], numbers: Sequence[_Number]) -> Iterator[Change]:
    """A word just before or after a count that sounds like the number that must stand there."""
    for place, number in enumerate(numbers):
        before, after = _steps(numbers, place, words)
        at = number.at + 1
        if before >= 2 and after == 0 and at < len(bare) and _value(bare[at]) is None:
            last = closed(words[at].text) or at + 1 == len(bare) or words[at + 1].start_ms - words[at].end_ms >= 600
            near = words[at].start_ms - words[number.at].start_ms <= BEAT_MS
            limit = LONG_CLOSE if before >= 3 and bare[at] not in _PRAISE else CLOSE
            sounds = bool(bare[at]) and _sounds_like(bare[at], number.value + 1) <= limit
            if last and near and sounds and not ends_sentence(words[number.at].text):
                yield Change(
                    at, at + 1, (_written(number.value + 1, bare[number.at]),),
                    f"it stands after {number.value} of a count", 0.9,
                )  # fmt: skip
        at = number.at - 1
        if after >= 2 and before == 0 and number.value > 1 and at >= 0 and _value(bare[at]) is None:
            first = at == 0 or closed(words[at - 1].text) or bare[at - 1] in {"in", "out", "hold", "and", "one"}
            sounds = bool(bare[at]) and _sounds_like(bare[at], number.value - 1) <= CLOSE
            if first and sounds and not ends_sentence(words[at].text):
                yield Change(
                    at, at + 1, (_written(number.value - 1, bare[number.at]),),
                    f"it stands before {number.value} of a count", 0.85,
                )  # fmt: skip


def _leads(words: Sequence[Word], bare: Sequence[str], numbers: Sequence[_Number]) -> Iterator[Change]:
    """The "in", "out" or "hold" of counted breathing, where another stands close by."""
    leads: list[tuple[int, int]] = []
    for place, number in enumerate(numbers):
        before, after = _steps(numbers, place, words)
        starts = before == 0 and number.value == 2 and number.at > 0 and after >= 1
        if starts and not ends_sentence(words[number.at - 1].text):
            leads.append((number.at - 1, words[number.at].start_ms))
    for place, (at, time_ms) in enumerate(leads):
        beside = {
            bare[other]
            for n, (other, other_ms) in enumerate(leads)
            if n != place and abs(other_ms - time_ms) <= NEAR_MS
        }
        following = bare[leads[place + 1][0]] if place + 1 < len(leads) else ""
        preceding = bare[leads[place - 1][0]] if place else ""
        if bare[at] in {"in", "out", "hold", "pause", "one"}:
            continue
        if (
            following == "out"
            and "in" not in (preceding,)
            and bare[at] in {"and", "an", "end", "n", "inn", "ian", "then"}
        ):
            if bare[at] == "then" and (at == 0 or bare[at - 1] != "and"):
                continue
            yield Change(at, at + 1, ("in",), "a counted breath out follows", 0.75)
        elif beside & {"in", "out"} and distance(phones(bare[at]), phones("hold")) <= HELD:
            yield Change(at, at + 1, ("hold",), "a held breath is counted between others", 0.75)
        elif "in" in beside and preceding == "in" and distance(phones(bare[at]), phones("out")) <= 0.35:
            yield Change(at, at + 1, ("out",), "a counted breath in comes before", 0.75)


def _twos(words: Sequence[Word], bare: Sequence[str], numbers: Sequence[_Number]) -> Iterator[Change]:
    """The two of a breath that takes but two beats ("in, two, out, two, three, four")."""
    counted = [
        words[number.at].start_ms
        for place, number in enumerate(numbers)
        if number.value == 2 and number.at and bare[number.at - 1] in _BREATHS and _steps(numbers, place, words)[1]
    ]
    for at in range(1, len(bare) - 1):
        if bare[at - 1] not in _BREATHS or bare[at + 1] not in _BREATHS or bare[at] in _PRAISE:
            continue
        near = any(abs(words[at].start_ms - time_ms) <= NEAR_MS for time_ms in counted)
        if near and _value(bare[at]) is None and 0 < _sounds_like(bare[at], 2) <= SLOT:
            yield Change(at, at + 1, ("two",), "it is counted between two breaths", 0.75)
