"""Numbers that are no doses: clock times, ages, conditions, stories, things denied."""

from __future__ import annotations

import re

from segmenter.understand.dose_clauses import Spot
from segmenter.understand.dose_words import (
    AFTER_NO_DOSE,
    BEFORE_NO_DOSE,
    CORRECTION,
    NARRATIVE,
    NEGATORS,
    UNITS,
)

_CLOCK = frozenset({"at", "by", "until", "till", "around", "since", "from"})
_NOT_OURS = frozenset({"of us", "of you", "of the", "is too", "are too", "to go", "would be"})
_BEYOND = frozenset({"more than", "longer than", "go past", "go over", "go above", "go beyond", "for over"})
_CONDITION = re.compile(r"\b(?:if|when|until|unless|after|once you've|by the time)\b")
_PLACE = re.compile(
    r"\b(?:when|once|if) (?:you're|you are|you get|you practi[sc]e|watching)(?: it| this)?(?: back)?(?: at)? home\b"
)
_LATER_CLAUSE = re.compile(r"\b(?:until|till|before) (?:i|we|you|they|i've)\b.*")
_WEEK = re.compile(r"(?:more )?(?:days?|out of (?:seven|the week|7)|of the week)\b")


def is_talk(spot: Spot) -> bool:
    """Whether a number is small talk, a condition, something denied or something told."""
    before = spot.left[-1] if spot.left else ""
    following = spot.after[0] if spot.after else ""
    if before in BEFORE_NO_DOSE or " ".join(spot.after[:2]) in _NOT_OURS:
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
    return _denied(spot) or bool(NARRATIVE.search(_LATER_CLAUSE.sub("", spot.own))) or _is_condition(spot)


def limits(spot: Spot) -> bool:
    """Whether "don't … more than" makes an exact number the most that is allowed."""
    left = spot.said.bare[max(0, spot.number.first - 8) : spot.number.first]
    return spot.number.bound == "exact" and " ".join(left[-2:]) in _BEYOND and bool(NEGATORS & set(left))


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
    if not _CONDITION.search(_PLACE.sub("", " ".join(spot.left))):
        return False
    # "If you are watching do ten": an order right before the number ends the condition.
    order = [at for at, word in enumerate(spot.left[-2:], max(0, len(spot.left) - 2))
             if word in {"do", "try", "make", "hold", "repeat", "for", "aim"}]  # fmt: skip
    return not any(at == 0 or spot.left[at - 1] not in {"you", "i", "can", "only"} for at in order)
