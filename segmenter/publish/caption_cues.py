"""Spoken words cut into cues: at pauses, at turns of the class, at phrase boundaries, numbers on their beat."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from segmenter.intervals import Interval
from segmenter.lesson import CaptionKind, Lesson
from segmenter.publish.caption_cuts import Bounds, cut
from segmenter.publish.caption_sounds import SoundCue
from segmenter.publish.limits import (
    AIM_WPM,
    BLINK_MS,
    LATE_OFF_MS,
    LINE,
    LINES,
    LONGEST_MS,
    SHORTEST_MS,
    WORD_MS,
    count_words,
)
from segmenter.publish.phrases import Token, Typesetter, is_number

MOST_IN_BEAT = 3
"""A number and the words that go with it; with more of them it is a sentence."""
_TENS = frozenset({"twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"})


@dataclass(frozen=True)
class Cue:
    """What is shown together, and when it is heard.

    `start_ms` is when it comes, near its first word. `beat` marks a number of a count, which leaves the screen
    when the next one comes.
    """

    text: str
    kind: CaptionKind
    start_ms: int
    spoken_end_ms: int
    beat: bool = False

    @property
    def need_ms(self) -> int:
        """Time to read it at the speed that cues are laid out for."""
        shortest = WORD_MS if self.beat else SHORTEST_MS
        return max(shortest, math.ceil(count_words(self.text) * 60_000 / AIM_WPM))

    @property
    def latest_ms(self) -> int:
        """How long the description of a lasting sound can wait until the words before it are read."""
        return max(self.start_ms, self.spoken_end_ms - SHORTEST_MS)


def cues_of(lesson: Lesson, tokens: Sequence[Token], sounds: Sequence[SoundCue]) -> list[Cue]:
    """Return spoken and sound cues in order of time; every token is in exactly one.

    A sound too short to be read alone stands under the words before it.
    """
    spoken = _spoken(lesson, tokens, sounds)
    made: list[Cue] = []
    for sound in sounds:
        short = sound.hold[1] - sound.hold[0] < 2 * SHORTEST_MS
        if (short or sound.free is None) and _join(spoken, sound, only_if_brief=sound.free is not None):
            continue
        if sound.free is not None:
            made.append(_alone(sound.text, sound.free))
    return sorted([*spoken, *made], key=lambda cue: cue.start_ms)


def _alone(text: str, free: Interval) -> Cue:
    start, end = free[0], min(free[1], free[0] + LONGEST_MS)
    pieces = [Token(piece, start, start) for piece in text.split()]
    return Cue("\n".join(Typesetter(pieces).lines(0, len(pieces))), "sound", start, end)


def _join(spoken: list[Cue], sound: SoundCue, *, only_if_brief: bool) -> bool:
    """Put a sound under the words before it, and say whether it could be."""
    at = bisect_left([cue.start_ms for cue in spoken], sound.hold[0] + 1) - 1
    if at < 0 or len(sound.text) > LINE:
        return False
    cue = spoken[at]
    near = sound.hold[0] - cue.spoken_end_ms < BLINK_MS
    wanted = near and not (only_if_brief and sound.hold[0] - cue.start_ms >= SHORTEST_MS)
    if not wanted or cue.beat or cue.text.count("\n") >= LINES - 1:
        return False
    end = max(cue.spoken_end_ms, sound.hold[1])
    spoken[at] = Cue(f"{cue.text}\n{sound.text}", cue.kind, cue.start_ms, end)
    return True


def _spoken(lesson: Lesson, tokens: Sequence[Token], sounds: Sequence[SoundCue]) -> list[Cue]:
    if not tokens:
        return []
    bounds = _bounds(lesson, tokens, sounds)
    return [
        Cue(
            "\n".join(one.lines),
            "speech",
            one.start_ms,
            max(token.end_ms for token in tokens[one.first : one.last]),
            beat=one.first in bounds.exact and one.last - one.first <= MOST_IN_BEAT,
        )
        for one in cut(tokens, bounds)
    ]


def _bounds(lesson: Lesson, tokens: Sequence[Token], sounds: Sequence[SoundCue]) -> Bounds:
    counts = sorted(run.span for c in lesson.chapters for run in c.shown.counts)
    answers = sorted(item.answer.start_ms for c in lesson.chapters for item in c.quiz if item.answer)
    walls = sorted(
        {c.start_ms for c in lesson.chapters}
        | {p.resume_ms for c in lesson.chapters for p in c.practice}
        # A cue never runs on into an answer: it would give it away (DCMP, speaker identification; BBC 4.2.4).
        | set(answers)
        | {edge for sound in sounds for edge in sound.hold}
        | {start for start, _ in counts}
    )
    until = {len(tokens): max(lesson.duration_ms, tokens[-1].end_ms)}
    starts = [token.start_ms for token in tokens]
    for sound in reversed(sounds):
        if sound.free is not None:
            until[bisect_left(starts, sound.free[0])] = _alone(sound.text, sound.free).latest_ms
    forced = {at for at in range(1, len(tokens)) if at in until or _parted(tokens, at, walls, counts)}
    exact: set[int] = set()
    whole: set[int] = set()
    for first, last in pairwise(sorted({0, *forced, len(tokens)})):
        if _counted(tokens[first], counts):
            beats = [first + at for at in _beats(tokens[first:last])]
            exact.update(beats)
            forced.update(beats)
            for start, end in pairwise([*beats, last]):
                whole.update(range(start + 1, end) if end - start <= MOST_IN_BEAT else ())
    told = {at for at in range(len(tokens)) if any(abs(starts[at] - answer) < LATE_OFF_MS for answer in answers)}
    turns = {at for at in range(1, len(tokens)) if tokens[at].other != tokens[at - 1].other}
    return Bounds(frozenset(forced), frozenset(whole), frozenset(exact), frozenset(told | turns), until)


def _counted(token: Token, counts: Sequence[Interval]) -> bool:
    at = bisect_left(counts, (token.middle_ms + 1, 0)) - 1
    return at >= 0 and counts[at][0] <= token.middle_ms < counts[at][1]


def _parted(tokens: Sequence[Token], at: int, walls: Sequence[int], counts: Sequence[Interval]) -> bool:
    one, other = tokens[at - 1], tokens[at]
    if other.start_ms - one.end_ms >= LATE_OFF_MS or _counted(one, counts) != _counted(other, counts):
        return True
    wall = bisect_left(walls, one.middle_ms + 1)
    return wall < len(walls) and walls[wall] <= other.middle_ms


def _beats(run: Sequence[Token]) -> list[int]:
    """Show each number of a count from its own beat on (common practice, no source); quick ones go in pairs."""
    starts = [0]
    for at in range(1, len(run)):
        whole = run[at - 1].text.lower() in _TENS
        enough = run[at].start_ms - run[starts[-1]].start_ms >= (at - starts[-1] + 1) * WORD_MS
        if is_number(run[at].text) and enough and not whole:
            starts.append(at)
    return starts
