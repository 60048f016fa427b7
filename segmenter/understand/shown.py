"""What was really done in a stretch of class: holds, counted stretches, repetitions."""

from __future__ import annotations

from collections.abc import Sequence

from segmenter.heard import Sound
from segmenter.intervals import overlap
from segmenter.lesson import CountRun, Hold, Shown, Side, Word
from segmenter.understand.numbers import plain

VOICED = frozenset({"hold", "hum", "glide", "hiss"})
SILENT_MS = 2_000
"""A silence this long after a cue to act is the act itself."""
CUE_MS = 1_500
"""How soon after the cue that silence begins."""
_CUES = {
    "swallow",
    "hold",
    "squeeze",
    "press",
    "push",
    "lift",
    "stretch",
    "tuck",
    "stay",
    "tighten",
    "clench",
    "pull",
    "open",
}


def shown(
    words: Sequence[Word], sounds: Sequence[Sound], start_ms: int, end_ms: int, counts: Sequence[CountRun]
) -> Shown:
    """Return what was done in ``[start_ms, end_ms)``.

    Repetitions are the held sounds; without any, the silent efforts; without those, the last number
    of counted repetitions or the number of breaths counted out. None when nothing of it was heard.
    """
    span = (start_ms, end_ms)
    own = [sound for sound in sounds if overlap(sound.span, span) * 2 > sound.end_ms - sound.start_ms]
    runs = tuple(run for run in counts if overlap(run.span, span) * 2 > run.end_ms - run.start_ms)
    voiced = [_voiced(sound, words) for sound in own if sound.kind in VOICED]
    silent = [_silent(sound, words) for sound in own if sound.kind == "silence" and _is_effort(sound, words)]
    counted = [_counted(run, words) for run in runs if run.kind in {"seconds", "down"} and not voiced]
    return Shown(
        reps=_reps(voiced, silent, counted, runs),
        holds=tuple(sorted([*voiced, *silent, *counted], key=lambda hold: hold.start_ms)),
        counts=runs,
    )


def _reps(
    voiced: Sequence[Hold], silent: Sequence[Hold], counted: Sequence[Hold], runs: Sequence[CountRun]
) -> int | None:
    if voiced or silent:
        return len(voiced or silent)
    said = [max(run.numbers) for run in runs if run.kind == "reps"]
    if said:
        return max(said)
    breaths = [run for run in runs if run.kind == "breath"]
    if breaths:
        return (len(breaths) + 1) // 2
    sides = {hold.side for hold in counted} - {None}
    return (len(counted) // max(1, len(sides))) or None


def _voiced(sound: Sound, words: Sequence[Word]) -> Hold:
    return Hold(
        start_ms=sound.start_ms,
        end_ms=sound.end_ms,
        seconds=(sound.end_ms - sound.start_ms) / 1000,
        how="voiced",
        pitch_hz=sound.pitch_hz,
        pitch_spread_st=sound.pitch_spread_st,
        glide_hz=sound.glide_hz,
        level_db=sound.level_db,
        side=_side(words, sound.start_ms),
    )


def _silent(sound: Sound, words: Sequence[Word]) -> Hold:
    seconds = (sound.end_ms - sound.start_ms) / 1000
    return Hold(
        start_ms=sound.start_ms,
        end_ms=sound.end_ms,
        seconds=seconds,
        how="silent",
        side=_side(words, sound.start_ms),
    )


def _counted(run: CountRun, words: Sequence[Word]) -> Hold:
    # The last number lasts a beat like the others, though its word is over sooner.
    seconds = (run.end_ms - run.start_ms) / 1000
    return Hold(
        start_ms=run.start_ms,
        end_ms=run.end_ms,
        seconds=seconds,
        how="counted",
        side=_side(words, run.start_ms),
    )


def _is_effort(sound: Sound, words: Sequence[Word]) -> bool:
    if sound.end_ms - sound.start_ms < SILENT_MS:
        return False
    before = [
        word for word in words if word.end_ms <= sound.start_ms + 400 and word.end_ms >= sound.start_ms - CUE_MS
    ]
    return any(plain(word.text) in _CUES for word in before[-2:])


def _side(words: Sequence[Word], at_ms: int) -> Side | None:
    """The side named last in the eight seconds before."""
    for word in reversed([word for word in words if at_ms - 8_000 <= word.start_ms <= at_ms]):
        if plain(word.text) in {"left", "right"}:
            return "left" if plain(word.text) == "left" else "right"
    return None
