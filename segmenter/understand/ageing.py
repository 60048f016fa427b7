"""Remarks that will sound old when the lesson is watched next year, found by their words."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from segmenter.lesson import Check, Word
from segmenter.understand.sentences import split_sentences

_NUMBER: Final = (
    r"(?:\d+|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve|fifteen|twenty|thirty|forty|fifty)"
)
_MONTH: Final = r"(?:January|February|April|June|July|August|September|October|November|December)"
_DAY: Final = r"(?:mon|tues|wednes|thurs|fri|satur|sun)day"
_ORDINAL: Final = (
    r"(?:\d{1,2}(?:st|nd|rd|th)?|first|second|third|fourth|fifth|\w+teenth|twentieth|thirtieth|\w+-\w+th)"
)

AGEING: Final[tuple[tuple[str, str, re.Pattern[str]], ...]] = tuple(
    (code, what, re.compile(pattern, re.IGNORECASE if code != "month" else 0))
    for code, what, pattern in (
        (
            "month",
            "names a month",
            rf"\b{_MONTH}\b|\b(?i:in|of|this|next|last|by|until|since) (?:March|May)\b|"
            rf"\b(?:March|May) (?:the )?{_ORDINAL}\b",
        ),
        (
            "day",
            "speaks of a day as it was then",
            rf"\b(?:next|last|this|on|every|see you) {_DAY}s?\b|\b(?:yesterday|tomorrow|tonight|"
            r"(?:next|last|this) (?:week|month|year|morning|evening|afternoon))\b",
        ),
        (
            "weather",
            "speaks of the weather",
            r"\b(?:weather|raining|rainy|snow(?:ing|y|ed)?|sunny|sunshine|frosty?|stormy|"
            r"(?:hot|cold|warm|windy|wet|chilly|freezing) (?:outside|out there|day|morning|week))\b",
        ),
        (
            "season",
            "speaks of a time of year",
            r"\b(?:christmas|easter|thanksgiving|new year'?s?|halloween|the holidays|"
            r"bank holiday|summer|winter|autumn)\b",
        ),
        (
            "time",
            "names a time of the clock",
            rf"\b{_NUMBER} ?o'?clock\b|\b(?:half|quarter) (?:past|to) {_NUMBER}\b|"
            rf"\b{_NUMBER}(?::\d\d)? ?(?:a\.m\.|p\.m\.|am|pm)(?!\w)",
        ),
        (
            "price",
            "names a price",
            rf"[£$€] ?\d|\b{_NUMBER} (?:dollars|euros|pence|cents|pounds (?:a|per|each|for))\b|"
            r"\bfree of charge\b|\b(?:it|class|this) costs\b",
        ),
        (
            "address",
            "gives a web address or a number to call",
            r"\bwww\b|https?:|\bdot (?:com|org|net|co|uk|edu|gov)\b|"
            r"\b[\w-]+\.(?:com|org|net|edu|gov|co\.uk|org\.uk)\b|\w@\w|"
            r"\b(?:phone|telephone|call) (?:us|me|number)\b|\b\d{3}[- ]\d{3,4}[- ]?\d{3,4}\b",
        ),
    )
)
"""Code, what is found, and its words. Words with a second meaning (March, May, cold, spring) need company."""


LONGEST_QUOTE: Final = 120
"""Characters: enough to know the sentence again."""


def ageing_remarks(words: Sequence[Word]) -> tuple[Check, ...]:
    """Return a check for every sentence that will age, in order of time, one for each kind of remark in it."""
    found = []
    for sentence in split_sentences(words):
        text = " ".join(sentence.text.split())
        quote = text if len(text) <= LONGEST_QUOTE else text[:LONGEST_QUOTE].rsplit(" ", 1)[0] + " …"
        for code, what, pattern in AGEING:
            if pattern.search(text):
                message = f"This {what}: “{quote}” Nothing is wrong with it today; next year viewers may wonder."
                span = {"start_ms": sentence.start_ms, "end_ms": sentence.end_ms}
                found.append(Check(code=code, level="note", message=message, **span))
    return tuple(found)
