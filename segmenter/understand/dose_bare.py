"""Numbers without a unit: "do ten", "five together", "the other seven on your own".

In an exercise class a number that stands for itself, with no noun of its own, counts repetitions, unless its
place says otherwise: after "hold" it is a length, in a correction it is what it corrects.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from segmenter.understand.dose_clauses import Amount, Field, Said, Spot
from segmenter.understand.dose_grammar import FUNCTION, PAST, PERSON, all_of, is_foreign, opens_with, person_before
from segmenter.understand.dose_places import HOME_LIFE
from segmenter.understand.dose_talk import limits
from segmenter.understand.dose_words import BODY, CLASS, DOING, HOLDING, HOME, LEADS, NOT_DONE, STOPPERS

_SOFT = all_of("about around roughly maybe only just say another a full good solid round perhaps or even all nearly almost some "
               "you me us everyone please the your it them that these those this up")  # fmt: skip
"""Words that may stand between a word of doing and its number."""
_HELD = all_of("hold holding keep keeping stay squeeze press stretch balance sustain push smile tense clench hum open pucker purse tuck "
               "rest lock stand lean lift glide sing freeze remain blow puff")  # fmt: skip
_AIMED = all_of("go aim aiming try going trying shoot shooting push reach settle ask asking looking look")
_NO_REPS = all_of(
    "at by until till since in from past after before on than with into between without you'd number as"
)
"""Words right before a number that is no number of repetitions."""
_FEW = 12
"""Words up to which an ask may be a fragment."""
_OTHER = re.compile(
    r"things?\b|o'clock|past\b|to go\b|and a\b|plus\b|minus\b|or so people|left\b(?! (?:side|hand|leg|arm|foot))|of (?:my|our|the|his|her|us|you)\b|more to\b|is\b|are\b|was\b|gone\b|down\b"
)
_STAYS = re.compile(
    r"(?:will|would) (?:do|be)\b|(?:is|are) (?:what|all|enough|plenty|fine|the|your|sufficient|ideal|good|grand|heaps|right|okay|our|quite|more than)\b"
)
_COUNT = re.compile(r"\bcount(?:ing)? (?:of|to|for|up to)(?: about| a slow)?$|\bcount(?:ing)?$")


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
    stays = not spot.ended and bool(_STAYS.match(" ".join(spot.after)))
    if not spot.ended and not stays and _OTHER.match(" ".join(spot.after[:3])):
        return None
    if _COUNT.search(" ".join(spot.left)):
        return _counted(spot)
    if limits(spot):
        field: Field = "hold_s" if {"hold", "holding", "longer"} & set(spot.left) else "reps"
        return spot.makes(field, number.last, 0.8, (None, number.hi))
    if (number.value == 1 and not corrects) or spot.said.bare[number.first - 1 : number.first] == ["a"]:
        return None
    open_end = spot.ended or not is_foreign(spot.after[0]) or _goes_along(spot)
    carried = found[-1].field if found else before
    if corrects and open_end and carried is not None:
        return spot.makes(carried, number.last, 0.85)
    if spot.left[-1:] in (["of"], ["from"]) and _of_sets(spot, found):
        return spot.makes("reps", number.last, 0.9)
    if open_end and spot.left[-2:] in (["relax", "for"], ["rest", "for"]):
        return spot.makes("rest_s", number.last, 0.7)
    if open_end and _is_hold(spot, carried):
        return spot.makes("hold_s", number.last, 0.7)
    return _done(spot, found, open_end=open_end, stays=stays)


def _goes_along(spot: Spot) -> bool:
    """ "Six lying back": a word in -ing that tells how, not "ten breathing exercises"."""
    return spot.after[0].endswith("ing") and not (len(spot.after) > 1 and is_foreign(spot.after[1]))


def goes_on(spot: Spot, found: Sequence[Amount]) -> Field:
    """What a number measures that stands against an earlier one: "one set with me, two more later"."""
    if found and spot.said.clause(found[-1].first) != spot.clause:
        elsewhere = HOME.search(spot.own) or CLASS.search(spot.own)
        if found[-1].field == "sets" or (found[-1].field == "hold_s" and elsewhere):
            return found[-1].field
    return "reps"


def _counted(spot: Spot) -> Amount | None:
    """ "Hold while I count to five": as long as the count; "we count to ten" alone is a deed."""
    others = set(spot.said.bare) - {"count", "reach", "up"}
    mine = bool({"i", "i'll", "for", "of"} & set(spot.left[-6:])) or spot.left[:1] == ["count"]
    held = mine and (HOLDING & others or "for a" in " ".join(spot.left) or "of" in spot.left[-1:])
    moving = spot.after[:1] in (["in"], ["out"], ["up"], ["down"]) and spot.after[1:2] != ["your"]
    return (
        spot.makes("hold_s", spot.number.last, 0.6, (spot.number.hi, spot.number.hi))
        if held and not moving
        else None
    )


def _done(spot: Spot, found: Sequence[Amount], *, open_end: bool, stays: bool) -> Amount | None:
    """A number of repetitions, told by what stands before it."""
    number, field = spot.number, goes_on(spot, found)
    if stays:
        return spot.makes(field, number.last, 0.7)
    left = list(spot.left[opens_with(spot.left) :])
    while left and left[-1] in _SOFT and not (PERSON.get(left[-1]) == "you" and len(left) > 1):
        left.pop()
    lead = left[-1] if left else ""
    if lead == "for":
        aimed = bool(_AIMED & set(left[-4:]))
        return spot.makes(field, number.last, 0.75) if aimed and open_end else None
    if (
        lead
        in _NO_REPS - ({"with"} if {"start", "begin", "starting", "finish", "enough"} & set(left[-3:]) else set())
        or (lead == "like" and not {"i'd", "i", "we'd", "would", "should"} & set(left))
        or (lead == "to" and not _reaches(left))
    ):
        return None
    known = lead in LEADS or lead in DOING
    person, _ = person_before(spot.left)
    if not known and is_foreign(lead) and lead and person not in {"you", "we", "i"} and len(left) > 1:
        return None
    if lead in {"it", "'s", "is", "are", "was", "were", "it's", "that's", "be", "it'll"} and not _speaks_of_dose(
        spot, found
    ):
        return None
    sure = 0.8 if known else 0.65
    if not open_end:
        definite = spot.left[-1:] == ["the"] or lead in {"does", "makes", "becomes", "says"}
        if definite:
            return None  # "the two small joints", "it does two jobs"
        noun = _noun(spot) if known or (not lead and _is_order(spot)) else None
        return None if noun is None else spot.makes("reps", noun, 0.75)
    if not left and not _stands(spot, found):
        return None
    return spot.makes(field, number.last, sure)


def stands_alone(spot: Spot) -> bool:
    """Whether the number is all of its clause.

    "Thirty." may be an ask, praise, or the thirtieth: what stands around it decides (`asks_plainly`).
    """
    own = [w for w in spot.said.bare[spot.clause[0] : spot.clause[1]] if w not in {"and", "then", "so"}]
    return spot.number.bound == "exact" and len(own) <= spot.number.last - spot.number.first


def asks_plainly(said: Said, lone: Sequence[Amount]) -> bool:
    """Whether a sentence with a lone number asks: "Eight, please", or "Eight." and then eight are counted."""
    near = said.around
    if len(lone) > 1 or any(amount.hi in near.counted for amount in lone):
        return False
    if near.doing and len(said.bare) <= _FEW:
        return True
    if any(said.bare[n.last : n.last + 1] == ["please"] for n in said.numbers):
        return True
    return len(said.bare) <= 8 and bool(
        {"please", "think", "say", "enough", "plenty", "today", "everyone"} & set(said.bare)
    )


def _stands(spot: Spot, found: Sequence[Amount]) -> bool:
    """Whether a number that opens its clause is asked for: something there must say how, where or for whom."""
    own = spot.said.bare[spot.clause[0] : min(spot.clause[1], spot.number.last + 5)]
    if spot.number.bound != "exact":
        return len(spot.said.bare) <= 12 or bool(found) or bool((DOING | HOLDING) & set(spot.said.bare))
    foreign = [w for w in own if is_foreign(w) and w not in DOING | HOLDING | BODY]
    return stands_alone(spot) or len(foreign) <= 1


def _speaks_of_dose(spot: Spot, found: Sequence[Amount]) -> bool:
    """ "At home it is six", "so it's ten, three times a day": said of a place, or beside another amount."""
    where = HOME.search(spot.said.text) or CLASS.search(spot.said.text) or HOME_LIFE.search(spot.said.text)
    said_so = bool({"target", "dose", "aim", "goal", "rule"} & set(spot.left))
    return bool(where) or bool(found) or said_so or spot.said.around.doing


def _is_order(spot: Spot) -> bool:
    """Whether a fragment such as "ten paces" or "twenty marches" may be an ask."""
    own = set(spot.said.bare[spot.clause[0] : spot.clause[1]])
    asks = bool(own & DOING) or (spot.said.around.doing and len(spot.said.bare) <= _FEW)
    return asks and spot.number.lo != 1 and not (own & PAST or {"are", "is"} & own)


def _reaches(left: Sequence[str]) -> bool:
    return bool(
        all_of("up go going work working build building get getting come stick back down used ask like want make")
        & set(left[-4:])
    )


def _of_sets(spot: Spot, found: Sequence[Amount]) -> bool:
    """ "Three sets of ten", "a set of five"."""
    near = bool(found) and found[-1].field == "sets" and spot.number.first - found[-1].last <= 3
    return near or spot.left[-2:-1] in (["set"], ["lot"], ["round"], ["batch"], ["total"])


def _is_hold(spot: Spot, carried: Field | None) -> bool:
    """ "Hold for five", "press for five"; a lone "hold five"."""
    left = list(spot.left)
    if left[-2:-1] == ["a"] and left[-1] in {"slow", "long", "steady", "lazy"}:
        return True
    if left[-1:] == ["a"]:
        return False
    while left and left[-1] in {"about", "around", "say", "roughly", "a", "just", "only", "maybe", "good", "full"}:
        left.pop()
    if left[-1:] == ["for"]:
        return bool(_HELD & set(left))
    return left[-1:] == ["hold"] and carried is None


def _noun(spot: Spot) -> int | None:
    """The end of "do ten tongue presses": a plural noun that closes the phrase."""
    bare, closed = spot.said.bare, spot.said.closed
    if spot.ended:
        return None
    for at in range(spot.number.last, min(spot.number.last + 5, len(bare))):
        word = bare[at]
        if word in STOPPERS:
            return None
        if closed[at] or at + 1 == len(bare) or bare[at + 1] in STOPPERS or bare[at + 1] in FUNCTION:
            plural = word.endswith("s") and not word.endswith("ss") and len(word) > 3 and word not in NOT_DONE
            return at + 1 if plural else None
    return None
