"""Cues against the guidelines for people who read them; none of this depends on the file format."""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from collections.abc import Sequence
from itertools import pairwise

from segmenter.inspect.rules import Book, Cue
from segmenter.publish.limits import (
    BLINK_MS,
    CEILING_WPM,
    LINE,
    LINES,
    LONGEST_MS,
    SHORTEST_MS,
    WORD_MS,
    count_words,
    words_a_minute,
)
from segmenter.publish.phrases import may_part
from segmenter.times import counted

_GLANCE = 2
"""A cue of so few words, such as a number on its beat, is held to the time a word alone."""
_OTHER_BRACKETS = re.compile(r"^\s*(?:-\s*)?(?:\([^()]*\)|\*[^*]*\*|♪.*♪)\s*$")


def check_reading(book: Book, cues: Sequence[Cue], *, english: bool = True) -> None:
    """Note every cue that people can hardly read: too fast, too long, badly broken, jerky.

    Phrases are known in English alone.
    """
    ordered = sorted(cues, key=lambda cue: cue.start_ms)
    starts = [cue.start_ms for cue in ordered]
    for cue in cues:
        if cue.end_ms > cue.start_ms and cue.text.strip():
            at = bisect_right(starts, cue.start_ms)
            _check_cue(book, cue, starts[at] if at < len(starts) else None)
            if english:
                _check_breaks(book, cue)
    for one, other in pairwise(ordered):
        gap = other.start_ms - one.end_ms
        if gap < 0:
            book.add("overlap", f"the cue covers the one before it for {-gap} ms", other.line, other.start_ms)
        elif 0 < gap < BLINK_MS:
            book.add("gap", f"{gap} ms without a caption look like a blink", other.line, other.start_ms)


def _check_cue(book: Book, cue: Cue, following: int | None) -> None:
    lines = cue.text.split("\n")
    length = cue.end_ms - cue.start_ms
    if len(lines) > LINES:
        book.add("lines", f"{len(lines)} lines, {LINES} at most", cue.line, cue.start_ms)
    longest = max(lines, key=len)
    if len(longest) > LINE and " " in longest.strip():
        book.add("line-length", f"{len(longest)} characters in a line, {LINE} at most", cue.line, cue.start_ms)
    words = count_words(cue.text)
    if words_a_minute(cue.text, length) > CEILING_WPM:
        book.add("speed", _too_fast(cue, words, following), cue.line, cue.start_ms)
    least = WORD_MS * words if words <= _GLANCE else SHORTEST_MS
    if length < least:
        book.add("short", f"{length} ms on screen, {least} at least", cue.line, cue.start_ms)
    if length > LONGEST_MS:
        book.add("long", f"{length / 1000:.1f} s on screen, {LONGEST_MS // 1000} at most", cue.line, cue.start_ms)
    if any(_OTHER_BRACKETS.match(line) and "♪" not in line for line in lines):
        book.add("sound-marks", "a sound is described in [square brackets]", cue.line, cue.start_ms)


def _too_fast(cue: Cue, words: int, following: int | None) -> str:
    """How fast, and whether there is room to let it stay."""
    length = cue.end_ms - cue.start_ms
    needed = math.ceil(words * 60_000 / CEILING_WPM)
    told = f"{words_a_minute(cue.text, length):.0f} words a minute, {CEILING_WPM} at most: "
    told += f"{counted(words, 'word')} in {length / 1000:.1f} s, {math.ceil(needed / 100) / 10:.1f} needed, "
    if following is None or following - cue.start_ms >= needed:
        return told + "and there is room to let it stay"
    return told + "but the next cue comes first"


def _check_breaks(book: Book, cue: Cue) -> None:
    for one, other in pairwise(cue.text.split("\n")):
        texts = [*one.split(), *other.split()]
        turn = other.lstrip().startswith(("-", "[")) or one.lstrip().startswith("[")
        if not turn and not may_part(texts, len(one.split())):
            ends = (
                f"{texts[len(one.split()) - 1]} / {texts[len(one.split())]}"
                if one.split() and other.split()
                else ""
            )
            book.add("line-break", f"the line breaks inside a phrase: {ends}", cue.line, cue.start_ms)
