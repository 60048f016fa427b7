"""Words that sound like others: "for more times", "right here to your shoulder", "hold me here and do three"."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from segmenter.lesson import Word
from segmenter.understand.repair_words import Change, ends_sentence

_COUNTED = r"(?:seconds?|secs?|breaths?|counts?|beats?|times|reps?|repetitions?|goes|sets|rounds|minutes?)"
_MORE = r"(?:more|extra) (?:times?|reps?|repetitions?|goes|seconds|breaths?|of (?:them|those|these))\b"
_DOING = r"(?:do|doing|try|repeat|complete|make it|want|have|need)"
_OFTEN = r"(?=(?:a|per|each|every|on|in (?:a|one) (?:day|row)|daily)\b)"
_SETS = r"(?:sets|rounds|series) of"
_THESE = r"o[fn] (?:them|those|these)\b"
_EACH = r"(?:on |to )?each (?:side|way|arm|leg|hand|foot)\b"
_LIMB = r"an? (?:side|leg|arm|hand|foot|way)\b"
_DONE = rf"(?:{_THESE}|times\b|{_EACH}|{_LIMB})"
_ENOUGH = r"(?:altogether|all told|in all|today|will do|(?:is|are|was) (?:plenty|enough|fine|ample|all))\b"
_PARTS = r"days|mornings|evenings|nights|sides?|legs?|arms?"
_WHEN = r"(?:and|at|if|when|while|after|before|for|until|till|from|this|next|with|in|on|please|twice|once)\b"
_SAID = r"(?:\d+|one|two|three|four|five|six|seven|eight|nine|ten|twelve|fifteen|twenty|thirty)"
_TO_SHOULDER = r"(?= (?:\w+ ){0,4}(?:left |right |other |your )*shoulder)"
_LIKE_PAUSE = "paws|pores|pours|pose|poles|polls"
_FILM = r"(?:me|the (?:video|recording|film|tape|class))\b"
_NOT_HELD = r"\b(?! (?:to|back|up|hand|tight))"
_TO_DO = r"do|try|finish|practi[sc]e|have|repeat|complete|press|come back|more|on your own|the other side"
_MEANWHILE = rf"(?=.*\b(?:{_TO_DO}|\d+)\b)"
_LEADING = r"^(?:and |so |now |then |please |just )*"

_TABLE: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    (
        "four",
        "a number stands before what comes more times",
        (
            rf"\b(for|fore) {_MORE}",
            rf"\b{_DOING} (for|fore) more\b(?! than)",
            rf"^(for|fore) more(?:$| (?:please|now|then|slow|{_SAID} {_COUNTED}))",
        ),
    ),
    (
        "two",
        "a number stands before what comes more times",
        (rf"\b(to|too) {_MORE}", rf"\b{_DOING} (to|too) more\b(?! than)"),
    ),
    ("one", "a number stands before “more time”", (r"\b(won) more (?:time|rep|repetition|go|breath|set|round)\b",)),
    ("eight", "a number stands before what is counted", (rf"\b(ate) (?:more|{_COUNTED})\b", rf"\b{_SETS} (ate)\b")),
    ("four", "a length of time follows “for”", (rf"\bfor (for|fore) {_COUNTED}\b",)),
    ("two", "a length of time follows “for”", (rf"\bfor (to|too) {_COUNTED}\b",)),
    (
        "four",
        "a number stands before “times”",
        (rf"\b(?:do|that|it|them|this|these|those|repeat|again) (for|fore) times {_OFTEN}",),
    ),
    ("two", "a number stands before “sets”", (rf"\b{_DOING} (to|too) (?:sets|rounds|reps|repetitions)\b",)),
    ("four", "a number stands before “sets”", (rf"\b{_DOING} (for|fore) (?:sets|rounds|reps|repetitions)\b",)),
    ("four", "a number follows “sets of”", (rf"\b{_SETS} (for|fore)$",)),
    ("two", "a number follows “sets of”", (rf"\b{_SETS} (to|too)$",)),
    ("ten", "a number follows “sets of”", (rf"\b{_SETS} (tin|tan|tend)\b",)),
    ("eight", "a number follows “sets of”", (rf"\b{_SAID} (?:sets|rounds|lots) o[fn] (weight)$",)),
    (
        "three",
        "a number stands before what is done",
        (
            rf"(?:^(?:and )?|\b{_DOING} |\b(?:just|only|about) )(free|tree) (?:{_DONE}|(?:goes|rounds|lots)\b)",
            rf"^(free|tree) {_ENOUGH}",
            rf"\b(free|tree) {_EACH}",
        ),
    ),
    ("six", "a number stands before what is done", (rf"\b(sex|sicks) (?:{_DONE}|(?:more|back|there)\b)",)),
    (
        "three",
        "a number stands before how often",
        (r"\b(free|tree) (?:days|times|nights|mornings|evenings) (?:a|per|each) (?:day|week)\b",),
    ),
    (
        "eight",
        "a number stands before what is done",
        (rf"\b{_DOING} (aid|ate|wait|hate) (?:{_DONE}|at home\b)", rf"^(ate) (?:{_DONE}|there\b)"),
    ),
    (
        "ten",
        "a number stands before what is done",
        (rf"\b{_DOING} (tin|tan) (?:{_DONE}|at home\b)",),
    ),
    (
        "four",
        "a number stands before what is done",
        (
            rf"\b{_DOING} (for|fore) (?:{_THESE}|{_EACH})",
            r"\b(?:we|you|i) (?:want|need) (for|fore) and\b",
            r"^(for|fore) for (?:the|each|your|this|that)\b",
        ),
    ),
    ("two", "a number stands before what is done", (rf"\b{_DOING} (to|too) (?:{_THESE}|{_EACH})",)),
    (
        "of",
        "a count has a length, a set a number",
        (rf"\b(?:count|{_SAID} (?:sets|lots|rounds)) (on) {_SAID}\b(?! (?:{_PARTS}))",),
    ),
    ("a", "it tells how often", (rf"\b{_SAID} times (the) day\b",)),
    ("want", "a number is wanted", (rf"\bi (went) {_SAID}\b(?! (?:years|months|weeks|days|times|miles))",)),
    (
        "twice",
        "it tells how often",
        (rf"\b(?:these|those|them|each|reps|times|seconds|home|{_SAID}) (quite|wise|price) a (?:day|week)\b",),
    ),
    ("every day", "it tells how often", (rf"\b(everyday)(?:$| {_WHEN})",)),
    ("dose", "what is asked for at home", (r"^(?:the |your |so )?home (does)(?:$| is\b| of\b)",)),
    ("a side", "a number is asked of each side", (rf"\b(?:{_SAID}|seconds|times|reps) (aside)\b(?! from)",)),
    (
        "in",
        "a breath takes a time",
        (
            rf"\bbreath(?:e|ing)? (and|an|end) (?:takes|for (?:a count of )?{_SAID})\b",
            r"\bbreath(?:e|ing)? (and|an|end) through (?:the|your) (?:nose|mouth)\b",
        ),
    ),
    ("two", "a breath takes a time", (rf"\b(to|too) in (?:and |then )?(?:for|fore|{_SAID}) out\b",)),
    (
        "four",
        "a breath takes a time",
        (
            rf"\b(?:to|too|for|{_SAID}) in (?:and |then )?(for|fore) out\b",
            rf"^(?:and |so )?(for|fore) in (?:and |then )?(?:for|fore|{_SAID}) out\b",
        ),
    ),
    (
        "in",
        "what goes out came in",
        (
            rf"\b(and|an|end) {_SAID} (?:and |then )?out {_SAID}\b",
            rf"\b(and|an|end) for {_SAID} (?:and |then )?out for {_SAID}\b",
        ),
    ),
    ("in through", "breath goes through the nose", (r"\bbreath(?:e|ing)? (into) (?:the|your) nose\b",)),
    (
        "ear",
        "an ear is brought to the shoulder",
        (rf"\b(?:left|right|other) (here|hear|year|rear|hair)\b{_TO_SHOULDER}",),
    ),
    (
        "pause",
        "viewers are asked to stop the recording",
        (
            rf"{_LEADING}(hold|{_LIKE_PAUSE}) me (?:right )?(?:here|now|there|and){_NOT_HELD}{_MEANWHILE}",
            rf"\b(paws|pores|pours) {_FILM}",
        ),
    ),
)
_PATTERNS = tuple((re.compile(one), reading, why) for reading, why, patterns in _TABLE for one in patterns)
_CONFIDENCE = 0.9
_TWO = re.compile(r"(\d{1,2})([.-])([1-9]\d?)")
_UNIT = re.compile(r"(?:seconds?|secs?|minutes?|days|times|sets|rounds)\b")
_WHOLE_FROM = 5
"""From here on "10.5 seconds" is no length: a decimal is said "two and a half"."""


def repair_homophones(words: Sequence[Word], bare: Sequence[str]) -> Iterator[Change]:
    """Yield what to change where only a word of the same sound makes sense.

    Parameters
    ----------
    words : sequence of Word
        The whole class.
    bare : sequence of str
        The same words in small letters without punctuation.
    """
    first = 0
    for at, word in enumerate(words):
        if at + 1 < len(words) and not ends_sentence(word.text):
            continue
        yield from _in_sentence(bare, first, at + 1)
        yield from _run_together(words, first, at + 1)
        first = at + 1


def _run_together(words: Sequence[Word], first: int, last: int) -> Iterator[Change]:
    """Two numbers written as one: "10.5 seconds" (ten, of five seconds), "15-4 days" (fifteen, on four days)."""
    for at in range(first, last - 1):
        found = _TWO.fullmatch(words[at].text)
        if found is None or not _UNIT.match(words[at + 1].text):
            continue
        one, sign, other = int(found[1]), found[2], int(found[3])
        # Nobody holds for tenths of a second, and a range does not fall.
        if one > other and (sign == "-" or (one >= _WHOLE_FROM and words[at + 1].text.startswith("sec"))):
            yield Change(at, at + 1, (f"{one},", str(other)), "two numbers were written as one", _CONFIDENCE)


def _in_sentence(bare: Sequence[str], first: int, last: int) -> Iterator[Change]:
    text, starts = "", {}
    for at in range(first, last):
        starts[len(text)] = at
        text += f"{bare[at]} "
    text = text.rstrip()
    for pattern, reading, why in _PATTERNS:
        for found in pattern.finditer(text):
            place = starts.get(found.start(1))
            if place is not None:
                yield Change(place, place + 1, tuple(reading.split()), why, _CONFIDENCE)
