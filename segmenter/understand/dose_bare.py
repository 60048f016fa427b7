"""Numbers without a unit: what they measure shows in the word before, or in what they go on from."""

from __future__ import annotations

import re
from collections.abc import Sequence

from segmenter.understand.dose_clauses import Amount, Field, Spot
from segmenter.understand.dose_talk import limits
from segmenter.understand.dose_words import CLASS, CLASS_WEAK, DOING, HOLDING, HOME, LEADS, NOT_DONE, STOPPERS


def _all(words: str) -> frozenset[str]:
    return frozenset(words.split())


_ENDS = _all(
    "and then with at on here now today together please will is in from for if when by before later again or but tonight "
    "every would are too also of slowly gently nice each this until a"
)
"""Words after which a number stands for itself."""
_SMALL = _all(
    "for to with me you another a about around them it this that these those at of just only us say up the your good roughly "
    "maybe everyone or some full somewhere anywhere an even round solid whole nice other"
)
"""Words that may stand between a word of doing and its number."""
_HELD = _all(
    "hold holding keep stay squeeze press stretch balance sustain push smile tense clench hum open pucker purse tuck"
)
_OTHER = re.compile(r"things?\b|o'clock|past\b|to go\b|left\b(?! side)|and a\b|plus\b|minus\b|or so people")
_STAYS = re.compile(r"(?:will|would) (?:do|be)\b|(?:is|are) (?:enough|plenty|fine)\b")
_COUNT = re.compile(r"\bcount (?:of|to|for)(?: about| a slow)?$|\bcount(?:ing)?$")


def read_bare(spot: Spot, found: Sequence[Amount], before: Field | None, *, corrects: bool) -> Amount | None:
    """Read a number without a unit.

    Parameters
    ----------
    spot : Spot
        The number.
    found : sequence of Amount
        What the sentence asked for before.
    before : str or None
        What the sentence before measured last.
    corrects : bool
        Whether a word of correction stands before.
    """
    number = spot.number
    if not spot.ended and _OTHER.match(" ".join(spot.after[:3])):
        return None
    if _COUNT.search(" ".join(spot.left)):
        held = HOLDING & set(spot.said.bare) - {"count"} or "for a" in " ".join(spot.left)
        moving = spot.after[:1] in (["in"], ["out"], ["up"], ["down"]) and spot.after[1:2] != ["your"]
        return spot.makes("hold_s", number.last, 0.6) if held and not moving else None
    if limits(spot):
        field: Field = "hold_s" if {"hold", "holding", "longer"} & set(spot.left) else "reps"
        return spot.makes(field, number.last, 0.8, (None, number.hi))
    if number.value == 1 and not corrects:
        return None
    open_end = spot.ended or spot.after[0] in _ENDS
    carried = found[-1].field if found else before
    if corrects and open_end and carried is not None:
        return spot.makes(carried, number.last, 0.85)
    if spot.left[-1:] == ["of"] and _of_sets(spot, found):
        return spot.makes("reps", number.last, 0.9)
    if open_end and spot.left[-2:] in (["relax", "for"], ["rest", "for"]):
        return spot.makes("rest_s", number.last, 0.7)
    if open_end and _is_hold(spot, carried):
        return spot.makes("hold_s", number.last, 0.7)
    return _done(spot, found, open_end=open_end, carried=carried)


def goes_on(spot: Spot, found: Sequence[Amount]) -> Field:
    """What a number measures that stands against an earlier one: "one set with me, two more later"."""
    if found and found[-1].field in {"sets", "hold_s"} and spot.said.clause(found[-1].first) != spot.clause:
        return found[-1].field
    return "reps"


def _done(spot: Spot, found: Sequence[Amount], *, open_end: bool, carried: Field | None) -> Amount | None:
    """A number of repetitions: after a word of doing, or beside a word of place."""
    number, lead = spot.number, _has_lead(spot)
    somewhere = bool(HOME.search(spot.own) or CLASS.search(spot.own) or CLASS_WEAK.search(spot.own))
    field = goes_on(spot, found)
    if spot.left[-1:] == ["for"] and not {"go", "aim", "aiming", "try", "going"} & set(spot.left[-4:]):
        return None
    if lead and open_end:
        return spot.makes(field, number.last, 0.8 if somewhere else 0.75)
    beside = somewhere and open_end and (len(spot.left[-4:]) <= 3 or bool(found))
    if number.bound != "ceiling" and (beside or _STAYS.match(" ".join(spot.after))):
        return spot.makes(field, number.last, 0.7)
    if number.bound != "exact":
        asked = carried or somewhere or len(spot.said.bare) <= 6 or (DOING | HOLDING) & set(spot.said.bare)
        if lead or (open_end and len(spot.left) <= 2 and asked):
            return spot.makes(field, number.last, 0.65)
    noun = _noun(spot) if lead else None
    return None if noun is None else spot.makes("reps", noun, 0.75)


def _of_sets(spot: Spot, found: Sequence[Amount]) -> bool:
    """ "Three sets of ten", "a set of five"."""
    near = bool(found) and found[-1].field == "sets" and spot.number.first - found[-1].last <= 3
    return near or spot.left[-2:-1] in (["set"], ["lot"], ["round"], ["batch"])


def _is_hold(spot: Spot, carried: Field | None) -> bool:
    """ "Hold for five", "press for five"; a lone "hold five"."""
    left = spot.left
    if left[-1:] == ["for"] or left[-2:] in (["for", "about"], ["for", "around"]):
        return bool(_HELD & set(left))
    return left == ["hold"] and carried is None


def _has_lead(spot: Spot) -> bool:
    """Whether a word of doing leads up to the number, over a few small words."""
    left = spot.left[-5:]
    text = " ".join(left)
    for word in reversed(left):
        if word in LEADS:
            return _leads(word, text)
        if word not in _SMALL:
            return False
    return False


def _leads(word: str, text: str) -> bool:
    if word in {"is", "be", "that's", "it's"}:
        return bool(re.search(r"\b(?:target|dose|aim|goal|number|homework|rule) (?:is|will be|should be)\b", text))
    if word in {"make", "makes", "take", "go", "work", "begin", "start", "build"}:
        orders = r"\b(?:make (?:it|that|them)|go (?:to|up to|for|on to)|(?:start|begin) (?:with|at|from)|(?:work|build) up to|take)\b"
        return bool(re.search(orders, text))
    if word in {"want", "need", "like", "say", "says", "give"}:
        return not re.search(r"\b(?:i|we|they) (?:need|want|like)\b(?! (?:you|everyone))(?!$)", text)
    return True


def _noun(spot: Spot) -> int | None:
    """The end of "do ten tongue presses": a plural noun that closes the phrase."""
    bare, closed = spot.said.bare, spot.said.closed
    if spot.ended:
        return None
    for at in range(spot.number.last, min(spot.number.last + 5, len(bare))):
        word = bare[at]
        if word in STOPPERS:
            return None
        if closed[at] or at + 1 == len(bare) or bare[at + 1] in STOPPERS:
            plural = word.endswith("s") and not word.endswith("ss") and len(word) > 3 and word not in NOT_DONE
            return at + 1 if plural else None
    return None
