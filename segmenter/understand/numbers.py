"""Numbers as people say them, with their place among the words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

Bound = Literal["exact", "range", "floor", "ceiling"]

_UNITS = {
    word: value
    for value, word in enumerate(
        [
            "zero",
            "one",
            "two",
            "three",
            "four",
            "five",
            "six",
            "seven",
            "eight",
            "nine",
            "ten",
            "eleven",
            "twelve",
            "thirteen",
            "fourteen",
            "fifteen",
            "sixteen",
            "seventeen",
            "eighteen",
            "nineteen",
        ]
    )
}
_TENS = {
    word: 10 * (2 + i)
    for i, word in enumerate(["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"])
}
_FLOORS = (
    ("at", "least"),
    ("no", "fewer", "than"),
    ("no", "less", "than"),
    ("not", "less", "than"),
    ("more", "than"),
)
_CEILINGS = (
    ("at", "most"), ("no", "more", "than"), ("not", "more", "than"), ("up", "to"), ("a", "maximum", "of"),
    ("never", "more", "than"), ("don't", "go", "past"), ("not", "past"), ("work", "up", "to"),
)  # fmt: skip
_LINKS = {"to", "or", "through", "-", "–"}
_DASHED = re.compile(r"^(\d{1,3})[-–](\d{1,3})$")


@dataclass(frozen=True)
class NumberAt:
    """A number in ``tokens[first:last]``. `lo` and `hi` are None where it is open (a floor, a ceiling)."""

    first: int
    last: int
    lo: float | None
    hi: float | None
    bound: Bound

    @property
    def value(self) -> float | None:
        """The number itself when it is exact, else None."""
        return self.lo if self.bound == "exact" else None


def plain(token: str) -> str:
    """Return a token in small letters without the punctuation around it.

    >>> plain("“Ten,”"), plain("don’t")
    ('ten', "don't")
    """
    return token.lower().replace("’", "'").strip(" .,;:!?…\"'“”()[]")


def read_numbers(tokens: Sequence[str]) -> list[NumberAt]:
    """Return the numbers among `tokens`, in order.

    Understands digits and words, tens with units, dozens, ranges ("five to ten", "10-15",
    "two or three"), floors and ceilings ("at least eight", "no more than ten"), and once and
    twice. "A couple", "a few" and "a handful" give nothing: they are no numbers.

    >>> [(n.lo, n.hi) for n in read_numbers("at least eight, or five to ten".split())]
    [(8, None), (5, 10)]
    """
    words = [plain(token) for token in tokens]
    found: list[NumberAt] = []
    at = 0
    while at < len(words):
        number = _one(words, at)
        if number is None:
            at += 1
            continue
        number = _with_range(words, number, ends_clause=_ends_clause(tokens, number.last - 1))
        number = _with_bound(words, number)
        found.append(number)
        at = number.last
    return found


def _one(words: Sequence[str], at: int) -> NumberAt | None:
    word = words[at]
    following = words[at + 1] if at + 1 < len(words) else ""
    exact = _exact(word)
    if (dashed := _DASHED.match(word)) and int(dashed[1]) < int(dashed[2]):
        return NumberAt(at, at + 1, int(dashed[1]), int(dashed[2]), "range")
    if word in _TENS and following in _UNITS and 0 < _UNITS[following] < 10:
        value = _TENS[word] + _UNITS[following]
        return NumberAt(at, at + 2, value, value, "exact")
    if word in {"half", "a"} and words[at : at + 3] in (["half", "a", "dozen"],):
        return NumberAt(at, at + 3, 6, 6, "exact")
    if word in {"a", "one"} and following == "dozen":
        return NumberAt(at, at + 2, 12, 12, "exact")
    if exact is not None:
        return NumberAt(at, at + 1, exact, exact, "exact")
    return None


def _exact(word: str) -> float | None:
    if word.isascii() and word.isdigit() and len(word) <= 4:
        return int(word)
    if "-" in word:
        tens, _, unit = word.partition("-")
        if tens in _TENS and 0 < _UNITS.get(unit, 0) < 10:
            return _TENS[tens] + _UNITS[unit]
    return {"once": 1, "twice": 2, "thrice": 3, **_UNITS, **_TENS, "hundred": 100}.get(word)


def _with_range(words: Sequence[str], number: NumberAt, *, ends_clause: bool) -> NumberAt:
    if number.bound != "exact" or ends_clause or number.last + 1 >= len(words):
        return number
    if words[number.last] not in _LINKS:
        return number
    other = _one(words, number.last + 1)
    if other is None or other.bound != "exact" or other.lo is None or number.lo is None or other.lo <= number.lo:
        return number
    return NumberAt(number.first, other.last, number.lo, other.lo, "range")


def _with_bound(words: Sequence[str], number: NumberAt) -> NumberAt:
    if number.bound != "exact":
        return number
    for phrases, bound in ((_FLOORS, "floor"), (_CEILINGS, "ceiling")):
        for phrase in phrases:
            start = number.first - len(phrase)
            if start >= 0 and tuple(words[start : number.first]) == phrase:
                if bound == "floor":
                    return NumberAt(start, number.last, number.lo, None, "floor")
                return NumberAt(start, number.last, None, number.lo, "ceiling")
    return number


def _ends_clause(tokens: Sequence[str], at: int) -> bool:
    return tokens[at].rstrip().endswith((",", ".", ";", "?", "!"))
