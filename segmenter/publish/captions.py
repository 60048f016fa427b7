"""Captions: spoken words and held sounds, set so that people can read them in time."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from segmenter.lesson import Caption, Check, Lesson
from segmenter.publish.caption_cues import Cue, cues_of
from segmenter.publish.caption_sounds import sound_cues, tokens_of
from segmenter.publish.limits import (
    BLINK_MS,
    CEILING_WPM,
    LATE_OFF_MS,
    LONGEST_MS,
    SHORTEST_MS,
    words_a_minute,
)
from segmenter.times import clock, counted

FAST_RUN_GAP_MS = 10_000
"""Fast captions nearer than this share one check."""


def compose(lesson: Lesson) -> tuple[tuple[Caption, ...], tuple[Check, ...]]:
    """Make captions from the words of a lesson and its held sounds.

    Returns
    -------
    captions : tuple of Caption
        In order, none overlapping; every spoken word is in exactly one.
    checks : tuple of Check
        Stretches where speech is faster than people read (``caption-fast``); nothing is cut there.
    """
    holds = [hold.span for chapter in lesson.chapters for hold in chapter.shown.holds if hold.how != "counted"]
    tokens = tokens_of(lesson.words, holds)
    captions = _timed(cues_of(lesson, tokens, sound_cues(lesson, tokens)), lesson.duration_ms)
    return captions, _fast(captions)


def _timed(cues: Sequence[Cue], duration_ms: int) -> tuple[Caption, ...]:
    starts = _starts(cues)
    captions = []
    for at, cue in enumerate(cues):
        start = starts[at]
        last = at + 1 == len(cues)
        following = max(duration_ms, cue.spoken_end_ms, start + 1) if last else starts[at + 1]
        # A number that is shown on its beat stays as long as any other cue, if the next one lets it.
        wanted = max(cue.spoken_end_ms, start + (SHORTEST_MS if cue.kind == "sound" or cue.beat else cue.need_ms))
        # Time to read is borrowed from the silence after the words, as far as they may stay (BBC 5.2).
        wanted = min(wanted, max(cue.spoken_end_ms + LATE_OFF_MS, start + SHORTEST_MS))
        end = min(wanted, start + LONGEST_MS, following)
        if 0 < following - end < BLINK_MS and not last:
            # No gap, or a real one (BBC 4.5). The description of a sound can go once it is read.
            until = start + cue.need_ms if cue.kind == "sound" else cue.spoken_end_ms
            end = following if following - start <= LONGEST_MS else max(until, following - BLINK_MS)
        captions.append(
            Caption(start_ms=start, end_ms=max(min(end, following), start + 1), text=cue.text, kind=cue.kind)
        )
    return tuple(captions)


def _starts(cues: Sequence[Cue]) -> list[int]:
    starts: list[int] = []
    for at, cue in enumerate(cues):
        start = cue.start_ms
        if at and cue.kind == "sound" and cues[at - 1].kind == "speech":
            start = max(start, min(cue.latest_ms, starts[-1] + cues[at - 1].need_ms))
        starts.append(max(start, starts[-1] + 1) if starts else start)
    return starts


def _fast(captions: Sequence[Caption]) -> tuple[Check, ...]:
    fast = [
        (caption, rate)
        for caption in captions
        if caption.kind == "speech"
        and (rate := words_a_minute(caption.text, caption.end_ms - caption.start_ms)) > CEILING_WPM
    ]
    runs = [[fast[0]]] if fast else []
    for (one, _), other in pairwise(fast):
        if other[0].start_ms - one.end_ms > FAST_RUN_GAP_MS:
            runs.append([])
        runs[-1].append(other)
    return tuple(_check(run) for run in runs)


def _check(run: Sequence[tuple[Caption, float]]) -> Check:
    worst, rate = max(run, key=lambda pair: pair[1])
    start, end = run[0][0].start_ms, run[-1][0].end_ms
    return Check(
        code="caption-fast",
        level="note",
        start_ms=start,
        end_ms=end,
        message=(
            f"From {clock(start)} to {clock(end)} speech is faster than many people read: "
            f"{counted(len(run), 'caption')} above {CEILING_WPM} words a minute, "
            f"at most {rate:.0f} at {clock(worst.start_ms)}. No word was left out."
        ),
    )
