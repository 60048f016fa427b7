"""One sentence read for amounts: each number with what it measures.

A number counts only with something that says what it measures (a unit, a word of doing, "of
them"); all other numbers are talk.
"""

from __future__ import annotations

import re
from collections.abc import Sequence, Set
from dataclasses import replace

from segmenter.understand.dose_bare import asks_plainly, goes_on, read_bare, stands_alone
from segmenter.understand.dose_clauses import OFTEN, Amount, Field, Said, Spot
from segmenter.understand.dose_grammar import is_foreign
from segmenter.understand.dose_talk import is_asked_back, is_talk, was_done
from segmenter.understand.dose_times import read_time
from segmenter.understand.dose_words import (
    BODY,
    CLASS,
    CLASS_WEAK,
    CORRECTION,
    DOING,
    FREQUENCY_FILLER,
    HOME,
    MOVES,
    NOT_DONE,
    NOUN_ALONE,
    POINTING,
    QUIET,
    STOPPERS,
    UNITS,
    Unit,
)
from segmenter.understand.numbers import counted_places

MOST_REPS = 400
"""No dose has more repetitions, whatever the noun."""
MOST_S = 3_600
"""No hold is longer."""

_LIMB = r"(?:corners?|sides?|ways?|hands?|legs?|arms?|foot|cheek|directions?|eye|ear|shoulders?|knee|ankle|wrist)"
_PHRASES: tuple[tuple[re.Pattern[str], Unit], ...] = (
    (
        re.compile(
            r"(?:more )?(?:of (?:them|em|'em|these|those|this|that|each|the same|your own)|like (?:that|this|those))\b"
        ),
        "these",
    ),
    (
        re.compile(
            rf"(?:(?:on|per|for|to|with) )?(?:each|either|both) (?:{_LIMB}|one)\b|per {_LIMB}\b|a (?:side|leg|arm|hand|foot)\b|apiece\b"
        ),
        "each",
    ),
    (
        re.compile(
            r"(?:on )?(?:each|either)\b|(?:one|this|that) way\b|(?:on|to|with) (?:the|your) (?:left|right)\b"
        ),
        "each",
    ),
    (re.compile(r"on this side\b|(?:in (?:all|total|a row)|altogether|again and again)\b"), "total"),
)
_OFTEN = re.compile(
    r"(?:a|per|each|every|in a|in the|through the|during the|of the|over the) (day|week)\b|(daily)\b|(weekly)\b|(?:every|each) (?:morning|evening)\b"
)
_SHARE = re.compile(
    r"(?:a|per|each|every|of the|in the|in a|out of the) week\b|out of (?:seven|7)\b|on,? (?:and )?(?:\w+ )?(?:days? )?off\b"
)
_COMPARED = re.compile(
    r"(?:as|better|louder|stronger|bigger|easier|worse|harder|more likely|faster|longer|the|a (?:month|year))\b"
)
_REMARK = re.compile(r"(?:to go|left|minutes?|weeks?|days?|things?|questions?|exercises?)\b")
_SIDED = re.compile(rf"\b(?:each|either|per) {_LIMB}\b|\bon the (?:left|right)\b")
_ONCE = re.compile(
    r"(?:on|to|with|for) (?:each|either|both|the)|each (?:side|way)|(?:here|at home|together|with me)\b"
)
_OPENLY = frozenset({"give", "take", "go", "open", "close"})


def read_amounts(said: Said, skip: Set[int], before: Field | None) -> list[Amount]:
    """Return the amounts of a sentence, in order.

    Parameters
    ----------
    said : Said
        The sentence.
    skip : set of int
        Tokens that are already explained (a breathing pattern, a count).
    before : str or None
        What the last amount of the sentence before measured, for "no, make it twelve".
    """
    skip = skip | counted_places(said.numbers)
    found: list[Amount] = []
    lone: list[Amount] = []
    past: list[Amount] = []
    for number in said.numbers:
        spot = Spot(said, number)
        if skip & set(range(number.first, number.last)) or number.lo == 0 or is_asked_back(spot) or is_talk(spot):
            if was_done(spot) and not skip & set(range(number.first, number.last)):
                scale = 60.0 if unit_of(spot)[1] == "minute" else 1.0
                lo, hi = (None if n is None else n * scale for n in (number.lo, number.hi))
                past.append(spot.makes("hold_s", number.last, 0.5, (lo, hi)))
            continue
        between = said.words(found[-1].last if found else 0, number.first)
        # "We did two, at home make it eight" corrects nothing.
        corrects = bool(CORRECTION.search(between)) and not (found and HOME.search(between))
        at, unit = unit_of(spot)
        if unit is not None:
            amount = _measured(spot, at, unit, found)
        else:
            amount = read_bare(spot, found, before, corrects=corrects)
        if amount is None or max(amount.lo or 0, amount.hi or 0) > (
            MOST_REPS if amount.field == "reps" else MOST_S
        ):
            continue
        if unit is None and not corrects and stands_alone(spot) and not found:
            lone.append(amount)
            continue
        if not _widened(found, amount, said):
            found.append(replace(amount, corrects=corrects))
    # A number all by itself is asked for beside another amount ("Ten, five seconds apiece"), or with a please.
    if lone and (found or asks_plainly(said, lone)) and not any(a.field == lone[0].field for a in found):
        found = [_as_counted(said, lone[0]), *found]
    # "That was five seconds" speaks of the dose where more of it follows: "four of those will do".
    if past and found and not any(a.field == "hold_s" for a in found):
        found = [*past[:1], *found]
    return [one for one in _as_sets(said, found) if one.field not in OFTEN or _is_dose_frequency(said, found)]


def _as_counted(said: Said, amount: Amount) -> Amount:
    """A lone number before a count of seconds that ends with it is a hold."""
    run = said.around.count
    seconds = run is not None and run.kind in {"seconds", "down"} and max(run.numbers) == amount.hi
    return replace(amount, field="hold_s") if seconds else amount


def _widened(found: list[Amount], amount: Amount, said: Said) -> bool:
    """Take "five of those, or six if you like" as five to six, and "ten, and no more than ten" as ten."""
    if not found or found[-1].field != amount.field or (amount.lo is not None and amount.lo != amount.hi):
        return False
    last = found[-1]
    if amount.lo is None and last.hi is not None and last.hi == amount.hi:
        return True
    near = amount.first - last.last <= 2 and said.bare[amount.first - 1] == "or"
    if near and last.lo is not None and last.lo == last.hi and amount.hi is not None and last.lo < amount.hi:
        found[-1] = replace(last, hi=amount.hi, last=amount.last)
        return True
    return False


def _as_sets(said: Said, found: Sequence[Amount]) -> list[Amount]:
    """Read "ten in a row, three times" as three sets of ten."""
    made: list[Amount] = []
    for amount in found:
        last = made[-1] if made else None
        times = set(said.bare[amount.first : amount.last]) & {"times", "twice", "thrice"}
        counted = last is not None and set(said.bare[last.first : last.last]) & {"times", "twice", "thrice", "once"}
        if (
            last is not None and last.field == amount.field == "reps" and times and not counted and not amount.corrects
            and last.lo != amount.lo and not any(one.field == "sets" for one in found)
            and set(said.bare[last.last : amount.first]) <= {"in", "a", "row", "and", "do", "that", "it", "without", "stumble", "then"}
        ):  # fmt: skip
            made.append(replace(amount, field="sets"))
        else:
            made.append(amount)
    return made


def unit_of(spot: Spot) -> tuple[int, Unit | None]:
    """The unit of a number and the token that names it."""
    bare, closed, end = spot.said.bare, spot.said.closed, spot.number.last
    glued = UNITS.get(spot.number.unit)
    if glued is not None or spot.ended:
        return end - 1, glued
    for pattern, unit in _PHRASES:
        match = pattern.match(" ".join(spot.after))
        if match:
            return end + len(match.group().split()) - 1, unit
    starts = {number.first for number in spot.said.numbers}
    for at in range(end, min(end + 4, len(bare))):
        here = UNITS.get(bare[at])
        following = UNITS.get(bare[at + 1]) if at + 1 < len(bare) and not closed[at] else None
        if here is None and not closed[at - 1] and _is_deed(bare[at]):
            return at, "rep"
        # "Six more breaths": the noun says more than "more".
        if here is not None and not (here == "more" and following not in {None, "each"}):
            return at, here
        if bare[at] in STOPPERS or closed[at] or at in starts:
            break
    return end - 1, None


def _is_deed(word: str) -> bool:
    """Whether a plural noun names what is done: "six shouts", "ten kisses"."""
    if word in NOT_DONE or word in BODY or not word.endswith("s") or word.endswith("ss"):
        return False
    return bool({word[:-1], word[:-2]} & MOVES)


def _measured(spot: Spot, at: int, unit: Unit, found: Sequence[Amount]) -> Amount | None:
    """The amount of a number that names its unit."""
    tail = " ".join(spot.following(at))
    if unit in {"second", "minute", "count"}:
        return read_time(spot, at, unit, found)
    often = _OFTEN.match(tail) if unit == "times" else _SHARE.match(tail) if unit == "day" else None
    if unit == "day" and often is None:
        often = _SHARE.match(spot.said.words(at + 1, at + 6))
    if often is not None:
        weekly = unit == "day" or (often.lastindex is not None and ("week" in often.group()))
        return spot.makes("days_per_week" if weekly else "per_day", at + 1 + len(often.group().split()), 0.9)
    if unit == "day" or (unit == "times" and _COMPARED.match(tail)) or (unit == "more" and _REMARK.match(tail)):
        return None
    beside = any(a.field == "reps" and spot.said.bare[at] not in spot.said.bare[a.first : a.last] for a in found)
    rounds = spot.said.bare[at] in {"rounds", "passes"} and (_of_number(spot, at) or beside)
    if unit == "set" or rounds:
        of_things = (
            tail.startswith("of ") and not _of_number(spot, at) and tail.split()[1:2] not in [[w] for w in POINTING]
        )
        once_more = (
            spot.number.value == 1 and "more" in spot.said.bare[spot.number.last : at] and not spot.said.around.away
        )
        return None if of_things or once_more else spot.makes("sets", at + 1, 0.9)
    if not _is_doing(spot, at, unit) or (spot.number.value == 1 and not _counts_once(spot, at, tail)):
        return None
    if re.match(r"(?:a|per|every) minute\b", tail) or _is_quiet_breath(spot, at):
        return None
    if unit == "more":
        return spot.makes(goes_on(spot, found), at + 1, 0.8)
    return spot.makes("reps", at + 1, 0.8 if unit == "total" else 0.9)


def _is_quiet_breath(spot: Spot, at: int) -> bool:
    """Whether breaths are a rest between efforts ("two quiet breaths")."""
    between = set(spot.said.bare[spot.number.last : at])
    return spot.said.bare[at].startswith("breath") and bool(between & QUIET)


def _of_number(spot: Spot, at: int) -> bool:
    """Whether "of ten" follows: the things counted hold a number each."""
    return spot.following(at)[:1] == ["of"] and any(other.first in {at + 2, at + 3} for other in spot.said.numbers)


def _counts_once(spot: Spot, at: int, tail: str) -> bool:
    """Whether "one" or "once" is a dose: "one each way", "once on each side", not "once more" or "once you have"."""
    if spot.number.unit == "times":
        return bool(_ONCE.match(tail))
    if "more" in spot.said.bare[spot.number.last : at + 1]:
        return bool(HOME.search(spot.own)) or spot.said.around.away
    return UNITS.get(spot.said.bare[at]) != "times" and bool(_SIDED.search(spot.said.text))


def _is_doing(spot: Spot, at: int, unit: Unit) -> bool:
    """Whether repetitions are asked for, not spoken about."""
    somewhere = bool(HOME.search(spot.said.text) or CLASS.search(spot.own) or CLASS_WEAK.search(spot.own))
    own = spot.said.bare[spot.clause[0] : spot.clause[1]]
    asked = somewhere or bool((DOING - POINTING) & set(own))
    if unit == "more":
        return asked or len(spot.said.bare) <= 10
    if unit == "rep" and spot.left[-1:] == ["the"]:
        return False  # "the two swallows" speaks of some already named
    if spot.said.bare[at] in NOUN_ALONE:
        return asked or "each" in spot.following(at)[:1] or (spot.said.around.doing and len(spot.said.bare) <= 8)
    if unit == "times" and spot.left[-2:] == ["the", "first"]:
        return False
    return asked or len(spot.left) <= 2 or bool(DOING & set(spot.said.bare))


def _is_dose_frequency(said: Said, found: Sequence[Amount]) -> bool:
    """Whether "twice a day" says how often to exercise, not how often something happens."""
    if any(one.field not in OFTEN for one in found):
        return True
    covered = {at for one in found for at in range(one.first, one.last)}
    first, last = said.clause(found[0].first)
    others = {said.bare[at] for at in range(first, last) if at not in covered}
    return bool(others & (DOING - POINTING - _OPENLY)) or sum(map(is_foreign, others - FREQUENCY_FILLER)) <= 2
