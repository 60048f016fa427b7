"""Spoken words cut into cues: at pauses, at turns of the class, at phrase boundaries, numbers on their beat."""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from segmenter.intervals import Interval
from segmenter.lesson import CaptionKind, Lesson
from segmenter.publish.caption_sounds import SoundCue
from segmenter.publish.limits import (
    AIM_WPM,
    BLINK_MS,
    CEILING_WPM,
    LATE_OFF_MS,
    LINE,
    LINES,
    LONGEST_MS,
    SHORTEST_MS,
    WORD_MS,
    count_words,
)
from segmenter.publish.phrases import Token, best_cuts, is_number, lines_of, part_cost

MOST_WORDS = 16
"""More words than fit two lines or six seconds."""
_TENS = frozenset({"twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"})


@dataclass(frozen=True)
class Cue:
    """What is shown together, and when it is heard.

    `beat` marks a number of a count, which leaves the screen when the next one comes. `pinned` means that it
    may not come a moment early: it answers a riddle, counts, or follows another speaker.
    """

    text: str
    kind: CaptionKind
    start_ms: int
    spoken_end_ms: int
    beat: bool = False
    pinned: bool = False

    @property
    def need_ms(self) -> int:
        """Time to read it at the speed that cues are laid out for."""
        shortest = WORD_MS if self.beat else SHORTEST_MS
        return max(shortest, math.ceil(count_words(self.text) * 60_000 / AIM_WPM))


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
            end = min(sound.free[1], sound.free[0] + LONGEST_MS)
            made.append(_in_lines(Cue(sound.text, "sound", sound.free[0], end)))
    return sorted([*spoken, *made], key=lambda cue: cue.start_ms)


def _in_lines(cue: Cue) -> Cue:
    pieces = [Token(piece, cue.start_ms, cue.start_ms) for piece in cue.text.split()]
    found = lines_of(pieces, 0, len(pieces))
    return cue if found is None else Cue("\n".join(found[1]), cue.kind, cue.start_ms, cue.spoken_end_ms)


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
    spoken[at] = Cue(f"{cue.text}\n{sound.text}", cue.kind, cue.start_ms, end, pinned=cue.pinned)
    return True


def _spoken(lesson: Lesson, tokens: Sequence[Token], sounds: Sequence[SoundCue]) -> list[Cue]:
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
    silent_from = sorted(sound.free[0] for sound in sounds if sound.free)
    cues: list[Cue] = []
    first = 0
    for at in range(1, len(tokens) + 1):
        if at < len(tokens) and not _parted(tokens, at, walls, counts):
            continue
        end = tokens[at].start_ms if at < len(tokens) else max(lesson.duration_ms, tokens[-1].end_ms)
        later = bisect_left(silent_from, tokens[at - 1].end_ms)
        end = min(end, silent_from[later]) if later < len(silent_from) else end
        if _counted(tokens[first], counts):
            cues += _numbers(tokens[first:at], end)
        else:
            cues += _phrases(tokens[first:at], end, answers)
        first = at
    return cues


def _counted(token: Token, counts: Sequence[Interval]) -> bool:
    at = bisect_left(counts, (token.middle_ms + 1, 0)) - 1
    return at >= 0 and counts[at][0] <= token.middle_ms < counts[at][1]


def _parted(tokens: Sequence[Token], at: int, walls: Sequence[int], counts: Sequence[Interval]) -> bool:
    one, other = tokens[at - 1], tokens[at]
    if other.start_ms - one.end_ms >= LATE_OFF_MS or _counted(one, counts) != _counted(other, counts):
        return True
    wall = bisect_left(walls, one.middle_ms + 1)
    return wall < len(walls) and walls[wall] <= other.middle_ms


def _numbers(run: Sequence[Token], until: int) -> list[Cue]:
    """Show each number of a count from its own beat on (common practice, no source); quick ones go in pairs."""
    starts = [0]
    for at in range(1, len(run)):
        whole = run[at - 1].text.lower() in _TENS
        enough = run[at].start_ms - run[starts[-1]].start_ms >= (at - starts[-1] + 1) * WORD_MS
        if is_number(run[at].text) and enough and not whole:
            starts.append(at)
    cues: list[Cue] = []
    for first, last in zip(starts, [*starts[1:], len(run)], strict=True):
        part = run[first:last]
        if len(part) > 3:
            cues += _phrases(part, run[last].start_ms if last < len(run) else until, ())
            continue
        text = " ".join(t.text for t in part)
        cues.append(Cue(text, "speech", part[0].start_ms, part[-1].end_ms, beat=True, pinned=True))
    return cues


def _phrases(run: Sequence[Token], until: int, answers: Sequence[int]) -> list[Cue]:
    def cost(first: int, last: int) -> float:
        found = lines_of(run, first, last)
        if found is None:
            return math.inf if last - first > 1 else 0.0
        lasts = max(t.end_ms for t in run[first:last]) - run[first].start_ms
        if last - first > 1 and lasts > LONGEST_MS:
            return math.inf
        following = run[last].start_ms if last < len(run) else until
        there = min(following - run[first].start_ms, LONGEST_MS, lasts + LATE_OFF_MS)
        total = 6.0 + found[0] + part_cost(run, last)
        total += max(0.0, SHORTEST_MS - there) / 40 + _speed_cost(last - first, there)
        if following - run[first].start_ms > LONGEST_MS and following - run[first].start_ms - lasts < BLINK_MS:
            total += 4.0
        return total + _sharing_cost([at for at in range(first, last - 1) if run[at].ends_sentence], first, last)

    cues: list[Cue] = []
    for first, last in best_cuts(len(run), cost, MOST_WORDS):
        part = run[first:last]
        found = lines_of(run, first, last)
        lines = found[1] if found else (" ".join(t.text for t in part),)
        turn = first > 0 and run[first].other != run[first - 1].other
        if len({t.other for t in part}) > 1:
            lines = (f"- {lines[0]}", f"- {lines[1]}")
        elif part[0].other or turn:
            lines = (f"- {lines[0]}", *lines[1:])
        cues.append(
            Cue(
                "\n".join(lines),
                "speech",
                part[0].start_ms,
                max(t.end_ms for t in part),
                pinned=turn or any(abs(part[0].start_ms - answer) < LATE_OFF_MS for answer in answers),
            )
        )
    return cues


def _sharing_cost(ends: Sequence[int], first: int, last: int) -> float:
    """Two sentences do not share a cue unless both are short (DCMP); a scrap of one is worst."""
    scraps = sum(piece < 3 for piece in (ends[0] + 1 - first, last - 1 - ends[-1])) if ends else 0
    return 9.0 * len(ends) + 6.0 * scraps


def _speed_cost(words: int, there_ms: int) -> float:
    # Above the ceiling counts far more than above the aim: the sum of all times is fixed by the voice.
    rate = words * 60_000 / max(1, there_ms)
    over = max(0.0, rate - CEILING_WPM)
    return max(0.0, rate - AIM_WPM) / 20 + (4.0 if over else 0.0) + over / 8
