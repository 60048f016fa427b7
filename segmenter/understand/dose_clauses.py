"""A sentence as clauses, and where each amount in it holds: in class or at home."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Literal

from segmenter.lesson import Where
from segmenter.understand.dose_words import CLASS, CLASS_WEAK, HOME
from segmenter.understand.numbers import NumberAt, ends_clause, plain, read_numbers

Field = Literal["reps", "hold_s", "sets", "rest_s", "per_day", "days_per_week"]
OFTEN: frozenset[Field] = frozenset({"per_day", "days_per_week"})


@dataclass(frozen=True)
class Amount:
    """A number with what it measures, in ``tokens[first:last]`` of its sentence.

    `widens` marks a goal to grow towards ("work up to ten"); `corrects` a number that takes the
    place of one said just before.
    """

    field: Field
    lo: float | None
    hi: float | None
    first: int
    last: int
    sure: float
    where: Where = "class"
    widens: bool = False
    corrects: bool = False


class Said:
    """A sentence as tokens, with its numbers and clauses."""

    def __init__(self, tokens: Sequence[str]) -> None:
        self.bare = [plain(token) for token in tokens]
        self.closed = [ends_clause(token) for token in tokens]
        self.numbers = read_numbers(tokens)
        self.is_question = bool(tokens) and tokens[-1].rstrip("\"'”’ ").endswith("?")

    @cached_property
    def text(self) -> str:
        """Small letters, no punctuation, one space between words."""
        return " ".join(self.bare)

    @cached_property
    def _starts(self) -> list[int]:
        starts, at = [], 0
        for token in self.bare:
            starts.append(at)
            at += len(token) + 1
        return starts

    def token_at(self, char: int) -> int:
        """The token that holds a place of `text`."""
        return max(0, sum(start <= char for start in self._starts) - 1)

    @cached_property
    def clauses(self) -> list[tuple[int, int]]:
        """Clauses as token ranges: by punctuation, "but", and "and" where a number stands on either side."""
        firsts = [number.first for number in self.numbers]
        inside = {at for number in self.numbers for at in range(number.first + 1, number.last)}
        bounds = {0, len(self.bare)}
        for at, word in enumerate(self.bare):
            if at and word in {"but", "whereas", "while"} and at not in inside:
                bounds.add(at)
            if self.closed[at] and at + 1 not in inside:
                bounds.add(at + 1)
        for first, last in pairwise(sorted(bounds)):
            for at in range(first + 1, last - 1):
                between = any(first <= n < at for n in firsts) and any(at < n < last for n in firsts)
                if self.bare[at] in {"and", "then"} and between and at not in inside:
                    bounds.add(at)
        return list(pairwise(sorted(bounds)))

    def clause(self, at: int) -> tuple[int, int]:
        """The clause that holds a token."""
        return next(((first, last) for first, last in self.clauses if first <= at < last), (0, len(self.bare)))

    def words(self, first: int, last: int) -> str:
        """The words of a token range."""
        return " ".join(self.bare[max(0, first) : last])


@dataclass(frozen=True)
class Spot:
    """A number in its clause."""

    said: Said
    number: NumberAt

    @cached_property
    def clause(self) -> tuple[int, int]:
        """The clause as a token range."""
        return self.said.clause(self.number.first)

    @cached_property
    def own(self) -> str:
        """The words of the clause."""
        return self.said.words(*self.clause)

    @cached_property
    def left(self) -> list[str]:
        """The words of the clause before the number."""
        return self.said.bare[self.clause[0] : self.number.first]

    @cached_property
    def ended(self) -> bool:
        """Whether the clause ends with the number."""
        return self.said.closed[self.number.last - 1] or self.number.last >= len(self.said.bare)

    @cached_property
    def after(self) -> list[str]:
        """Up to five words that follow the number in its clause."""
        return [] if self.ended else self.following(self.number.last - 1)

    def following(self, at: int) -> list[str]:
        """Up to five words that follow a token, none if punctuation closes it."""
        return [] if self.said.closed[at] else self.said.bare[at + 1 : at + 6]

    def makes(
        self, field: Field, last: int, sure: float, bounds: tuple[float | None, float | None] | None = None
    ) -> Amount:
        """An amount that starts with the number and ends before token `last`."""
        lo, hi = bounds if bounds is not None else (self.number.lo, self.number.hi)
        lead = set(self.said.bare[max(0, self.number.first - 2) : self.number.last])
        widens = bool(lead & {"work", "build", "working", "building"})
        return Amount(field, lo, hi, self.number.first, last, sure, widens=widens)


def placed(said: Said, amounts: Sequence[Amount], carried: Where) -> list[Amount]:
    """Say of each amount whether it holds in class or at home; `carried` is where the sentence before was."""
    marks = list(_marks(said))
    return [replace(amount, where=_where(said, amount, amounts, marks, carried)) for amount in amounts]


def _where(
    said: Said, amount: Amount, amounts: Sequence[Amount], marks: Sequence[tuple[int, Where]], carried: Where
) -> Where:
    first, last = said.clause(amount.first)
    own = [(at, where) for at, where in marks if first <= at < last]
    before = [where for at, where in own if at <= amount.first]
    earlier = [where for at, where in marks if at < first]
    later = [where for at, where in marks if at >= last]
    if before or own or earlier:
        return before[-1] if before else own[0][1] if own else earlier[-1]
    if later:
        # A place said later holds for this number too, unless it comes with a number of its own.
        rivals = any(o.field == amount.field and o.first >= last and not o.corrects for o in amounts)
        if not rivals:
            return later[0]
        return "class" if later[0] == "home" else carried
    return "home" if amount.field in OFTEN else carried


def _marks(said: Said) -> Iterator[tuple[int, Where]]:
    found: list[tuple[int, Where, bool]] = []
    homes = [match.span() for match in HOME.finditer(said.text)]
    found += [(said.token_at(first), "home", True) for first, _ in homes]
    for pattern, strong in ((CLASS, True), (CLASS_WEAK, False)):
        for match in pattern.finditer(said.text):
            # "Stop the video here" says home, though "here" alone says class.
            if not any(first <= match.start() < last for first, last in homes):
                found.append((said.token_at(match.start()), "class", strong))
    for at, where, strong in sorted(found):
        first, last = said.clause(at)
        if strong or not any(sure and first <= other < last for other, _, sure in found):
            yield at, where
