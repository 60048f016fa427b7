"""Lengths of time: how long an effort is held, how long to rest; all other lengths are talk."""

from __future__ import annotations

import re
from collections.abc import Sequence

from segmenter.understand.dose_clauses import Amount, Spot
from segmenter.understand.dose_grammar import is_foreign, person_before
from segmenter.understand.dose_places import HOME_LIFE
from segmenter.understand.dose_talk import limits
from segmenter.understand.dose_words import BODY, DOING, HOLDING, HOME, RESTING, UNITS, WAITING, Unit

LONG_S = 600
"""Nobody holds anything this long in class."""
_DIRECTIONS = frozenset({"until", "till", "late", "early", "older", "younger", "apart", "slow", "fast"})
_CLOCK_TIME = re.compile(r"\b(?:minutes? and|minutes?) \S+ seconds?\b")
_MEAL = re.compile(r"\bafter (?:\w+ )?(?:meals?|eating|food|dinner|lunch|you eat)\b")
_EACH = re.compile(
    r"(?:each|apiece|holds?|at|per)\b|on (?:the (?:left|right)|each|either)\b|a (?:side|leg|arm|hand)\b|each side\b"
)
_OF_IT = re.compile(r"(?:of|at|on) (?:this|that|it|these|those|\w+ing)\b")
_UP_DOWN = re.compile(r"(?:up|down|in|out)\b")
_ONE = re.compile(r"\b(?:full|whole|one|about|solid|good|60)\b")
_THINK = frozenset({"think", "find", "say", "name", "list"})
_IDIOM = re.compile(
    r"\b(?:off|wait|hang on|bear with|excuse|in|back|sorry|got|have) (?:me )?(?:for )?(?:just )?a minute|just a minute"
)


def read_time(spot: Spot, at: int, unit: Unit, found: Sequence[Amount]) -> Amount | None:
    """Read a time as a hold or a rest.

    Parameters
    ----------
    spot : Spot
        The number.
    at : int
        The token that names the unit.
    unit : str
        ``second``, ``minute`` or ``count``; counts may be longer or shorter than seconds, and are less sure.
    found : sequence of Amount
        What the sentence asked for before.
    """
    scale = 60.0 if unit == "minute" else 1.0
    lo, hi = (None if end is None else end * scale for end in (spot.number.lo, spot.number.hi))
    most = limits(spot)
    bounds = (None if most else lo, hi)
    right = spot.following(at)
    if unit == "minute" and {"break", "breather"} & set(right[:3]):
        return None
    resting = None if WAITING & set(right[:3]) else _rests(spot, right)
    if resting is not None:
        return spot.makes("rest_s", at + 1, resting, bounds) if resting else None
    if _passes(spot, right):
        return None
    near = spot.left[-6:]
    glued = UNITS.get(spot.number.unit) in {"second", "minute"} and bool(right)
    effort = (
        glued
        or near[-2:] in (["give", "me"], ["give", "us"])
        or bool(HOLDING & set(near))
        or (near[-1:] == ["for"] and _practises(spot))
    )
    each = bool(_EACH.match(" ".join(right))) or "each" in [*near, *right[:3]]
    each = each or bool(_OF_IT.match(" ".join(right)))
    each = each or (near[-1:] in (["of"], ["x"], ["×"]) and bool(found) and spot.number.first - found[-1].last <= 1)
    if (
        unit == "minute"
        and (hi or lo or 0) >= LONG_S
        and not (effort or HOME.search(spot.said.text) or HOME_LIFE.search(spot.said.text))
    ):
        return None  # how long the class is
    if unit == "minute" and spot.number.value == 1 and not each and not _is_minute(spot, at):
        return None  # "for a minute" is a way of speaking
    if not (effort or each or most or _is_ours(spot, at, found)):
        return None
    short = len(spot.said.bare) <= 6
    sure = 0.9 if effort else 0.75 if each or most or (short and unit != "minute") else 0.6
    return spot.makes("hold_s", at + 1, min(sure, 0.6) if unit == "count" else sure, bounds)


def _is_minute(spot: Spot, at: int) -> bool:
    lead = " ".join([*spot.left[-3:], spot.said.bare[spot.number.first]])
    if spot.said.bare[spot.number.first] != "a" and _THINK & set(spot.following(at)[:2]):
        return True
    if _IDIOM.search(" ".join([*spot.left[-4:], "a minute"])) and not {"full", "whole"} & set(spot.left[-2:]):
        return False
    return bool(_ONE.search(lead) or HOLDING & set(spot.said.bare)) or not spot.left


def _is_ours(spot: Spot, at: int, found: Sequence[Amount]) -> bool:
    """Whether nothing but exercise stands around a time, so that it is the length of one."""
    own = [*spot.left[-6:], *spot.said.bare[at + 1 : min(spot.clause[1], at + 5)]]
    foreign = [word for word in own if is_foreign(word) and word not in DOING | HOLDING | BODY]
    asked = bool(found) or bool((DOING | HOLDING) & set(spot.said.bare)) or len(own) <= 6
    person, _ = person_before(spot.left)
    return len(foreign) <= 1 and (asked or person in {"you", "we"} or bool(HOME.search(spot.said.text)))


def _rests(spot: Spot, right: Sequence[str]) -> float | None:
    """How surely the time is one of rest; 0 if it is a pause that is no rest, None if it is no rest at all."""
    near = spot.left[-6:]
    recovers = bool(re.search(r"\b(?:get|catch|find) your breath|leave (?:it|them) be\b", " ".join(near)))
    if right[:2] in (["of", "nothing"], ["doing", "nothing"]):
        return 0.85
    if _OF_IT.match(" ".join(right)):
        return None
    if near[-1:] in (["take"], ["have"]) or near[-2:] in (
        ["give", "yourself"],
        ["give", "yourselves"],
        ["take", "a"],
    ):
        told = near[:-1][-1:] in (["we"], ["i"])
        return 0.0 if told else 0.7
    if recovers or RESTING & set(right[:3]) or _last(near, RESTING - {"off"}) > _last(near, HOLDING):
        pause_only = "pause" in near and not {"between", "rest"} & set(spot.said.bare)
        return 0.0 if "without" in near or pause_only else 0.85
    before = spot.said.bare[: spot.clause[0]]
    return 0.7 if not spot.left and {"rest", "sip", "relax"} & set(before[-2:]) else None


def _passes(spot: Spot, right: Sequence[str]) -> bool:
    """Whether the time just passes: waiting, tea, the clock."""
    near = spot.left[-6:]
    if WAITING & {*near, *right[:3]} or right[:1] == ["to"] or right[:2] == ["on", "my"]:
        return right[:1] != ["to"] or not _THINK & set(right[1:2])
    if near[-1:] in (["in"], ["within"], ["after"], ["every"]) and "as many" not in spot.said.text:
        return True
    if spot.said.bare[spot.number.first] == "a" and UNITS.get(near[-1] if near else "") == "rep":
        return True  # "six breaths a minute" is a pace
    if _CLOCK_TIME.search(
        " ".join(
            [
                *near[-3:],
                spot.said.bare[spot.number.first],
                *spot.said.bare[spot.number.last : spot.number.last + 4],
            ]
        )
    ):
        return True
    if near[-1:] in (["have"], ["got"]) and {"we", "we've", "i", "i've"} & set(near):
        return True
    # "Five seconds up, five seconds down" is a tempo; "three seconds up" alone is a hold.
    tempo = bool(right) and bool(_UP_DOWN.match(right[0])) and spot.said.text.count("seconds") > 1
    return bool(_MEAL.search(spot.said.text)) or (bool(right) and right[0] in _DIRECTIONS) or tempo


def _practises(spot: Spot) -> bool:
    return bool((DOING | HOLDING) & set(spot.said.bare))


def _last(words: Sequence[str], kind: frozenset[str]) -> int:
    return max((at for at, word in enumerate(words) if word in kind), default=-1)
