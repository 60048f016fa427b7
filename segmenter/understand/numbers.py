"""Numbers as people say them, with their place among the words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

Bound = Literal["exact", "range", "floor", "ceiling"]

_UNITS = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_WORTH = {word: value for value, word in enumerate(_UNITS)} | {word: 20 + 10 * i for i, word in enumerate(_TENS)}
NUMBER_WORDS = frozenset(_WORTH) | {"once", "twice", "thrice", "dozen", "hundred", "half", "couple"}
"""Words that are numbers, or stand in them."""
_FLOORS: tuple[str, ...] = (
    "at least", "no fewer than", "no less than", "not less than", "not fewer than", "a minimum of", "minimum of",
)  # fmt: skip
_CEILINGS: tuple[str, ...] = (
    "as long as", "up to a", "up to about",
    "at most", "no more than", "not more than", "never more than", "up to", "a maximum of", "maximum of", "maximum",
    "don't go past", "don't go over", "don't go above", "do not go past", "not past", "never past", "not over",
)  # fmt: skip
_FLOORS_AFTER: tuple[str, ...] = ("or more", "at least", "or longer", "minimum", "or over")
_CEILINGS_AFTER: tuple[str, ...] = (
    "or fewer", "or less", "at most", "at the most", "max", "maximum", "tops", "at the outside", "and no more",
    "but no more", "and no further",
)  # fmt: skip
_LINKS = ("to", "or", "or even", "to maybe", "or maybe", "through", "-", "–", "up to", "or perhaps")
_HOMOPHONES = {"for": 4, "fore": 4, "to": 2, "too": 2, "ate": 8, "won": 1}
_COUNTED = (
    "times", "more times", "more reps", "more repetitions", "more goes", "more seconds", "more of them",
    "more of these", "more of those",
)  # fmt: skip
_FIXED: tuple[tuple[str, float, str], ...] = (
    ("half a dozen", 6, ""), ("a half dozen", 6, ""), ("a dozen", 12, ""), ("one dozen", 12, ""),
    ("two dozen", 24, ""), ("dozen", 12, ""), ("a hundred", 100, ""), ("one hundred", 100, ""),
    ("a minute and a half", 1.5, "minute"), ("half a minute", 0.5, "minute"), ("half minute", 0.5, "minute"),
    ("half an hour", 0.5, "hour"), ("a full minute", 1, "minute"), ("a whole minute", 1, "minute"),
    ("a minute", 1, "minute"),
)  # fmt: skip
_IDLE = (["off"], ["rest"], ["between"])
_DIGITS = re.compile(r"^(\d{1,3}(?:,\d{3})+|\d{1,4}(?:\.\d{1,2})?)([a-z%×]*)$")
_GLUED = {"s", "sec", "secs", "x", "×", "min", "mins", "reps", "times"}
_DASH = re.compile(r"[-–—]")


@dataclass(frozen=True)
class NumberAt:
    """A number in ``tokens[first:last]``. `lo` or `hi` is None where it is open (a floor, a ceiling).

    `unit` is what the same words already say about it: "times" for "twice", "minute" for "half a
    minute", "second" for "ten-second". Several numbers may share one token ("2-3-4").
    """

    first: int
    last: int
    lo: float | None
    hi: float | None
    bound: Bound = "exact"
    unit: str = ""

    @property
    def value(self) -> float | None:
        """The number itself when it is exact, else None."""
        return self.lo if self.bound == "exact" else None


def plain(token: str) -> str:
    """Return a token in small letters without the punctuation around it.

    >>> plain("“Ten,”"), plain("don’t")
    ('ten', "don't")
    """
    # A recogniser may write two words as one; a dash keeps them one token.
    joined = "-".join(token.lower().replace("’", "'").split())
    return joined.strip(" .,;:!?…\"'“”‘()[]—–-")


def ends_clause(token: str) -> bool:
    """Tell whether punctuation closes a clause after this token."""
    return token.rstrip("\"'”’) ").endswith((",", ".", ";", ":", "?", "!", "…", "—", "–"))


def read_numbers(tokens: Sequence[str]) -> list[NumberAt]:
    """Return the numbers among `tokens`, in order.

    Understands digits and words, tens with units, dozens, halves, ranges ("five to ten", "10-15",
    "between two and three"), floors and ceilings ("at least eight", "ten or fewer"), once and twice,
    and "for", "to", "ate" where only a number makes sense. "A couple", "a few" and "a handful" give
    nothing: they are no numbers.

    >>> [(n.lo, n.hi) for n in read_numbers("at least eight, or five to ten".split())]
    [(8, None), (5, 10)]
    """
    words = [plain(token) for token in tokens]
    closed = [ends_clause(token) for token in tokens]
    found: list[NumberAt] = []
    at = 0
    while at < len(words):
        chain = _chain(words[at], at)
        if len(chain) > 2:
            found += chain
            at += 1
            continue
        number = _one(words, closed, at)
        if number is None:
            at += 1
            continue
        number = _bounded(words, closed, _ranged(words, closed, number))
        if (
            found
            and number.bound == "ceiling"
            and found[-1].bound == "floor"
            and number.first - found[-1].last <= 2
        ):
            low = found.pop()
            if low.lo is not None and number.hi is not None and low.lo <= number.hi:
                number = NumberAt(low.first, number.last, low.lo, number.hi, "range", number.unit)
            else:
                found.append(low)
        found.append(number)
        at = number.last
    return _with_homophones(words, closed, found)


def _one(words: Sequence[str], closed: Sequence[bool], at: int) -> NumberAt | None:  # noqa: PLR0911
    """The number that starts at `at`, without ranges and bounds."""
    word = words[at]
    special = _special(words, closed, at)
    if special is not None:
        return special
    parts = _chain(word, at)
    if len(parts) == 2 and parts[0].lo is not None and parts[1].lo is not None:
        low, high = parts[0].lo, parts[1].lo
        if word.split("-")[0] in _TENS and 0 < high < 10:
            return NumberAt(at, at + 1, low + high, low + high)
        return NumberAt(at, at + 1, low, high, "range") if low < high else None
    if (match := _DIGITS.match(word)) and (match[2] in _GLUED or not match[2]):
        written = float(match[1].replace(",", ""))
        return NumberAt(at, at + 1, written, written, unit=match[2])
    head, dash, unit = word.partition("-")
    if dash and unit.isalpha():
        glued = _simple(head)
        return None if glued is None else NumberAt(at, at + 1, glued, glued, unit=unit)
    value = _simple(word)
    if value is None:
        return None
    last = at + 1
    if word in _TENS and not closed[at] and last < len(words) and 0 < _WORTH.get(words[last], 0) < 10:
        value += _WORTH[words[last]]
        last += 1
    if words[last : last + 3] == ["and", "a", "half"] and not closed[at]:
        value += 0.5
        last += 3
    return NumberAt(at, last, value, value)


def _special(words: Sequence[str], closed: Sequence[bool], at: int) -> NumberAt | None:
    """Numbers in several words, and words that carry their unit."""
    if words[at] in {"once", "twice", "thrice"}:
        often = {"once": 1, "twice": 2, "thrice": 3}[words[at]]
        return NumberAt(at, at + 1, often, often, unit="times")
    if words[at] == "minute" and words[at + 1 : at + 2] in _IDLE and (at == 0 or closed[at - 1]):
        return NumberAt(at, at + 1, 1, 1, unit="minute")
    if words[at] in {"a", "one"} and words[at + 1 : at + 3] == ["hundred", "and"]:
        tail = _one(words, [False] * len(words), at + 3) if at + 3 < len(words) else None
        if tail is not None and tail.value is not None and tail.value < 100:
            return NumberAt(at, tail.last, 100 + tail.value, 100 + tail.value)
    for phrase, worth, unit in _FIXED:
        length = len(phrase.split())
        if " ".join(words[at : at + length]) == phrase:
            return NumberAt(at, at + length, worth, worth, unit=unit)
    return None


def _simple(word: str) -> float | None:
    if word.isascii() and word.isdigit() and len(word) <= 4:
        return int(word)
    return _WORTH.get(word)


def _chain(word: str, at: int) -> list[NumberAt]:
    """Numbers joined by dashes in one token; nothing if any piece is no number."""
    pieces = [_simple(piece) for piece in _DASH.split(word)] if _DASH.search(word) else []
    values = [value for value in pieces if value is not None]
    if len(values) < len(pieces) or len(values) < 2:
        return []
    return [NumberAt(at, at + 1, value, value) for value in values]


def _ranged(words: Sequence[str], closed: Sequence[bool], number: NumberAt) -> NumberAt:
    """Join "five" with "to ten", if the numbers rise and no comma parts them."""
    if number.bound != "exact":
        return number
    if closed[number.last - 1]:
        return _doubtful(words, closed, number)
    between = number.first > 0 and words[number.first - 1] == "between"
    for length in (1, 2):
        link = " ".join(words[number.last : number.last + length])
        at = number.last + length
        if at >= len(words) or not (link in _LINKS or (between and link == "and")):
            continue
        other = _one(words, closed, at)
        if other is None or other.value is None or number.lo is None or other.value <= number.lo:
            continue
        if (other.unit == "times") != (number.unit == "times"):
            continue
        if link == "to" and _WORTH.get(" ".join(words[other.last : other.last + 1])) == other.value + 1:
            continue  # "one to three four" is a count
        return NumberAt(number.first - between, other.last, number.lo, other.lo, "range", other.unit or number.unit)
    return number


def _doubtful(words: Sequence[str], closed: Sequence[bool], number: NumberAt) -> NumberAt:
    """Join "five, six seconds": two neighbours with one unit are a guess between them, not a count."""
    other = _one(words, closed, number.last) if number.last < len(words) else None
    if other is None or other.value is None or number.lo is None or other.value != number.lo + 1:
        return number
    measured = not closed[other.last - 1] and words[other.last : other.last + 1] in (
        ["seconds"],
        ["times"],
        ["minutes"],
    )
    counted = number.first > 0 and _simple(words[number.first - 1]) is not None
    return NumberAt(number.first, other.last, number.lo, other.lo, "range") if measured and not counted else number


def _bounded(words: Sequence[str], closed: Sequence[bool], number: NumberAt) -> NumberAt:
    """Take in "at least" before or "or more" after an exact number."""
    if number.bound != "exact":
        return number
    for phrases, floor in ((_FLOORS, True), (_CEILINGS, False)):
        for phrase in phrases:
            start = number.first - len(phrase.split())
            if (
                start >= 0
                and " ".join(words[start : number.first]) == phrase
                and not any(closed[start : number.first])
            ):
                return _open(number, start, number.last, floor=floor)
    for phrases, floor in ((_FLOORS_AFTER, True), (_CEILINGS_AFTER, False)):
        for phrase in phrases:
            last = number.last + len(phrase.split())
            if " ".join(words[number.last : last]) == phrase:
                return _open(number, number.first, last, floor=floor)
    return number


def _open(number: NumberAt, first: int, last: int, *, floor: bool) -> NumberAt:
    if floor:
        return replace(number, first=first, last=last, hi=None, bound="floor")
    return replace(number, first=first, last=last, lo=None, bound="ceiling")


def _with_homophones(words: Sequence[str], closed: Sequence[bool], found: list[NumberAt]) -> list[NumberAt]:
    """Add "for", "to" and "ate" where they stand for four, two and eight: in a count, or before "more times"."""
    taken = {at for number in found for at in range(number.first, number.last)}
    ending = {number.last: number for number in found}
    starting = {number.first: number for number in reversed(found)}
    extra: list[NumberAt] = []
    for at, word in enumerate(words):
        value = _HOMOPHONES.get(word)
        if value is None or at in taken:
            continue
        before, after = ending.get(at), starting.get(at + 1)
        rises = before is not None and before.value == value - 1
        goes_on = after is not None and after.value == value + 1
        earlier = ending.get(before.first) if before is not None else None
        later = starting.get(after.last) if after is not None else None
        counting = rises and (
            (goes_on and (value != 2 or (later is not None and later.value == 4)))
            or (after is None and earlier is not None and earlier.value == value - 2)
        )
        measured = not closed[at] and any(
            " ".join(words[at + 1 : at + 1 + len(phrase.split())]) == phrase for phrase in _COUNTED
        )
        if counting or measured:
            extra.append(NumberAt(at, at + 1, value, value))
    return sorted([*found, *extra], key=lambda number: number.first) if extra else found


def counted_places(numbers: Sequence[NumberAt]) -> set[int]:
    """Return the tokens of numbers that are counted aloud: three or more in a row, each the next one."""
    run: list[NumberAt] = []
    counted: set[int] = set()
    exact = [number for number in numbers if number.value is not None and number.unit != "times"]
    for number, following in pairwise([*exact, None]):
        if number is None:
            continue
        run.append(number)
        gap = following.first - number.last if following is not None else 9
        step = (following.value or 0) - (number.value or 0) if following is not None else 0
        if (gap <= 2 and step in {1, -1}) or (gap == 0 and step == 2):
            continue
        if len(run) >= 3:
            counted |= {at for one in run for at in range(one.first, one.last)}
        run = []
    return counted
