"""Where an edit belongs in a draft it was not made on.

Times are those of the recording, which no draft changes; what moves a little from draft to draft are the
borders of chapters and the times of words. An edit finds what lies nearest, within limits beyond which it
would hit something else. Limits: common practice, no source.
"""

from __future__ import annotations

import re
from bisect import bisect_left
from collections.abc import Iterator, Sequence

from segmenter.edits.kinds import BaseEdit
from segmenter.intervals import overlap
from segmenter.lesson import Lesson, Word
from segmenter.times import clock

BORDER_MS = 8_000
"""Another draft may put the same border this far off."""
WORD_MS = 1_500
"""Another run may time a word this much differently; further off it is another word."""
_BARE = re.compile(r"^\W+|\W+$")


class NoPlaceError(Exception):
    """An edit does not fit; its text says why, in words that follow a colon."""


def chapter_for(lesson: Lesson, edit: BaseEdit) -> int:
    """Return the number of the chapter an edit belongs to.

    Raises
    ------
    NoPlaceError
        If it lies outside the recording, or no chapter covers about the same stretch.
    """
    chapters = lesson.chapters
    if edit.until_ms is None or edit.until_ms <= edit.at_ms:
        for number, chapter in enumerate(chapters):
            if chapter.start_ms <= edit.at_ms < chapter.end_ms:
                return number
        raise NoPlaceError("it lies outside the recording")
    anchor = (edit.at_ms, edit.until_ms)
    shared = [overlap(anchor, chapter.span) for chapter in chapters]
    best = max(range(len(shared)), key=shared.__getitem__, default=None)
    if best is None or not shared[best]:
        raise NoPlaceError("it lies outside the recording")
    start, end = chapters[best].span
    together = max(end, edit.until_ms) - min(start, edit.at_ms)
    # More than half of the two taken together: then no other chapter can fit better.
    if shared[best] * 2 <= together:
        raise NoPlaceError(
            f"no chapter runs from about {clock(edit.at_ms)} to {clock(edit.until_ms)} any more; "
            f"the nearest is “{chapters[best].title}”, {clock(start)} to {clock(end)}"
        )
    return best


def border_for(lesson: Lesson, at_ms: int, within_ms: int = BORDER_MS) -> int | None:
    """Return the number of the chapter that starts nearest to `at_ms`, None when none is near; never the first."""
    starts = [chapter.start_ms for chapter in lesson.chapters]
    best = min(range(1, len(starts)), key=lambda n: abs(starts[n] - at_ms), default=None)
    if best is None or abs(starts[best] - at_ms) > within_ms:
        return None
    return best


def bare(text: str) -> str:
    """Return a word without the marks around it, in small letters, for comparing.

    >>> bare("“Massacre,"), bare("don't!")
    ('massacre', "don't")
    """
    return _BARE.sub("", text).casefold()


def words_near(words: Sequence[Word], at_ms: int, within_ms: int = WORD_MS) -> Iterator[int]:
    """Numbers of the words that start within reach of a moment. Words are in order of time."""
    at = bisect_left(words, at_ms - within_ms, key=lambda word: word.start_ms)
    while at < len(words) and words[at].start_ms <= at_ms + within_ms:
        yield at
        at += 1


def word_for(words: Sequence[Word], at_ms: int, was: str) -> int | None:
    """Return the number of the word `was` nearest to a moment, None when it is not there."""
    near = list(words_near(words, at_ms))
    same = [n for n in near if words[n].text == was] or [n for n in near if bare(words[n].text) == bare(was)]
    return min(same, key=lambda n: abs(words[n].start_ms - at_ms), default=None)
