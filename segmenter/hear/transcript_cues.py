"""A cue, and the times in transcripts: what all readers of transcripts share."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from segmenter.lesson import Check, Word
from segmenter.times import clock, ms_from_clock, ms_from_seconds

EXPECTED = "Give WebVTT, SRT, a recogniser's JSON, or text with a stamp such as [1:02] before each paragraph"
LATEST_MS = 100 * 3_600_000
"""Later times are slips: no recording lasts a hundred hours."""

CLOCK = r"(?:\d{1,2}:)?\d{1,3}:[0-5]\d(?:[.,]\d{1,3})?(?![\d:])"
FRAMES = r"\d{1,2}:\d{2}:\d{2}[:;]\d{2}(?![\d:])"
SECONDS = r"(?:\d{1,2}\s?h\s?)?(?:\d{1,3}\s?m(?:in)?\s?)?\d{1,5}(?:\.\d{1,3})?\s?s(?:ec)?\b"
TIME = rf"(?:{FRAMES}|{CLOCK}|{SECONDS})"
_UNIT = re.compile(r"(\d+(?:\.\d+)?)\s?(h|m|s)")


@dataclass(frozen=True)
class Cue:
    """A block of text with its time.

    Parameters
    ----------
    start_ms : int
        Where it starts.
    end_ms : int or None
        Where it ends; None where the file marks starts only.
    text : str
        What is said; lines are parted by a newline.
    words : tuple of Word
        Where the file tells the time of each word.
    """

    start_ms: int
    end_ms: int | None
    text: str
    words: tuple[Word, ...] = ()


Found = tuple[list[Cue], str | None, list[Check]]
"""Cues as they stand in the file, language, notes."""


def note(code: str, message: str, at_ms: int | None = None, level: Literal["note", "look"] = "look") -> Check:
    """Return a check on a transcript."""
    return Check(code=code, level=level, message=message, start_ms=at_ms, end_ms=at_ms)


def read_time(text: str | None) -> int | None:
    """Return a clock or a length such as ``62s`` in milliseconds; None when it is neither."""
    if text is None:
        return None
    text = text.strip()
    if units := _UNIT.findall(text):
        size = {"h": 3600, "m": 60, "s": 1}
        at: int | None = ms_from_seconds(sum(float(number) * size[unit] for number, unit in units))
    else:
        if re.fullmatch(FRAMES, text):  # frames are less than a second, and how many make one is not said
            text = text[:-3]
        at = ms_from_clock(text)
    return at if at is not None and at < LATEST_MS else None


def backwards(cues: Sequence[Cue]) -> Check | None:
    """Return a check when times run backwards, as they stand in the file."""
    turns = [late for early, late in pairwise(cues) if late.start_ms < early.start_ms]
    if not turns:
        return None
    said = f"The times of the transcript run backwards at {clock(turns[0].start_ms)}"
    more = f" and {len(turns) - 1} more times" if len(turns) > 1 else ""
    return note("transcript-order", f"{said}{more}; it was put in order of time. Look whether parts are mixed up.",
                turns[0].start_ms)  # fmt: skip
