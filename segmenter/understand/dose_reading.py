"""One sentence read for amounts: each number with what it measures and where it holds.

A number counts only with something that says what it measures (a unit, a word of doing, "of
them"); all other numbers are talk.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise
from typing import Literal

from segmenter.lesson import Where
from segmenter.understand.dose_words import (
    AFTER_NO_DOSE,
    BEFORE_NO_DOSE,
    CLASS,
    CLASS_WEAK,
    CORRECTION,
    DOING,
    FREQUENCY_FILLER,
    HOLDING,
    HOME,
    LEADS,
    NARRATIVE,
    NEGATORS,
    NOT_DONE,
    NOUN_ALONE,
    QUESTION,
    RESTING,
    STOPPERS,
    UNITS,
    WAITING,
    Unit,
)
from segmenter.understand.numbers import NumberAt, counted_places, ends_clause, plain, read_numbers

Field = Literal["reps", "hold_s", "sets", "rest_s", "per_day", "days_per_week"]
TIMES_A = {"day": "per_day", "week": "days_per_week"}
MOST = 400
"""No dose is larger than this (repetitions), whatever the noun."""


@dataclass(frozen=True)
class Amount:
    """A number with what it measures, in ``tokens[first:last]`` of its sentence."""

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
    """A sentence as tokens, with its clauses."""

    def __init__(self, tokens: Sequence[str]) -> None:
        self.tokens = list(tokens)
        self.bare = [plain(token) for token in tokens]
        self.closed = [ends_clause(token) for token in tokens]
        self.numbers = read_numbers(tokens)
        self.is_question = bool(tokens) and tokens[-1].rstrip("\"'”’ ").endswith("?")

    @cached_property
    def text(self) -> str:
        """Small letters, no punctuation, one space between words."""
        return " ".join(self.bare)

    @cached_property
    def starts(self) -> list[int]:
        """Where each token starts in `text`."""
        starts, at = [], 0
        for token in self.bare:
            starts.append(at)
            at += len(token) + 1
        return starts

    def token_at(self, char: int) -> int:
        """The token that holds a place of `text`."""
        return max(0, sum(start <= char for start in self.starts) - 1)

    @cached_property
    def clauses(self) -> list[tuple[int, int]]:
        """Clauses as token ranges: by punctuation, "but", and "and" where a number stands on either side."""
        has_number = [number.first for number in self.numbers]
        inside = {at for number in self.numbers for at in range(number.first + 1, number.last)}
        bounds = {0, len(self.bare)}
        for at, word in enumerate(self.bare):
            if at and word in {"but", "whereas", "while"} and at not in inside:
                bounds.add(at)
            if self.closed[at] and at + 1 not in inside:
                bounds.add(at + 1)
        ordered = sorted(bounds)
        for first, last in pairwise(ordered):
            for at in range(first + 1, last - 1):
                left = any(first <= place < at for place in has_number)
                right = any(at < place < last for place in has_number)
                if self.bare[at] in {"and", "then"} and left and right and at not in inside:
                    bounds.add(at)
        ordered = sorted(bounds)
        return [(a, b) for a, b in pairwise(ordered) if b > a]

    def clause(self, at: int) -> tuple[int, int]:
        """The clause that holds a token."""
        return next(((a, b) for a, b in self.clauses if a <= at < b), (0, len(self.bare)))

    def words(self, span: tuple[int, int]) -> str:
        """The words of a token range."""
        return " ".join(self.bare[span[0] : span[1]])


def read_amounts(said: Said, skip: set[int], before: Field | None) -> list[Amount]:
    """Return the amounts of a sentence, in order.

    Parameters
    ----------
    said : Said
        The sentence.
    skip : set of int
        Tokens that are already explained (a breathing pattern).
    before : str or None
        What the last amount of the sentence before measured, for "no, make it twelve".
    """
    if said.is_question and QUESTION.match(said.text):
        return []
    skip = skip | counted_places(said.numbers)
    found: list[Amount] = []
    for number in said.numbers:
        if any(at in skip for at in range(number.first, number.last)) or number.lo == 0 or _is_talk(said, number):
            continue
        corrects = _corrects(said, number, found)
        carried = found[-1].field if found else before
        if _unit(said, number)[1] is not None:
            amount = _measured(said, number, found)
        else:
            amount = _bare(said, number, carried, corrects=corrects, found=found)
        if amount is not None and max(amount.lo or 0, amount.hi or 0) <= (
            MOST if amount.field == "reps" else 3_600
        ):
            found.append(replace(amount, corrects=corrects))
    found = [one for one in found if one.field not in {"per_day", "days_per_week"} or _is_frequency(said, found)]
    return found


def _is_talk(said: Said, number: NumberAt) -> bool:
    """Small talk, a condition, something denied or told."""
    bare, at = said.bare, number.first
    clause = said.clause(at)
    before = bare[at - 1] if at else ""
    after = bare[number.last] if number.last < len(bare) and not said.closed[number.last - 1] else ""
    if before in BEFORE_NO_DOSE or (after in AFTER_NO_DOSE and not _days_a_week(said, number)):
        return True
    if number.unit in {"hour", "year"} or max(number.lo or 0, number.hi or 0) > 999:
        return True
    if (
        before in {"at", "by", "until", "till", "around", "since", "from"}
        and after not in UNITS
        and not number.unit
    ):
        return True
    if bare[number.last : number.last + 2] == ["out", "of"] or bare[max(0, at - 2) : at] == ["out", "of"]:
        return not _days_a_week(said, number)
    if bare[number.last : number.last + 2] in (
        ["of", "us"],
        ["of", "you"],
        ["of", "the"],
        ["is", "too"],
        ["to", "go"],
        ["are", "too"],
    ):
        return True
    if _denied(said, number, clause[0]):
        return True
    if NARRATIVE.search(re.sub(r"\b(?:until|till|before) (?:i|we|you|they)\b.*", "", said.words(clause))):
        return True
    lead = bare[max(clause[0], at - 2) : at]
    return bool(
        re.search(r"\b(?:if|when|until|unless|after|once you've|by the time)\b", said.words((clause[0], at)))
    ) and not any(
        word in {"do", "try", "make", "hold", "repeat", "for", "aim"}
        and (at - 2 < 1 or bare[at - 3] not in {"you", "i", "can", "only"})
        for word in lead
    )


def _days_a_week(said: Said, number: NumberAt) -> bool:
    return bool(
        re.match(
            r"(?:more )?(?:days?|out of (?:seven|the week|7)|of the week)\b",
            " ".join(said.bare[number.last : number.last + 4]),
        )
    ) or (said.bare[max(0, number.first - 2) : number.first] == ["out", "of"])


def _denied(said: Said, number: NumberAt, clause_start: int) -> bool:
    """Whether "not" or "instead of" governs an exact number; "don't hold more than ten" is a ceiling, not a denial."""
    if number.bound == "ceiling" or _over(said, number):
        return False
    left = said.bare[max(clause_start, number.first - 5) : number.first]
    while "but" in left:
        left = left[left.index("but") + 1 :]
    if left[:2] == ["why", "not"] or "forget" in left or "worry" in left:
        return False
    return any(word in NEGATORS for word in left) and not CORRECTION.search(" ".join(left))


def _over(said: Said, number: NumberAt) -> bool:
    """Whether "don't … more than" stands before an exact number."""
    left = said.bare[max(0, number.first - 8) : number.first]
    return (
        number.bound == "exact"
        and " ".join(left[-2:])
        in {"more than", "longer than", "go past", "go over", "go above", "go beyond", "for over"}
        and any(word in NEGATORS for word in left)
    )


def _corrects(said: Said, number: NumberAt, found: Sequence[Amount]) -> bool:
    first = found[-1].last if found else 0
    return bool(CORRECTION.search(said.words((first, number.first))))


def _measured(said: Said, number: NumberAt, found: Sequence[Amount]) -> Amount | None:
    """The amount of a number that names its unit."""
    at, unit = _unit(said, number)
    if unit is None:
        return None
    right = said.bare[at + 1 : at + 6] if not said.closed[at] else []
    tail = " ".join(right)
    once_more = number.value == 1
    if unit in {"second", "minute", "count"}:
        return _time(said, number, at, unit, right, found)
    often = _how_often(tail)
    if unit == "times" and often is not None:
        return _amount(said, number, often[0], at + 1 + often[1], 0.9)
    if unit == "day":
        length = _days_tail(" ".join(said.bare[at + 1 : at + 6]))
        return None if length is None else _amount(said, number, "days_per_week", at + 1 + length, 0.9)
    if (
        re.match(r"(?:as|better|louder|stronger|bigger|easier|worse|harder|more likely|faster|longer)\b", tail)
        and unit == "times"
    ):
        return None
    if unit == "set" or (
        said.bare[at] in {"rounds", "series"}
        and re.match(
            r"of (?:\w+ly )?(?:\d|[a-z]+teen|ten|five|six|eight|twelve|twenty|three|four|two|thirty)", tail
        )
    ):
        if re.match(r"of (?!these|those|them|this|that|our|your|\d)", tail) and not any(
            n.first in {at + 2, at + 3} for n in said.numbers
        ):
            return None
        return (
            None
            if once_more and "more" in said.bare[number.last : at]
            else _amount(said, number, "sets", at + 1, 0.9)
        )
    if once_more and not _counts_once(said, number, at, tail):
        return None
    if unit == "more" and re.match(
        r"(?:to go|left|minutes?|weeks?|days?|things?|questions?|exercises?|thing|from)\b", tail
    ):
        return None
    if not _is_doing(said, number, at, unit):
        return None
    if unit == "more":
        return _amount(said, number, _same(found, None, said, number), at + 1, 0.8)
    return _amount(said, number, "reps", at + 1, 0.9 if unit in {"times", "these", "each", "rep"} else 0.8)


def _unit(said: Said, number: NumberAt) -> tuple[int, Unit | None]:
    """The unit of a number and the token that names it."""
    bare, closed, end = said.bare, said.closed, number.last
    glued = UNITS.get(number.unit)
    if glued is not None:
        return (end - 1, glued)
    if closed[end - 1]:
        return end - 1, None
    rest = " ".join(bare[end : end + 5])
    for pattern, unit in (
        (r"(?:of (?:them|these|those|this|that|each)|like (?:that|this|those))\b", "these"),
        (r"(?:on |per |for |to |with )?(?:each|either|both) (?:side|sides|way|ways|hand|leg|arm|foot|cheek|direction|eye|ear|shoulder|one)\b", "each"),
        (r"per (?:side|leg|arm|hand|foot|way|cheek|shoulder)\b|a side\b|each\b|(?:one|this) way\b|on (?:each|either)\b|(?:on|to|with) (?:the|your) (?:left|right)\b", "each"),
        (r"(?:in (?:all|total|a row)|altogether|again and again)\b", "total"),
    ):  # fmt: skip
        match = re.match(pattern, rest)
        if match:
            return end + len(match.group().split()) - 1, unit  # type: ignore[return-value]
    for at in range(end, min(end + 4, len(bare))):
        unit_here = UNITS.get(bare[at])
        # "six more breaths": the noun says more than "more".
        following = UNITS.get(bare[at + 1]) if at + 1 < len(bare) and not closed[at] else None
        if unit_here == "more" and following not in {None, "each"}:
            continue
        if unit_here is not None:
            return at, unit_here
        if bare[at] in STOPPERS or closed[at] or any(other.first == at for other in said.numbers):
            break
    return end - 1, None


def _how_often(tail: str) -> tuple[Field, int] | None:
    match = re.match(
        r"(?:a|per|each|every|in a|through the|during the|of the) (day|week)\b|(daily)\b|(weekly)\b|(?:every|each) (morning|evening)\b",
        tail,
    )
    if match is None:
        return None
    length = len(match.group().split())
    return ("days_per_week" if match[1] == "week" or match[3] else "per_day"), length


def _days_tail(tail: str) -> int | None:
    """The number of words after "four days" that make it a share of a week; None if they do not."""
    match = re.match(
        r"(?:a|per|each|every|of the|in the|in a|out of the) week\b|out of (?:seven|7)\b|on,? (?:and )?(?:\w+ )?(?:days? )?off\b",
        tail,
    )
    return None if match is None else len(match.group().split())


def _counts_once(said: Said, number: NumberAt, at: int, tail: str) -> bool:
    """Whether "one" or "once" is a dose: "one each way", "once on each side", not "once more" or "once you have"."""
    if number.unit == "times":
        return bool(
            re.match(
                r"(?:on|to|with|for) (?:each|either|both|the)|each (?:side|way)|(?:here|at home|together|with me)",
                tail,
            )
        )
    if "more" in said.bare[number.last : at + 1]:
        return bool(HOME.search(said.words(said.clause(number.first))))
    return UNITS.get(said.bare[at]) != "times" and bool(
        re.search(r"\b(?:each|either|per) (?:side|way|hand|leg|arm|foot|cheek|direction)\b", said.text)
    )


def _is_doing(said: Said, number: NumberAt, at: int, unit: Unit) -> bool:
    """Whether repetitions are asked for, not spoken about."""
    clause = said.clause(number.first)
    own = said.bare[clause[0] : clause[1]]
    lead = number.first - clause[0] <= 2
    placed = bool(
        HOME.search(said.text) or CLASS.search(said.words(clause)) or CLASS_WEAK.search(said.words(clause))
    )
    doing = any(
        word in DOING for word in own if word not in {"it", "this", "that", "these", "those", "them", "again"}
    )
    if said.bare[at] in NOUN_ALONE or unit == "more":
        return doing or placed
    if unit == "times" and said.bare[max(0, number.first - 2) : number.first] == ["the", "first"]:
        return False
    return doing or placed or lead or any(word in DOING for word in said.bare)


def _time(
    said: Said, number: NumberAt, at: int, unit: Unit, right: Sequence[str], found: Sequence[Amount]
) -> Amount | None:
    """The length of an effort or of a rest; other lengths of time are talk."""
    clause = said.clause(number.first)
    left = said.bare[clause[0] : number.first]
    near = left[-6:]
    scale = 60.0 if unit == "minute" else 1.0
    bounds = [None if end is None else end * scale for end in (number.lo, number.hi)]
    ceiling = _over(said, number)
    if ceiling:
        bounds = [None, bounds[1]]
    if any(word in RESTING for word in right[:3]) or _last(near, RESTING - {"off"}) > _last(near, HOLDING):
        if "without" in near or ("pause" in near and "between" not in said.bare and "rest" not in said.bare):
            return None
        return _amount(said, number, "rest_s", at + 1, 0.85, bounds)
    previous = said.bare[: clause[0]]
    if not left and clause[0] and "rest" in previous[-3:]:
        return _amount(said, number, "rest_s", at + 1, 0.7, bounds)
    if any(word in WAITING for word in [*near, *right[:3]]) or right[:1] == ["to"] or right[:2] == ["on", "my"]:
        return None
    if near[-1:] in (["in"], ["within"], ["after"], ["every"]) and not re.search(r"\bas many\b", said.text):
        return None
    if re.search(r"\bafter (?:\w+ )?(?:meals?|eating|food|dinner|lunch)\b", said.text):
        return None
    sure = 0.9
    if unit == "count":
        sure = 0.6
        if right[:1] and right[0] in {"up", "down", "in", "out"}:
            return None
    glued = UNITS.get(number.unit) in {"second", "minute"} and bool(right) and number.last - number.first == 1
    alone = near[-1:] == ["for"] and bool(HOME.search(said.text))
    effort = any(word in HOLDING for word in near) or alone or (near[-1:] == ["for"] and _is_practice(said))
    ellipsis = not left and (len(said.bare) <= 6 or any(word in HOLDING for word in said.bare))
    each = right[:1] in (["each"], ["hold"], ["holds"], ["at"], ["per"])
    each = each or (near[-1:] in (["of"], ["x"], ["×"]) and bool(found) and number.first - found[-1].last <= 1)
    full = alone and (said.bare[number.first] != "a" or bool({"full", "whole"} & set(said.bare)))
    if unit == "minute" and number.value == 1 and not (full or any(word in HOLDING for word in said.bare)):
        return None  # "for a minute" is a way of speaking
    if not (glued or effort or ellipsis or each or ceiling):
        return None
    if ellipsis and not (glued or effort or each or ceiling) and (len(said.bare) > 6 or unit == "minute"):
        sure = 0.6
    return _amount(said, number, "hold_s", at + 1, min(sure, 0.9 if effort or glued else 0.75), bounds)


def _is_practice(said: Said) -> bool:
    return any(word in DOING or word in HOLDING for word in said.bare)


def _last(words: Sequence[str], kind: frozenset[str]) -> int:
    return max((at for at, word in enumerate(words) if word in kind), default=-1)


def _bare(
    said: Said, number: NumberAt, carried: Field | None, *, corrects: bool, found: Sequence[Amount]
) -> Amount | None:
    """The amount of a number without a unit: by the word of doing before it, or by what it goes on from."""
    bare = said.bare
    clause = said.clause(number.first)
    left = bare[clause[0] : number.first]
    near = left[-4:]
    ended = said.closed[number.last - 1] or number.last >= len(bare)
    after = "" if ended else bare[number.last]
    own = said.words(clause)
    if number.unit == "times":
        return _often(said, number)
    if _UNITLESS_STOP.match(" ".join(bare[number.last : number.last + 3])) and not ended:
        return None
    count = re.search(r"\bcount (?:of|to|for)(?: about| a slow)?$|\bcount(?:ing)?$", " ".join(left))
    if count:
        held = any(word in HOLDING for word in bare) or "for a" in " ".join(left)
        return (
            _amount(said, number, "hold_s", number.last, 0.6)
            if held and after not in {"in", "out", "up", "down"}
            else None
        )
    if number.value == 1 and not corrects:
        return None
    if _over(said, number):
        field: Field = "hold_s" if any(word in {"hold", "holding", "longer"} for word in left) else "reps"
        return _amount(said, number, field, number.last, 0.8, [None, number.hi])
    open_end = ended or after in {"and", "then", "with", "at", "on", "here", "now", "today", "together", "please", "will", "is", "in",
                                  "from", "for", "if", "when", "by", "before", "later", "again", "or", "but", "tonight", "every",
                                  "would", "are", "too", "also", "of", "slowly", "gently", "nice", "each", "this", "until", "a"}  # fmt: skip
    if corrects and open_end and carried is not None:
        return _amount(said, number, carried, number.last, 0.85)
    if (
        bare[number.first - 1 : number.first] == ["of"]
        and found
        and found[-1].field == "sets"
        and number.first - found[-1].last <= 3
    ):
        return _amount(said, number, "reps", number.last, 0.9)
    if near[-1:] == ["for"] or near[-2:] in (["for", "about"], ["for", "around"]):
        if any(word in _HELD for word in left):
            return _amount(said, number, "hold_s", number.last, 0.7) if open_end else None
        if not {"go", "aim", "aiming", "try", "going"} & set(near):
            return None
    if near[-1:] == ["hold"] and open_end and carried is None and len(left) == 1:
        return _amount(said, number, "hold_s", number.last, 0.6)
    placed = HOME.search(own) or CLASS.search(own) or CLASS_WEAK.search(own)
    stays = re.match(
        r"(?:will do|will be|is enough|is plenty|would do|are enough|are plenty|is fine|would be)\b",
        " ".join(bare[number.last : number.last + 3]),
    )
    lead = _lead(said, number, clause[0])
    if lead and open_end:
        return _amount(said, number, _same(found, carried, said, number), number.last, 0.8 if placed else 0.75)
    if (stays or (placed and open_end and (len(near) <= 3 or found))) and number.bound != "ceiling":
        return _amount(said, number, _same(found, carried, said, number), number.last, 0.7)
    if number.bound in {"floor", "ceiling", "range"} and (
        lead or (open_end and len(left) <= 2 and (found or carried or len(bare) <= 6 or _is_practice(said)))
    ):
        return _amount(said, number, _same(found, carried, said, number), number.last, 0.65)
    noun = _noun(said, number)
    if noun is not None and lead:
        return _amount(said, number, "reps", noun, 0.75)
    return None


_HELD = {"hold", "holding", "keep", "stay", "squeeze", "press", "stretch", "balance", "sustain"}
_UNITLESS_STOP = re.compile(
    r"(?:things?|of us|of you|o'clock|past|to go|left\b(?! side)|and a\b|plus|minus|or so people)"
)


def _same(found: Sequence[Amount], carried: Field | None, said: Said, number: NumberAt) -> Field:
    """What a bare number measures that stands against an earlier one: "one set with me, two more later"."""
    if (
        found
        and found[-1].field in {"sets", "hold_s"}
        and said.clause(found[-1].first) != said.clause(number.first)
    ):
        return found[-1].field
    return "reps"


def _lead(said: Said, number: NumberAt, clause_start: int) -> bool:
    """Whether a word of doing leads up to the number, over at most two small words."""
    left = said.bare[max(clause_start, number.first - 4) : number.first]
    for word in reversed(left):
        if word in LEADS:
            text = " ".join(left)
            if word in {"is", "be", "that's", "it's"}:
                return bool(
                    re.search(r"\b(?:target|dose|aim|goal|number|homework|rule) (?:is|will be|should be)\b", text)
                )
            if word in {"make", "makes", "take", "go", "work", "begin", "start", "be", "build"}:
                return bool(
                    re.search(
                        r"\b(?:make (?:it|that|them)|go (?:to|up to|for|on to)|start (?:with|at|from)|begin with|work up to|build up to|take)\b",
                        text,
                    )
                )
            if word in {"want", "need", "like", "say", "says", "give", "have"}:
                return not re.search(r"\b(?:i|we|they) (?:need|want|like|have)\b", text) or bool(
                    re.search(r"\bi want (?:you|everyone)\b|\bi want$", text)
                )
            return True
        if word not in {"for", "to", "with", "me", "you", "another", "a", "about", "around", "them", "it", "this", "that", "these", "those", "at", "of",
                        "just", "only", "us", "say", "up", "the", "your", "good", "roughly", "maybe", "everyone", "or", "some", "full"}:  # fmt: skip
            return False
    return False


def _noun(said: Said, number: NumberAt) -> int | None:
    """The end of "do ten tongue presses": a plural noun that closes the phrase."""
    if said.closed[number.last - 1]:
        return None
    for at in range(number.last, min(number.last + 5, len(said.bare))):
        word = said.bare[at]
        if word in STOPPERS:
            return None
        final = said.closed[at] or at + 1 == len(said.bare) or said.bare[at + 1] in STOPPERS
        if final:
            return (
                at + 1
                if word.endswith("s") and len(word) > 3 and word not in NOT_DONE and not word.endswith("ss")
                else None
            )
    return None


def _often(said: Said, number: NumberAt) -> Amount | None:
    """ "Twice" without a day or week."""
    tail = " ".join(said.bare[number.last : number.last + 3])
    if number.value == 1 and not re.match(r"(?:on|to|with) (?:each|either|both)|each (?:side|way)", tail):
        return None
    if re.match(r"(?:as|the|a month|a year|an hour)\b", tail):
        return None
    return (
        _amount(said, number, "reps", number.last, 0.8)
        if _is_doing(said, number, number.last - 1, "times")
        else None
    )


def _is_frequency(said: Said, found: Sequence[Amount]) -> bool:
    """Whether "twice a day" says how often to exercise, not how often something happens."""
    if any(one.field not in {"per_day", "days_per_week"} for one in found):
        return True
    covered = {at for one in found for at in range(one.first, one.last)}
    others = [word for at, word in enumerate(said.bare) if at not in covered]
    return all(word in FREQUENCY_FILLER for word in others) or any(
        word in DOING - {"it", "this", "that", "these", "those", "them", "give", "take", "go", "open", "close"}
        for word in others
    )


def _amount(
    said: Said, number: NumberAt, field: Field, last: int, sure: float, bounds: Sequence[float | None] | None = None
) -> Amount:
    lo, hi = bounds if bounds is not None else (number.lo, number.hi)
    text = said.words((max(0, number.first - 2), number.last))
    if said.closed[last - 1] is False and said.bare[last : last + 2] in (["each", "side"], ["each", "way"]):
        last += 2
    return Amount(
        field,
        lo,
        hi,
        number.first,
        last,
        sure,
        widens=bool(re.search(r"\b(?:work|build|working|building)\b", text)),
    )


def placed(said: Said, amounts: Sequence[Amount], carried: Where) -> list[Amount]:
    """Say of each amount whether it holds in class or at home."""
    marks = list(_marks(said))
    result = []
    for amount in amounts:
        first, last = said.clause(amount.first)
        own = [(at, where) for at, where in marks if first <= at < last]
        before = [where for at, where in own if at <= amount.first]
        earlier = [where for at, where in marks if at < first]
        later = [(at, where) for at, where in marks if at >= last]
        rivals = any(o.field == amount.field and o.first >= last and not o.corrects for o in amounts)
        where: Where = carried
        if before:
            where = before[-1]
        elif own:
            where = own[0][1]
        elif earlier:
            where = earlier[-1]
        elif later and later[0][1] == "home" and rivals:
            where = "class"
        elif later and not (later[0][1] == "class" and rivals):
            where = later[0][1]
        elif later:
            where = "home" if carried == "home" else "class"
        elif amount.field in {"per_day", "days_per_week"}:
            where = "home"
        result.append(replace(amount, where=where))
    return result


def _marks(said: Said) -> Iterator[tuple[int, Where]]:
    found: list[tuple[int, Where, bool]] = []
    for pattern, where, strong in ((HOME, "home", True), (CLASS, "class", True), (CLASS_WEAK, "class", False)):
        for match in pattern.finditer(said.text):
            found.append((said.token_at(match.start()), "home" if where == "home" else "class", strong))
    for at, where, strong in sorted(found):
        clause = said.clause(at)
        if strong or not any(s and clause[0] <= a < clause[1] for a, _, s in found):
            yield at, where
