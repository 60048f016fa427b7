"""Held sounds and silent holds in words, and the spoken words with times a reader can trust."""

from __future__ import annotations

import re
from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from segmenter.intervals import Interval, overlap, subtract
from segmenter.lesson import Chapter, Hold, Lesson, Word
from segmenter.publish.limits import BLINK_MS, LONGEST_MS, SHORTEST_MS
from segmenter.publish.phrases import Token, bare_word
from segmenter.times import spoken_length

STRETCHED_MS = 1_000
"""A word is not this long: a recogniser's word over a held sound has the sound's time, not its own."""
USUAL_WORD_MS = 350
"""What a short word takes (common practice, no source)."""
NEXT_MS = 1_000
"""A stretched word with the next word this soon after the hold belongs to that next word."""
GOES_ON_MS = 2_000
"""A hold that outlasts its caption by this much is told to go on (DCMP, sustained sound)."""

_SOUNDS = {
    **dict.fromkeys(("ah", "aah", "ahh", "aaah", "ahhh"), "ah"),
    **dict.fromkeys(("ee", "eee", "eeh"), "ee"),
    **dict.fromkeys(("oo", "ooh", "ooo"), "oo"),
    **dict.fromkeys(("oh", "ohh"), "oh"),
    **dict.fromkeys(("mm", "mmm", "mmmm", "hmm"), "mm"),
    **dict.fromkeys(("ng", "sh", "ss", "zz", "vv", "ay"), ""),
    **dict.fromkeys(("sss", "ssss"), "ss"),
    **dict.fromkeys(("zzz", "zzzz"), "zz"),
    **dict.fromkeys(("shh", "shhh"), "sh"),
}
_LETTERS = {"E": "ee", "O": "oh", "M": "mm", "S": "ss", "Z": "zz"}
"""Letters as they are written after the word "sound"."""
_LEADS_TEXT = (
    "say says saying sound sounds hold holding long steady loud short sustained an letter vowel on of your"
)
_LEADS = frozenset(_LEADS_TEXT.split())
"""Words before the name of a sound that tell it from a cry ("oh, and ...")."""


@dataclass(frozen=True)
class SoundCue:
    """A description, the stretch it is free to be shown in, and the hold it tells of.

    `free` is None where words are spoken all along, or it is too short to read alone.
    """

    text: str
    hold: Interval
    free: Interval | None


def tokens_of(words: Sequence[Word], holds: Sequence[Interval] = ()) -> list[Token]:
    """Return the words in order of time; one that holds blanks becomes several, sharing its time by length.

    A word whose time was stretched over a hold gets the time beside the hold that it was spoken in.
    """
    ordered = sorted(words, key=lambda w: (w.start_ms, w.end_ms))
    found: list[Token] = []
    for at, word in enumerate(ordered):
        following = ordered[at + 1].start_ms if at + 1 < len(ordered) else None
        start_ms, end_ms = _unstretched(word.span, following, holds)
        pieces = word.text.split()
        letters = sum(map(len, pieces))
        said = 0
        for piece in pieces:
            start = start_ms + (end_ms - start_ms) * said // letters
            said += len(piece)
            end = start_ms + (end_ms - start_ms) * said // letters
            found.append(Token(piece, start, end, word.speaker == "other"))
    return sorted(found, key=lambda token: token.start_ms)


def _unstretched(word: Interval, following: int | None, holds: Sequence[Interval]) -> Interval:
    start, end = word
    if end - start < STRETCHED_MS:
        return word
    hold = next((h for h in holds if 2 * overlap(word, h) > end - start), None)
    if hold is None:
        return word
    if start <= hold[0] - USUAL_WORD_MS // 2:
        return start, hold[0]
    if end >= hold[1] + USUAL_WORD_MS // 2:
        return max(hold[1], end - USUAL_WORD_MS), end
    if following is not None and hold[1] <= following < hold[1] + NEXT_MS:
        return max(hold[1], following - USUAL_WORD_MS), following
    return start, min(end, start + USUAL_WORD_MS)


def sound_cues(lesson: Lesson, tokens: Sequence[Token]) -> list[SoundCue]:
    """Describe every hold that is not counted aloud: a counted one is heard in its numbers.

    In square brackets, lower case, a lasting sound told once with its length (DCMP Captioning Key, sound effects).
    """
    spoken = [(token.start_ms, token.end_ms) for token in tokens]
    starts = [start for start, _ in spoken]
    ends = list(accumulate((end for _, end in spoken), max))
    cues: list[SoundCue] = []
    for chapter in lesson.chapters:
        for hold in sorted(chapter.shown.holds, key=lambda h: h.start_ms):
            if hold.how == "counted" or (cues and hold.start_ms < cues[-1].hold[1]):
                continue
            before = tokens[bisect_left(starts, chapter.start_ms) : bisect_left(starts, hold.start_ms)]
            text = describe(hold, _name(chapter, before))
            near = spoken[bisect_right(ends, hold.start_ms) : bisect_left(starts, hold.end_ms)]
            free = [s for s in subtract([hold.span], near) if s[1] - s[0] >= SHORTEST_MS]
            cues.append(SoundCue(text, hold.span, free[0] if free else None))
            if free and free[0][1] - free[0][0] >= LONGEST_MS + GOES_ON_MS:
                rest = _end_of(free[0])
                cues.append(
                    SoundCue("[silence goes on]" if hold.how == "silent" else "[sound goes on]", rest, rest)
                )
    return cues


def _end_of(free: Interval) -> Interval:
    start = max(free[0] + LONGEST_MS, free[1] - LONGEST_MS)
    if start - free[0] - LONGEST_MS < BLINK_MS:
        start = free[0] + LONGEST_MS
    return start, min(free[1], start + LONGEST_MS)


def describe(hold: Hold, name: str | None) -> str:
    """Return the description of one hold.

    >>> describe(Hold(start_ms=0, end_ms=13_000, seconds=13.2, how="voiced"), "ah")
    '[holds "ah", 13 seconds]'
    >>> describe(Hold(start_ms=0, end_ms=3_000, seconds=3.0, how="silent"), None)
    '[silence, 3 seconds]'
    """
    length = spoken_length(max(1_000, round(hold.seconds * 1000)))
    if hold.how == "silent":
        return f"[silence, {length}]"
    if hold.glide_hz is not None and hold.glide_hz[0] != hold.glide_hz[1]:
        way = "up" if hold.glide_hz[0] < hold.glide_hz[1] else "down"
        return f'[slides "{name}" {way}, {length}]' if name else f"[slides {way}, {length}]"
    return f'[holds "{name}", {length}]' if name else f"[long held sound, {length}]"


def _name(chapter: Chapter, before: Sequence[Token]) -> str | None:
    """Return the sound that was last named aloud before the hold, else the one in the chapter's title."""
    for words in ([token.text for token in before], ["say", *chapter.title.split()]):
        for at in range(len(words) - 1, -1, -1):
            leads = {bare_word(word) for word in words[max(0, at - 3) : at]}
            word = bare_word(words[at])
            if word in _SOUNDS and leads & _LEADS:
                return _SOUNDS[word] or word
            letter = re.sub(r"\W", "", words[at])
            if letter in _LETTERS and at and bare_word(words[at - 1]) in {"sound", "sounds", "letter"}:
                return _LETTERS[letter]
    return None
