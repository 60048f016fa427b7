"""A sentence as clauses, and where each amount in it holds: in class or at home."""

from __future__ import annotations

import re
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise
from typing import Literal

from segmenter.lesson import CountRun, Where, Word
from segmenter.understand.numbers import NumberAt, ends_clause, plain, read_numbers
from segmenter.understand.sentences import Sentence, split_sentences

Field = Literal["reps", "hold_s", "sets", "rest_s", "per_day", "days_per_week"]
OFTEN: frozenset[Field] = frozenset({"per_day", "days_per_week"})

BREATH_MS = 170
"""A silence this long inside unpunctuated talk parts two utterances."""
HALT_MS = 80
"""A silence from this length on may be a comma."""
ECHO_MS = 5_000
"""A number said this soon after a count ended with it only repeats it."""
SOON_MS = 5_000
"""A count that starts this soon after an ask is what was asked for."""
QUIET_MS = 1_500
"""A silence this long between utterances is time to do something."""
SHORT = 4
"""Words of a cue to start ("Ready? Go.")."""
UNPUNCTUATED = 9
"""Words without any punctuation from which on its absence tells something."""
_BINDING = frozenset(
    ["a", "an", "the", "of", "your", "my", "our", "their", "for", "with", "about", "than", "each", "every"]
)
_WITH = re.compile(r"With (?:an? )?\w+[ -](?:seconds?|minutes?)\b")
_REST = re.compile(r"(?:and |then |now )?(?:rest|relax|break)\W*", re.IGNORECASE)
_TIME = re.compile(r"(?:for )?\w+(?:[ -]\w+)?[ -](?:seconds?|minutes?)\W*", re.IGNORECASE)


@dataclass(frozen=True)
class Amount:
    """A number with what it measures, in ``tokens[first:last]`` of its sentence.

    `widens` marks a goal to grow towards ("work up to ten"); `corrects` a number that takes the
    place of one said just before; `told` that its own clause says where it holds ("four here").
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
    told: bool = False


@dataclass(frozen=True)
class Around:
    """What happens right before and after a sentence.

    `counted` are the numbers that counts just before it ended with, `count` the one that starts after it;
    `doing` tells that something is counted, held or done in silence right after it, `away` that it is said to
    those who stop the recording, `breaths` the words after which an unpunctuated sentence halts for a moment.
    """

    counted: frozenset[int] = frozenset()
    count: CountRun | None = None
    doing: bool = False
    away: bool = False
    breaths: frozenset[int] = frozenset()


class Said:
    """A sentence as tokens, with its numbers and clauses, and what happens around it."""

    def __init__(self, tokens: Sequence[str], around: Around | None = None) -> None:
        self.around = around or Around()
        self.bare = [plain(token) for token in tokens]
        self.closed = [ends_clause(token) or (at in self.around.breaths) for at, token in enumerate(tokens)]
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
            if at and word in {"but", "whereas", "while", "because", "cos"} and at not in inside:
                bounds.add(at)
            if self.closed[at] and at + 1 not in inside:
                bounds.add(at + 1)
        for first, last in pairwise(sorted(bounds)):
            for at in range(first + 1, last - 1):
                between = any(first <= n < at for n in firsts) and any(at < n < last for n in firsts)
                if self.bare[at] in {"and", "then", "so"} and between and at not in inside:
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


@dataclass(frozen=True)
class Utterance:
    """A sentence of a class as the rules read it, before its amounts become doses.

    `first` is the place of its first word in the class, `carried` where the talk was before it; `explained` are
    tokens that belong to a breathing pattern or a count.
    """

    first: int
    said: Said
    carried: Where
    explained: frozenset[int]
    amounts: tuple[Amount, ...]


def around(words: Sequence[Word], parts: Sequence[Sentence], at: int, runs: Sequence[CountRun]) -> Around:
    """Return what happens around one of the utterances of a class."""
    own = parts[at]
    following = parts[at + 1 : at + 3]
    counted = frozenset(run.numbers[-1] for run in runs if 0 <= own.start_ms - run.end_ms <= ECHO_MS)
    count = next((run for run in runs if -200 <= run.start_ms - own.end_ms <= SOON_MS), None)
    gaps = [b.start_ms - a.end_ms for a, b in pairwise([own, *following])]
    # "Ready? Go." may stand between the ask and the doing.
    short = bool(following) and following[0].last - following[0].first <= SHORT
    quiet = any(gap >= QUIET_MS for gap in gaps[: 2 if short else 1])
    return Around(counted, count, doing=quiet or count is not None, breaths=_breaths(words[own.first : own.last]))


def _breaths(own: Sequence[Word]) -> frozenset[int]:
    """Where an utterance without punctuation halts much longer than between its other words."""
    if len(own) < UNPUNCTUATED or any(ends_clause(word.text) for word in own[:-1]):
        return frozenset()
    gaps = [b.start_ms - a.end_ms for a, b in pairwise(own)]
    least = max(HALT_MS, 3 * statistics.median(gaps))
    return frozenset(at for at, gap in enumerate(gaps) if gap >= least and not _binds(own[at]))


def utterances_in(words: Sequence[Word]) -> list[Sentence]:
    """Part words into sentences; where nothing is punctuated, by the breaths between them.

    What a recogniser parted stays together: "Half a dozen. With ten seconds between.", "Rest. Thirty seconds."
    """
    parts: list[Sentence] = []
    for sentence in split_sentences(words):
        own = words[sentence.first : sentence.last]
        if parts and _goes_on(parts[-1].text, sentence.text):
            parts[-1] = _part(words, parts[-1].first, sentence.last)
            continue
        if len(own) < UNPUNCTUATED or any(ends_clause(word.text) for word in own[:-1]):
            parts.append(sentence)
            continue
        cuts = [
            at
            for at in range(1, len(own))
            if own[at].start_ms - own[at - 1].end_ms >= BREATH_MS and not _binds(own[at - 1])
        ]
        parts += [_part(words, sentence.first + a, sentence.first + b) for a, b in pairwise([0, *cuts, len(own)])]
    return parts


def _binds(word: Word) -> bool:
    """Whether a phrase goes on after a word, however long the speaker takes: "two sets of … ten"."""
    return word.text.lower() in _BINDING


def _goes_on(before: str, following: str) -> bool:
    if _REST.fullmatch(before):
        return bool(_TIME.fullmatch(following))
    return bool(_WITH.match(following)) and _is_number(before)


def _is_number(text: str) -> bool:
    words = text.split()
    return any((number.first, number.last) == (0, len(words)) for number in read_numbers([plain(w) for w in words]))


def _part(words: Sequence[Word], first: int, last: int) -> Sentence:
    own = words[first:last]
    text = " ".join(word.text.strip() for word in own)
    return Sentence(first, last, own[0].start_ms, max(word.end_ms for word in own), text)
