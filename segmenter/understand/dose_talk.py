"""Numbers that are no doses: labels, clock times, ages, other measures, conditions, stories, things denied."""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import takewhile

from segmenter.understand.dose_clauses import Spot
from segmenter.understand.dose_grammar import ASKING, PAST, PERSON, PREPOSITIONS, PRESENT, opens_with, person_before
from segmenter.understand.dose_words import (
    AFTER_NO_DOSE,
    BEFORE_NO_DOSE,
    BODY,
    CORRECTION,
    DOING,
    LONG_AGO,
    NEGATORS,
    OURS,
    QUESTION,
    UNITS,
)

_CLOCK = frozenset({"at", "by", "until", "till", "around", "since", "past"})
_NOT_OURS = frozenset(
    {"of us", "of you", "of the", "is too", "are too", "to go", "would be", "o'clock in", "of my", "of our"}
)
_BEYOND = frozenset({"more than", "longer than", "go past", "go over", "go above", "go beyond", "for over"})
_CONDITION = re.compile(r"\b(?:if|when|until|unless|after|once (?:you|it|that|they|we)(?:'\w+)?|by the time)\b")
_PLACE = re.compile(
    r"\b(?:when|once|if) (?:you're|you are|you get|you practi[sc]e|watching)(?: it| this)?(?: back)?(?: at)? home\b"
)
_POLITE = re.compile(
    r"\bif you (?:would|could|will|might|don't mind|please)\b"
    r"|\bif (?:you (?:can|like|fancy|wish|are able|manage it)"
    r"|(?:you've|you have|there's) (?:got )?(?:the )?time|(?:it's|it is) (?:on|in) your (?:page|sheet|list|plan))"
    r"(?= (?:up to|about|just|only|maybe|perhaps)$|$)"
)
_WEEK = re.compile(r"(?:more )?(?:days?|out of (?:seven|the week|7)|of the week|nights?|mornings?|evenings?)\b")
_HERE = re.compile(r"\b(?:here|together|class|room|hall|today|session|with me|enough|plenty|homework|all)\b")
_OF_THINGS = frozenset({"takes", "took", "costs", "has", "had", "happens", "lasted", "goes", "opens"})
_PASSED = frozenset({"down", "done", "gone", "left", "already", "now", "on", "to", "in", "there"})
_JOINS = frozenset(
    {"until", "till", "before", "when", "if", "and", "while", "because", "so", "as", "after", "then", "once"}
)
_UNSUITED = re.compile(
    r"\b(?:if|when|once) (?:\w+(?:'\w+)? ){1,6}(?:long|hard|much|many|short|tired|easy|worse|sore|dizzy|wobbly|heavy|strong)\b"
)
_OF_VIEWERS = re.compile(r"\b(?:home|pause|stop|video|recording)\b")
_INVERTED = re.compile(
    r"(?:and |so |now )*(?:did|have|had|were|was) (?:you|we|they|he|she)\b|how (?:many|long|did)\b"
)
_ORDERS = frozenset({"do", "try", "make", "hold", "repeat", "for", "aim", "take", "give", "pause", "stop", "just"})
_COUNTED = frozenset({"counted", "said", "told", "asked"})
_TURNS_TO_YOU = re.compile(
    r"(?<!they )\b(?:and|then) (?:hold|keep|stay|rest|squeeze)(?: (?:it|that|there|still))? for$"
)
"""What one person did is past; an order right after it is nobody's but the viewer's."""


def is_talk(spot: Spot) -> bool:
    """Whether a number is small talk, a condition, something denied or something told."""
    before = spot.left[-1] if spot.left else ""
    following = spot.after[0] if spot.after else ""
    pointed = before in {"the", "all"} and spot.after[:2] in (
        ["of", "them"],
        ["of", "these"],
        ["of", "us"],
        ["of", "those"],
    )
    labelled = before in BEFORE_NO_DOSE and following not in UNITS and not spot.number.unit
    if pointed or labelled or " ".join(spot.after[:2]) in _NOT_OURS:
        return True
    if spot.number.unit in {"hour", "year"} or max(spot.number.lo or 0, spot.number.hi or 0) > 999:
        return True
    if following in AFTER_NO_DOSE or (before in _CLOCK and following not in UNITS and not spot.number.unit):
        return not _in_week(spot)
    if spot.after[:2] == ["out", "of"] or spot.said.bare[max(0, spot.number.first - 2) : spot.number.first] == [
        "out",
        "of",
    ]:
        return not _WEEK.match(" ".join(spot.after))
    clock = following == "to" and any(other.first == spot.number.last + 1 for other in spot.said.numbers)
    beside = any(
        (
            (spot.number.last == other.first and not spot.ended)
            or (spot.number.first == other.last and not spot.said.closed[other.last - 1])
        )
        and not other.unit
        and other.bound == "exact"
        for other in spot.said.numbers
    )
    if beside and not spot.number.unit and following not in UNITS and following != "more":
        return True  # "four fifty" is a price, or a count
    sum_of = {"away", "plus", "minus", "equals"} & set(spot.left[-1:]) or following in {"plus", "minus"}
    sum_of = sum_of or spot.after[:2] in (["from", "that"], ["from", "it"])
    if sum_of or spot.left[-2:] in (["of", "the"], ["of", "your"]):
        return True
    if clock or spot.left[opens_with(spot.left) :] == ["last"]:
        return True
    return _denied(spot) or is_told(spot) or _is_condition(spot) or _is_way_out(spot)


def is_asked_back(spot: Spot) -> bool:
    """Whether the number stands in a question that wants an answer, not exercise."""
    if not spot.said.is_question:
        return bool(_INVERTED.match(spot.own))
    last = spot.said.clause(len(spot.said.bare) - 1) == spot.clause
    return bool(QUESTION.match(spot.said.text)) or (last and bool(QUESTION.match(spot.own)))


def limits(spot: Spot) -> bool:
    """Whether "don't … more than" makes an exact number the most that is allowed."""
    left = spot.said.bare[max(0, spot.number.first - 8) : spot.number.first]
    return spot.number.bound == "exact" and " ".join(left[-2:]) in _BEYOND and bool(NEGATORS & set(left))


def is_told(spot: Spot) -> bool:
    """Whether the clause tells of somebody, or of something past, instead of asking.

    Who the clause is about decides: "you" and orders ask; "we" asks, and tells of this class when past; "I" asks
    with a verb of asking; others are told about.
    """
    if LONG_AGO.search(spot.own):
        return True
    person, verbs = person_before(spot.left)
    verb = next((word for word in verbs if word not in {"only", "just", "also", "all", "already", "then"}), "")
    past = (
        bool(set(verbs[:4]) & PAST) or verb == "'ve" or (verb in {"have", "has"} and bool(set(verbs[1:3]) & PAST))
    )
    match person:
        case "other":
            return "those" not in spot.left[-6:] and not _TURNS_TO_YOU.search(" ".join(spot.left))
        case "i":
            asks = (
                bool(set(verbs[:5]) & (ASKING | {"'ll", "'d"}))
                and "'ve" not in verbs
                and not set(verbs[:3]) & _COUNTED
            )
            return not asks and spot.left[-2:] != ["count", "to"]
        case "we":
            return past and not ({"did", "made", "done"} & set(verbs[:4]))
        case "you":
            return past and verb != "'ve"
        case "thing":
            return _is_remark(spot, verbs, past=past)
        case _:
            return _is_about_thing(spot)


def _is_remark(spot: Spot, verbs: Sequence[str], *, past: bool) -> bool:
    """ "That was eight", "there are three", "it takes two": remarks, unless they speak of what is done here."""
    if verbs[:1] == ["there"] or set(verbs[:2]) & _OF_THINGS:
        return True
    here = bool(_HERE.search(spot.own))
    if past:
        return not here
    if spot.left[-1:] != ["that's"]:
        return False
    # "That's eight" counts along; "that's eight a side" asks.
    timed = UNITS.get(spot.after[0] if spot.after else "") in {"second", "minute"}
    rest = spot.after[1:] if timed else spot.after
    asks = bool(rest) and rest[0] not in _PASSED
    return not (asks or here or spot.number.unit == "times")


def was_done(spot: Spot) -> bool:
    """Whether a length of time is told of what was just done: "that was five seconds"."""
    person, verbs = person_before(spot.left)
    timed = UNITS.get(spot.number.unit) or UNITS.get(spot.after[0] if spot.after else "")
    return timed in {"second", "minute"} and person == "thing" and "was" in verbs[:2]


def _is_about_thing(spot: Spot) -> bool:
    """Whether a noun that is no part of exercising is the subject: "the kettle takes three minutes"."""
    own = spot.said.bare[spot.clause[0] : spot.clause[1]]
    own = own[opens_with(own) :]
    before = spot.left[opens_with(spot.left) :]
    if len(own) < 3 or PERSON.get(own[0]) in {"you", "we"}:
        return False
    if before and before[0] in {
        "the",
        "my",
        "our",
        "a",
        "an",
        "some",
        "most",
        "his",
        "her",
        "their",
        "half",
        "one",
    }:
        at = next((at for at, w in enumerate(before) if at > 1 and (w in PAST or w in PRESENT)), None)
        head = list(takewhile(lambda word: word not in PREPOSITIONS, before[1:at]))
        ours = set(head) & (OURS | BODY | DOING) or any(word.rstrip("s") in BODY | DOING for word in head)
        return at is not None and not ours
    if not before and spot.after:
        joins = next((at for at, word in enumerate(spot.after) if word in _JOINS), 5)
        rest = spot.after[:joins]
        return any(word in PAST or PERSON.get(word) in {"other", "i"} for word in rest)
    # A bare past verb after a plain noun: "class ran for ten minutes".
    return bool(before) and before[0] not in PREPOSITIONS | DOING and any(w in PAST for w in before[1:3])


def _is_way_out(spot: Spot) -> bool:
    """Whether the number is what to do if the asked one does not suit: "if six is long, make five"."""
    before = spot.said.words(0, spot.number.first)
    return spot.number.bound == "exact" and bool(_UNSUITED.search(before)) and not _OF_VIEWERS.search(before)


def _in_week(spot: Spot) -> bool:
    return bool(_WEEK.match(" ".join(spot.after)))


def _denied(spot: Spot) -> bool:
    """Whether "not" or "instead of" governs an exact number."""
    if spot.number.bound == "ceiling" or limits(spot):
        return False
    left = spot.left[-5:]
    while "but" in left:
        left = left[left.index("but") + 1 :]
    if left[:2] == ["why", "not"] or "forget" in left or "worry" in left:
        return False
    return bool(NEGATORS & set(left)) and not CORRECTION.search(" ".join(left))


def _is_condition(spot: Spot) -> bool:
    if not _CONDITION.search(_POLITE.sub("", _PLACE.sub("", " ".join(spot.left)))):
        return False
    # "If you are watching do ten": an order right before the number ends the condition.
    order = [at for at, word in enumerate(spot.left[-4:], max(0, len(spot.left) - 4)) if word in _ORDERS]
    return not any(at == 0 or spot.left[at - 1] not in {"you", "i", "can", "only", "to"} for at in order)
