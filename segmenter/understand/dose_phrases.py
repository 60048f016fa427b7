"""Parts of a dose that are words more than numbers: how often, which side, how strongly, how to breathe."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from segmenter.lesson import Side
from segmenter.understand.dose_clauses import Amount, Field, Said, Spot
from segmenter.understand.dose_grammar import all_of, is_foreign
from segmenter.understand.dose_talk import is_told
from segmenter.understand.dose_words import BODY, DOING, FREQUENCY_FILLER, HOLDING, HOME, QUESTION
from segmenter.understand.numbers import NumberAt

Pattern = tuple[float | None, float | None, float | None, float | None]

_WEAK = all_of("it this that these those them give take go open close it's again we'll i'll")
_WEEKDAY = r"(?:mon|tues|wednes|thurs|fri|satur|sun)days?"
_FREQUENCIES: tuple[tuple[str, tuple[tuple[Field, float, float], ...]], ...] = (
    (r"every other (?:day|evening|morning)|every second day|alternate days|on alternating days", (("days_per_week", 3, 4),)),
    (rf"every (?:single )?day (?:except|but|apart from)(?: on)? {_WEEKDAY}", (("days_per_week", 6, 6),)),
    (r"weekdays|every weekday|monday to friday|mondays to fridays", (("days_per_week", 5, 5),)),
    (r"(?:every|each) (?:morning|day) and (?:every |each )?(?:evening|night)", (("per_day", 2, 2), ("days_per_week", 7, 7))),
    (r"(?:every|each) (?:morning|evening|night|afternoon|arvo|bedtime|lunchtime)(?! and)|nightly|first thing(?! and)", (("per_day", 1, 1), ("days_per_week", 7, 7))),
    (r"(?:each|every(?: (?!other|second|third|few)\w+)?) day(?! or two| or so)|(?<!times )(?<!twice )(?<!once )(?<!sets )daily|day in,? day out", (("days_per_week", 7, 7),)),
    (r"morning,? noon,? and (?:night|evening)|morning,? (?:midday|lunch\w*|afternoon),? and (?:night|evening|bedtime)", (("per_day", 3, 3),)),
    (r"(?:once )?(?:in the |every |each |at |of a )?mornings? (?:and|once) (?:then )?(?:once |again )?(?:in the |at |after |before |last thing at )?"
     r"(?:evenings?|nights?|supper|dinner|bed\w*|tea\w*|lunch)|breakfast and (?:again )?(?:at |after )?(?:supper|dinner|bedtime|tea)|"
     r"first thing and (?:then |again )?last thing|(?:before|after) (?:breakfast|lunch) and (?:before|after|at) (?:bed|supper|dinner|lunch|tea)\w*", (("per_day", 2, 2),)),
)  # fmt: skip
_WORDS_ONLY = re.compile(
    r"\b(?:(?:before|after|with) (?:each|every) meal|with meals|after you(?:'ve)? (?:brush|clean)\w* your teeth|after you have cleaned your teeth|"
    r"(?:once an hour|every hour|hourly)(?: while you're awake)?|little and often|most days|on good days(?: only)?|"
    r"whenever the (?:kettle's on|\w+ \w+)|whenever you (?:think of it|remember|can)|a (?:couple|few) (?:of )?times a (?:day|week)|several times a (?:day|week))\b"
)
_VAGUE = re.compile(
    r"\b(?:as (?:many|often|long) (?:\w+ )?as (?:you|is|feels?|it) (?:can|like|want|comfortable|comfortably can|good|manage|need|\w+ comfortable)|"
    r"(?<!bear with me for )a (?:couple|handful|few)(?: more)?(?: of)?(?: (?:times|goes|these|those|them|on each|rounds|extra|swallows|breaths|reps|each))|"
    r"(?:a|another) (?:couple|few|handful)(?: more)?$|several (?:times|of (?:these|those))|double (?:this|that|it)|twice as many|"
    r"half (?:of it|of that|as many)|until (?:it feels|you feel|you're|your \w+ (?:feels?|gets?)) (?:\w+ )?(?:easy|tired|warm|ready|loose)|to fatigue|as tolerated|"
    r"for as long as (?:you (?:can|like)|is comfortable|it's comfortable|feels (?:good|comfortable)))\b"
)
_EFFORT = re.compile(
    r"\b(?:as (?:hard|high|loud|low|far|strongly|firmly|softly|slowly|fast|quickly|quietly|wide|big) as (?:you (?:can|like|comfortably can)|is comfortable|feels easy|it goes)|"
    r"(?:very |really |nice and )?(?:gently|softly|slowly|firmly|strongly|smoothly)(?! (?:let|come|down))|with (?:all|half|more|less|medium|full|good) (?:your )?(?:effort|strength|might|force|power)|"
    r"comfortable,? not loud|not too (?:hard|loud|high|fast)|(?:at |about )?(?:half|full|medium|maximum) (?:strength|effort|power)|"
    r"(?:about |around |at )?(?:a )?(?:one|two|three|four|five|six|seven|eight|nine|\d+) out of (?:ten|10)|(?:\d+|\w+ty)(?:-\w+)? (?:percent|per cent)(?: effort| of your best)?|"
    r"add (?:\w+ )?\w+ (?:each|every) (?:day|week)|don't hold(?: it| them)?(?! (?:it|your|for|on|more|longer|them|back))|no hold|without holding)\b"
)
_BOTH = re.compile(
    r"\b(?:(?:each|either|per) (?:side|way|hand|leg|arm|foot|cheek|direction|eye|ear|shoulder|wrist|knee|ankle)|(?:on|to|for) (?:each|either)(?! of)|"
    r"both (?:sides|ways|directions|legs|arms|hands|feet)|this side and .*(?:that|the other)|on both|a (?:side|leg|arm|hand|foot)|left and right|right and left|one way and (?:\w+ )?(?:the other|back|the other way)|"
    r"with the (?:left|right),? and \w+ with the (?:left|right))\b"
)
_ONE_SIDE = re.compile(
    r"\b(?:to the|on the|on your|with the|with your|the|your|over to the)(?: \w+er| weaker| affected)? (left|right)(?! (?:now|way|thing|place|moment|amount|speed|back))"
    r"\b(?: (?:side|hand|leg|arm|foot|ear|cheek|shoulder|knee|wrist|eye))?"
)
_SAME_TOTAL = re.compile(r"\b(?:both sides count as one|in all|in total|altogether|alternat\w+|counts? as one)\b")
_IN = {"in", "inhale", "inhaling", "in-breath", "inbreath"}
_OUT = {
    "out",
    "exhale",
    "exhaling",
    "out-breath",
    "outbreath",
    "leave",
    "leaves",
    "blow",
    "sigh",
    "release",
    "empty",
}
_STILL = {"hold", "holding", "pause", "wait", "rest", "keep"}
_BREATH = re.compile(
    r"\b(?:breaths?|breathe|breathing|air|inhale|exhale|nose|lips|lungs|in-breath|out-breath|blow|square|box)\b"
)
_NOT_BEATS = {
    "times",
    "sets",
    "weeks",
    "days",
    "minutes",
    "people",
    "o'clock",
    "more",
    "rounds",
    "breaths",
    "cycles",
    "of",
    "goes",
    "hours",
}


@dataclass(frozen=True)
class Breathing:
    """A breathing pattern in counts, with the tokens that said it."""

    pattern: Pattern
    first: int
    last: int

    @property
    def tokens(self) -> set[int]:
        """The tokens it explains."""
        return set(range(self.first, self.last))


def frequencies(said: Said, amounts: Sequence[Amount]) -> list[Amount]:
    """Find "every day", "morning and evening" and the like, where they say how often to exercise."""
    found: list[Amount] = []
    taken: set[int] = {at for one in amounts for at in range(one.first, one.last)}
    for pattern, fields in _FREQUENCIES:
        for match in re.finditer(rf"\b(?:{pattern})\b", said.text):
            first, last = said.token_at(match.start()), said.token_at(match.end() - 1) + 1
            if taken & set(range(first, last)) and not match.group().startswith("once"):
                continue
            loose = match.group() == "first thing" and not amounts
            if loose or not _is_asked(said, first, last, amounts):
                continue
            taken |= set(range(first, last))
            found += [Amount(field, lo, hi, first, last, 0.85, "home") for field, lo, hi in fields
                      if not any(a.field == field for a in [*amounts, *found])]  # fmt: skip
    named = re.findall(rf"\b{_WEEKDAY}\b", said.text)
    if (
        len(set(named)) >= 3
        and not found
        and all(w in FREQUENCY_FILLER or re.fullmatch(_WEEKDAY, w) for w in said.bare)
    ):
        found.append(Amount("days_per_week", len(set(named)), len(set(named)), 0, len(said.bare), 0.7, "home"))
    return found


def _is_asked(said: Said, first: int, last: int, amounts: Sequence[Amount]) -> bool:
    if _told(said, first, last) or (said.is_question and QUESTION.match(said.text)):
        return False
    clause = said.clause(first)
    if re.search(r"\badd (?:\w+ )?\w+$", said.words(clause[0], first)):
        return False
    if amounts:
        return True
    others = [*said.bare[clause[0] : first], *said.bare[last : clause[1]]]
    if said.bare[last : last + 1] in (["is"], ["has"], ["was"], ["life"], ["living"], ["routine"]):
        return bool(
            re.match(
                r"is (?:\w+ )?(?:plenty|enough|heaps|ideal|best|fine|loads|right|good)", said.words(last, last + 4)
            )
        )
    told = {word for word in others if is_foreign(word)} - FREQUENCY_FILLER - DOING - HOLDING - BODY
    return len(told) <= 1 or bool(HOME.search(said.text)) or bool((DOING - _WEAK) & set(others))


def _told(said: Said, first: int, last: int) -> bool:
    return is_told(Spot(said, NumberAt(first, last, None, None)))


def side_of(text: str) -> Side | None:
    """Which side a dose is for; None where nothing was said, or where both sides share one number."""
    if _SAME_TOTAL.search(text):
        return None
    if _BOTH.search(text):
        return "both"
    named = {match[1] for match in _ONE_SIDE.finditer(text)}
    if len(named) == 2:
        return "both"
    return ("left" if "left" in named else "right") if named else None


def effort_of(text: str) -> str | None:
    """The words that say how strongly, kept as words."""
    found = [match.group() for pattern in (_EFFORT, _VAGUE, _WORDS_ONLY) for match in pattern.finditer(text)]
    return ", ".join(dict.fromkeys(found)) or None


def is_when(text: str) -> bool:
    """Whether words such as "before each meal" say when to practise, which is at home."""
    return bool(_WORDS_ONLY.search(text))


def vague_amounts(said: Said) -> list[tuple[int, int]]:
    """Token ranges of amounts in words ("a couple of times", "as many as you can") in a sentence that asks for something."""
    if (said.is_question and QUESTION.match(said.text)) or not said.bare:
        return []
    spans = []
    for pattern in (_VAGUE, _WORDS_ONLY):
        for match in pattern.finditer(said.text):
            first, last = said.token_at(match.start()), said.token_at(match.end() - 1) + 1
            others = [*said.bare[:first], *said.bare[last:]]
            asked = any(
                word in DOING - {"it", "this", "that", "these", "those", "them", "again"} for word in others
            ) or all(word in FREQUENCY_FILLER for word in others)
            if asked and not _told(said, first, last):
                spans.append((first, last))
    return spans


def breathing(said: Said) -> Breathing | None:
    """Find a breathing pattern: "in for four, hold for two, out for six", or "four in, six out".

    Numbers that are counted ("in two three four") give none: they are the count itself.
    """
    marks: list[tuple[int, str]] = []
    for at, word in enumerate(said.bare):
        if word in _IN or word in _OUT or word in _STILL:
            marks.append((at, "in" if word in _IN else "out" if word in _OUT else "still"))
    beats = [
        (n.first, n.last, n.value)
        for n in said.numbers
        if n.value is not None
        and n.unit in {"", "second", "seconds", "s"}
        and 1 <= n.value <= 15
        and not (
            set(said.bare[n.last : n.last + 2]) & _NOT_BEATS
            and not said.closed[n.last - 1]
            and said.bare[n.last] != "more"
        )
    ]
    if len(beats) < 2 or not any(kind == "in" for _, kind in marks) or not any(kind == "out" for _, kind in marks):
        return None
    for paired in (_before(marks, beats), _after(marks, beats)):
        breath = _in_order(paired)
        if breath is not None and (
            _BREATH.search(said.text) or all(abs(at - first) <= 3 for at, _, (first, _, _) in paired)
        ):
            spans = [(min(at, first), max(at + 1, last)) for at, _, (first, last, _) in paired]
            return Breathing(breath, min(s[0] for s in spans), max(s[1] for s in spans))
    return None


_Beat = tuple[int, int, float]
_Paired = list[tuple[int, str, _Beat]]


def _before(marks: Sequence[tuple[int, str]], beats: Sequence[_Beat]) -> _Paired:
    """Each number with the last phase word before it: "in for four"."""
    paired: _Paired = []
    for beat, following in zip(beats, [*beats[1:], None], strict=True):
        previous = paired[-1][2][1] if paired else 0
        near = [mark for mark in marks if previous <= mark[0] < beat[0] and beat[0] - mark[0] <= 12]
        if not near and len(paired) >= 2:
            return paired  # "in for two, out for four, six of those"
        if not near or (following is not None and following[0] == beat[1]):
            return []
        paired.append((*(near[0] if any(k == "in" for _, k in near) and not paired else near[-1]), beat))
    return paired


def _after(marks: Sequence[tuple[int, str]], beats: Sequence[_Beat]) -> _Paired:
    """Each number with the next phase word after it: "four in, six out"."""
    paired: _Paired = []
    for beat, following in zip(beats, [*beats[1:], None], strict=True):
        until = following[0] if following is not None else beat[1] + 5
        near = [mark for mark in marks if beat[1] <= mark[0] < until]
        if not near or near[0][0] - beat[1] > 4:
            return []
        paired.append((*near[0], beat))
    return paired


def _in_order(paired: _Paired) -> Pattern | None:
    kinds = [kind for _, kind, _ in paired]
    if kinds == ["out", "in"]:
        return (paired[1][2][2], None, paired[0][2][2], None)
    if kinds not in (
        ["in", "out"],
        ["in", "still", "out"],
        ["in", "out", "still"],
        ["in", "still", "out", "still"],
    ):
        return None
    values = [beat[2] for _, _, beat in paired]
    out = kinds.index("out")
    return (
        values[0],
        values[1] if out == 2 else None,
        values[out],
        values[out + 1] if len(values) > out + 1 else None,
    )
