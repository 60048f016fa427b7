"""Doses as they were asked for: how many, how long, how often, in class and for home.

A number counts only with something that says what it measures (a unit, "do", "of them");
all others are small talk. What was not said stays None.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from segmenter.lesson import Ask, Side, Where, Word
from segmenter.understand.numbers import NumberAt, plain, read_numbers
from segmenter.understand.sentences import Sentence, split_sentences

Field = Literal["reps", "hold_s", "sets", "rest_s", "per_day", "days_per_week"]

MERGE_MS = 9_000
"""Sentences this near that speak of the same place make one dose."""

_HOME = re.compile(
    r"\b(?:(?:at|for|from) home|on your own|by yourself|your homework|for homework|home ?work|your sheet|my sheet|"
    r"every (?:single )?(?:day|morning|evening|night)|each (?:day|morning|evening|night)|daily|(?:a|per|of the|each) week|"
    r"(?:times|twice|once|thrice) (?:a|per|each) day|before bed|after (?:breakfast|lunch|supper|dinner|tea)|"
    r"during the week|between (?:now and|classes|sessions)|until (?:i see you|next time))\b"
)
_CLASS = re.compile(
    r"\b(?:here|in (?:this|the) room|in class|with me|all together|together now|today|right now|for now|this (?:morning|afternoon)|we'll do|"
    r"i'll do|we do|let's do|let's try|we'll (?:try|go for|hold)|i'm (?:only )?(?:doing|showing))\b"
)
_CORRECTION = re.compile(
    r"\b(?:no|sorry|hang on|wait|i mean|i meant|make (?:it|that)|rather|scratch that|correction|i tell a lie|actually|"
    r"let's say|call it|or better)\b"
)
_SECONDS = {"second", "seconds", "sec", "secs"}
_MINUTES = {"minute", "minutes", "min", "mins"}
_SETS = {"set", "sets", "lots", "batches"}
_REPS = {
    "time", "times", "reps", "rep", "repetitions", "repetition", "repeats", "goes", "rounds", "round", "cycles", "breaths",
    "swallows", "squeezes", "glides", "sirens", "presses", "lifts", "turns", "circles", "rolls", "raises", "slides",
    "taps", "hums", "calls", "puffs", "huffs", "coughs", "sighs", "smiles", "puckers", "pushes", "pulls", "steps",
    "stands", "bends", "shrugs", "nods", "tucks", "stretches", "pumps", "kicks", "claps", "marches", "holds",
}  # fmt: skip
_DOING = {"do", "doing", "does", "did", "make", "makes", "try", "give", "want", "like", "need", "repeat", "becomes", "become",
          "says", "say", "aim", "aiming", "manage", "reach", "that's", "to", "only", "showing", "just", "another"}  # fmt: skip
_NOT_A_DOSE_AFTER = {
    "o'clock", "am", "pm", "year", "years", "week", "weeks", "month", "months", "hour", "hours", "percent", "per", "pounds",
    "dollars", "euros", "people", "things", "points", "miles", "metres", "meters", "feet", "january", "february", "march",
    "april", "may", "june", "july", "august", "september", "october", "november", "december", "th", "st", "words", "letters",
}  # fmt: skip
_NOT_A_DOSE_BEFORE = {"number", "exercise", "chapter", "part", "page", "room", "item", "step", "past", "half", "at", "since",
                      "aged", "age", "side", "channel", "volume", "bus", "question", "clue", "week", "day", "level"}  # fmt: skip
_EACH = re.compile(r"\b(?:each|either|both|per) (?:side|sides|way|ways|hand|hands|leg|legs|arm|arms|foot|feet|cheek|cheeks|direction)\b"
                   r"|\bon both\b|\bother side (?:too|as well)\b")  # fmt: skip
_EFFORT = re.compile(
    r"\b(?:as (?:many|much|long|hard|high|loud) as (?:you|is) (?:can|comfortable)|as hard as|gently|with (?:all|more|less) effort|"
    r"as strong(?:ly)? as|until (?:it feels|you feel|you) \w+|a (?:couple|few|handful) of times|comfortable,? not loud|"
    r"a (?:couple|few|handful)(?: more)?)\b"
)
_PATTERN = re.compile(
    r"\b(?:in|inhale)\b[^.;]{0,30}?\b(?P<i>N)\b(?:[^.;]{0,20}?\bhold(?: it)?\b[^.;]{0,15}?\b(?P<h>N)\b)?"
    r"[^.;]{0,45}?\b(?:out|exhale)\b[^.;]{0,40}?\b(?P<o>N)\b"
    r"(?:[^.;]{0,20}?\b(?:hold|wait|pause|rest)\b[^.;]{0,15}?\b(?P<r>N)\b)?"
)
_SPELLED = ["one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"]


@dataclass
class _Found:
    field: Field
    lo: float | None
    hi: float | None
    first: int
    last: int
    where: Where
    sure: float = 0.9


def find_asks(words: Sequence[Word]) -> list[Ask]:
    """Find every dose asked for in a class.

    Parameters
    ----------
    words : sequence of Word
        The whole class in order.

    Returns
    -------
    list of Ask
        In order of time. Fields that were not said are None; vague words go to ``effort``.
    """
    asks: list[Ask] = []
    where: Where = "class"
    latest = -2
    for number, sentence in enumerate(split_sentences(words)):
        own = words[sentence.first : sentence.last]
        where = _carried(where, sentence)
        for ask in _sentence_asks(own, where):
            where = ask.where
            last = asks[-1] if asks else None
            if last is not None and number - latest <= 1 and _belong_together(last, ask):
                asks[-1] = _merged(last, ask)
            else:
                asks.append(ask)
            latest = number
    return asks


def practice_seconds(ask: Ask) -> float | None:
    """Return the time an ask needs, repetitions x (hold + rest) x sets x sides; None if it cannot be known.

    The upper end of a range counts, so that nobody is hurried.
    """
    reps, hold = _upper(ask.reps), _upper(ask.hold_s)
    if hold is None:
        return None
    rest, sets = _upper(ask.rest_s) or 0.0, _upper(ask.sets) or 1.0
    sides = 2 if ask.side == "both" else 1
    return round((reps if reps is not None else 1.0) * (hold + rest) * sets * sides, 3)


def _upper(span: tuple[float | None, float | None] | None) -> float | None:
    if span is None:
        return None
    return span[1] if span[1] is not None else span[0]


def _carried(where: Where, sentence: Sentence) -> Where:
    """What follows a sentence about home in a few words still speaks of home ("And twice on Sundays.")."""
    text = sentence.text.lower()
    if _HOME.search(text):
        return "home"
    if where == "home" and sentence.last - sentence.first <= 6 and not _CLASS.search(text):
        return "home"
    return "class"


def _sentence_asks(own: Sequence[Word], carried: Where) -> Iterator[Ask]:
    tokens = [word.text for word in own]
    bare = [plain(token) for token in tokens]
    counted = _counted(tokens)
    text, starts = _joined(bare)
    places = _places(text, starts)
    found: list[_Found] = []
    for number in read_numbers(tokens):
        if any(at in counted for at in range(number.first, number.last)):
            continue
        field = _field(bare, number)
        if field is not None:
            scale, name, last, sure = field
            where = _where(places, number.first, carried)
            lo, hi = (None if end is None else end * scale for end in (number.lo, number.hi))
            found.append(_Found(name, lo, hi, number.first, last, where, sure))
    found += _phrases(text, starts, places, carried)
    pattern = _pattern(text)
    for where in ("class", "home"):
        mine = [f for f in found if f.where == where]
        if where == "class" and pattern is not None:
            inside = [f for f in mine if f.field not in {"hold_s"}]
            yield _ask(own, where, inside, text, pattern)
        elif mine:
            yield _ask(own, where, mine, text, None)


def _ask(own: Sequence[Word], where: Where, found: Sequence[_Found], text: str, pattern: Any) -> Ask:
    fields: dict[str, Any] = {}
    for item in sorted(found, key=lambda f: f.first):
        # Of two numbers for the same thing the later one wins where the speaker corrects herself.
        if item.field not in fields or _CORRECTION.search(text):
            whole = item.field not in {"hold_s", "rest_s"}
            fields[item.field] = tuple(
                None if e is None else (round(e) if whole else float(e)) for e in (item.lo, item.hi)
            )
    first = min((f.first for f in found), default=0)
    last = min(max((f.last for f in found), default=len(own)), len(own))
    effort = _EFFORT.search(text)
    side: Side | None = "both" if _EACH.search(text) else None
    return Ask(
        where=where,
        start_ms=own[first].start_ms,
        end_ms=max(w.end_ms for w in own[first:last]),
        said=" ".join(w.text.strip() for w in own[first:last]),
        side=side,
        effort=effort.group() if effort else None,
        pattern=pattern,
        confidence=round(min((f.sure for f in found), default=0.8), 2),
        **fields,
    )


def _counted(tokens: Sequence[str]) -> set[int]:
    """Places of numbers that are being counted aloud: three or more in a row, each the next."""
    numbers = [n for n in read_numbers(tokens) if n.value is not None]
    run: list[NumberAt] = []
    counted: set[int] = set()
    for number in [*numbers, None]:
        steps = (1, 2, -1)
        if (
            number is not None
            and run
            and number.first - run[-1].last <= 2
            and (number.value or 0) - (run[-1].value or 0) in steps
        ):
            run.append(number)
            continue
        if len(run) >= 3:
            counted |= {at for n in run for at in range(n.first, n.last)}
        run = [number] if number is not None else []
    return counted


def _field(bare: Sequence[str], number: NumberAt) -> tuple[float, Field, int, float] | None:  # noqa: PLR0911, PLR0912 - a table in words
    after = [*bare[number.last : number.last + 4], "", "", "", ""]
    before = ["", "", "", *bare[max(0, number.first - 3) : number.first]][-3:]
    end = number.last
    if bare[number.first] in {"once", "twice", "thrice"} or after[0] in {"time", "times"}:
        skip = 0 if bare[number.first] in {"once", "twice", "thrice"} else 1
        if (after[skip] in {"a", "per", "each", "every"} and after[skip + 1] in {"day", "week"}) or after[
            skip
        ] == "daily":
            return 1, "days_per_week" if after[skip + 1] == "week" else "per_day", end + skip + 2, 0.95
    if after[0] in {"days", "day"} and (after[1] in {"a", "per", "of", "each", "every"} or "week" in after):
        return 1, "days_per_week", end + 4, 0.95
    if after[0] in _SECONDS | _MINUTES:
        scale = 60 if after[0] in _MINUTES else 1
        rest = {"rest", "break", "breather", "off"} & {*before, *after[1:3]}
        return scale, "rest_s" if rest else "hold_s", end + 1, 0.9
    if after[0] in _NOT_A_DOSE_AFTER or (before[-1] in _NOT_A_DOSE_BEFORE and after[0] not in _REPS):
        return None
    if before[-2:] == ["count", "of"] or before[-2:] == ["counts", "of"]:
        return 1, "hold_s", end, 0.7
    if after[0] in _SETS or (after[0] in {"rounds", "series"} and after[1] == "of"):
        return 1, "sets", end + 1, 0.95
    if before[-1] == "of" and before[-2] in _SETS | {"rounds", "series"}:
        return 1, "reps", end, 0.95
    if after[0] in _REPS or after[1] in _REPS - {"time", "times", "turns", "steps", "holds"}:
        return 1, "reps", end + 1, 0.9
    if (after[0] == "of" and after[1] in {"them", "these", "those"}) or (after[0], after[1]) == ("or", "so"):
        return 1, "reps", end + 2, 0.9
    if after[0] in {"each", "either", "per", "on"} and {"side", "way", "leg", "hand", "arm", "foot", "cheek"} & {
        *after[1:4]
    }:
        return 1, "reps", end + 2, 0.9
    if after[0] in {"more", "again"} and after[1] != "for" and before[-1] in _DOING | {"have", "and", "then", ""}:
        return 1, "reps", end + 1, 0.9
    if bare[number.first] == "one" or number.value == 0:
        return None
    if before[-1] in _DOING or before[-2:] in (["make", "it"], ["make", "that"], ["call", "it"], ["sheet", "says"]):
        return 1, "reps", end, 0.75
    return None


def _phrases(text: str, starts: Sequence[int], places: Sequence[tuple[int, Where]], carried: Where) -> list[_Found]:
    found: list[_Found] = []

    def add(pattern: str, field: Field, value: float) -> None:
        for match in re.finditer(pattern, text):
            first = max(0, sum(s <= match.start() for s in starts) - 1)
            last = max(first + 1, sum(s < match.end() for s in starts))
            found.append(_Found(field, value, value, first, last, _where(places, first, carried)))

    add(
        r"\b(?:every|each) (?:single )?day\b(?! or two)|\bdaily\b|\bevery (?:morning|evening|night)\b",
        "days_per_week",
        7,
    )
    add(
        r"\b(?:once )?(?:in the )?morning and (?:once )?(?:in the |at |after )?(?:evening|night|supper|dinner|bed)\w*",
        "per_day",
        2,
    )
    add(r"\bhalf a minute\b", "hold_s", 30)
    add(r"\b(?:for|hold|last\w*) (?:a|one) (?:whole |full )?minute\b(?! and)", "hold_s", 60)
    return found


def _pattern(text: str) -> tuple[float | None, ...] | None:
    number = rf"(?:\d{{1,2}}|{'|'.join(_SPELLED)})"
    match = re.search(_PATTERN.pattern.replace("N)", f"{number})"), text)
    if match is None or not re.search(r"\bbreath|\bair\b|\binhale|\bnose\b|\bcount", text):
        return None
    return tuple(_value(match[name]) for name in ("i", "h", "o", "r"))


def _value(text: str | None) -> float | None:
    if text is None:
        return None
    return float(text) if text.isdigit() else float(_SPELLED.index(text) + 1)


def _joined(bare: Sequence[str]) -> tuple[str, list[int]]:
    starts, at = [], 0
    for token in bare:
        starts.append(at)
        at += len(token) + 1
    return " ".join(bare), starts


def _places(text: str, starts: Sequence[int]) -> list[tuple[int, Where]]:
    places: list[tuple[int, Where]] = []
    for pattern, where in ((_HOME, "home"), (_CLASS, "class")):
        for match in pattern.finditer(text):
            at = max(0, sum(s <= match.start() for s in starts) - 1)
            places.append((at, "home" if where == "home" else "class"))
    return sorted(places)


def _where(places: Sequence[tuple[int, Where]], at: int, carried: Where) -> Where:
    """The last mark before the number tells; without one, a mark of home after it; else what was carried over."""
    before = [where for place, where in places if place <= at]
    if before:
        return before[-1]
    if any(where == "home" for _, where in places) and not any(where == "class" for _, where in places):
        return "home"
    return "class" if places else carried


def _belong_together(last: Ask, ask: Ask) -> bool:
    if last.where != ask.where or ask.start_ms - last.end_ms > MERGE_MS:
        return False
    named = {"reps", "hold_s", "sets", "rest_s", "per_day", "days_per_week", "pattern"}
    return not any(getattr(last, name) is not None and getattr(ask, name) is not None for name in named)


def _merged(last: Ask, ask: Ask) -> Ask:
    names = ("reps", "hold_s", "sets", "rest_s", "per_day", "days_per_week", "pattern", "side", "effort")
    kept = {name: getattr(last, name) if getattr(last, name) is not None else getattr(ask, name) for name in names}
    return last.model_copy(
        update={
            **kept,
            "end_ms": max(last.end_ms, ask.end_ms),
            "said": f"{last.said} … {ask.said}",
            "confidence": min(last.confidence, ask.confidence),
        }
    )
