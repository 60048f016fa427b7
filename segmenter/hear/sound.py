"""Turn decoded sound into facts: held sounds with exact times, stretches of speech, silences and levels."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.samples import Samples
from segmenter.hear.sound_breaths import find_breaths
from segmenter.hear.sound_curve import curve_of
from segmenter.hear.sound_events import (
    Ground,
    dipping,
    find_holds,
    rolling_floor,
    runs,
)
from segmenter.hear.sound_frames import HOP_MS, Frames, levels, measure, working_gain
from segmenter.hear.sound_pitch import VOICED
from segmenter.hear.sound_sweeps import find_glides, find_hisses
from segmenter.hear.sound_trains import find_trains
from segmenter.heard import Curve, Sound, Speech
from segmenter.intervals import Interval, covered, gaps, length, merge, overlap, subtract
from segmenter.progress import Report, unheard

SILENCE_MS = 1500
SPEECH_GAP_MS = 300
SCRAP_MS = 250
"""Shorter rests of speech beside a held sound are its edges, not words."""


@dataclass(frozen=True)
class SoundFacts:
    """What the sound shows.

    Parameters
    ----------
    sounds : tuple of Sound
        Held sounds, trains, audible breaths and silences in order of time; a breath may lie in a silence.
    speech : tuple of Speech
        Stretches of talk, in order, apart from each other; held sounds are left out, trains are not.
    level_db : array
        Level as recorded, dBFS, float32, one value per 50 ms.
    curve : Curve
        Pitch and level over time, as the held sounds were measured.
    """

    sounds: tuple[Sound, ...]
    speech: tuple[Speech, ...]
    level_db: NDArray[np.float32]
    curve: Curve


def analyse(samples: Samples, report: Report = unheard) -> SoundFacts:
    """Measure the sound and name what is in it.

    Parameters
    ----------
    samples : Samples
        The decoded recording.
    report : Report
        Told after every minute of sound.

    Returns
    -------
    SoundFacts
        Times are whole milliseconds from the start of the recording, on a grid of 10 ms.

    Notes
    -----
    Pitch and voicing come from the swift-f0 tracker, speech likelihood from the Silero detector; everything is
    measured on a copy at one working loudness, so that a far voice is treated like a near one.
    """
    level_db = levels(samples)
    frames = measure(samples, working_gain(level_db), report)
    if not len(frames.level):
        return SoundFacts((), (), level_db, curve_of(frames, None))
    floor, high_floor = rolling_floor(frames.level), rolling_floor(frames.high)
    untaught = Ground(floor, high_floor, None)
    rough = [(sound.start_ms, sound.end_ms) for sound in find_holds(frames, untaught)]
    ground = Ground(floor, high_floor, _talk_level(frames, rough))
    trains = find_trains(frames, ground)
    held = [sound for sound in find_holds(frames, ground) if not _is_train(sound, trains, frames)]
    held += find_glides(frames, ground, held)
    hisses = _apart(find_hisses(frames, ground), held)
    trains = _apart(trains, [*held, *hisses])
    end = samples.duration_ms
    voices = _spans(held + trains) + [part.span for part in _speech(frames, ground, _spans(held + hisses), end)]
    breaths = find_breaths(frames, ground, voices)
    held += _apart(hisses, breaths)  # a soft one that leads into voice is air, not an exercise
    speech = _speech(frames, ground, _spans(held), end)
    quiet = gaps(_spans(held) + _spans(trains) + [(part.start_ms, part.end_ms) for part in speech], (0, end))
    silences = [
        Sound(start_ms=start, end_ms=stop, kind="silence", confidence=0.9, how="no speech and no held sound")
        for start, stop in quiet
        if stop - start >= SILENCE_MS
    ]
    sounds = tuple(sorted([*held, *trains, *breaths, *silences], key=lambda sound: (sound.start_ms, sound.end_ms)))
    report(1.0, f"{sum(sound.kind in ('hold', 'hum') for sound in sounds)} holds")
    return SoundFacts(sounds, tuple(speech), level_db, curve_of(frames, ground.talk_db))


def _spans(sounds: list[Sound]) -> list[Interval]:
    return [(sound.start_ms, sound.end_ms) for sound in sounds]


def _apart(found: list[Sound], taken: list[Sound]) -> list[Sound]:
    return [
        sound
        for sound in found
        if sum(overlap((sound.start_ms, sound.end_ms), span) for span in _spans(taken)) * 4
        < sound.end_ms - sound.start_ms
    ]


def _is_train(held: Sound, trains: list[Sound], frames: Frames) -> bool:
    span = (held.start_ms, held.end_ms)
    inside = covered(span, _spans(trains)) > 0.6 and held.breaks * 1000 > length(span)
    # An echo makes the level of a wavering hold dip as well, but does not break the voice.
    return inside and dipping(frames.level[held.start_ms // HOP_MS : held.end_ms // HOP_MS])


def _talk_level(frames: Frames, held: list[Interval]) -> float | None:
    # Median over voiced speech; three seconds of it make a level worth comparing with.
    talk = (frames.speech >= 0.5) & (frames.voiced >= VOICED)
    for start, end in held:
        talk[start // HOP_MS : end // HOP_MS] = False
    return float(np.median(frames.level[talk])) if talk.sum() * HOP_MS >= 3000 else None


def _speech(frames: Frames, ground: Ground, held: list[Interval], end: int) -> list[Speech]:
    """Likely speech, plus voice at talking level that the detector missed, less the held sounds."""
    likely = [
        (first, last) for first, last in runs(frames.speech >= 0.35) if frames.speech[first:last].max() >= 0.5
    ]
    loud = frames.level > (ground.floor + 10)
    if ground.talk_db is not None:
        loud &= frames.level > ground.talk_db - 20
    missed = runs((frames.voiced >= 0.7) & loud, gap=5, least=12)
    spans = merge(((first * HOP_MS, min(end, last * HOP_MS)) for first, last in likely + missed), SPEECH_GAP_MS)
    speech = []
    for start, stop in subtract(spans, held):
        beside = any(abs(start - hold[1]) <= 10 or abs(stop - hold[0]) <= 10 for hold in held)
        if length((start, stop)) < (SCRAP_MS if beside else 60):
            continue
        confidence = float(np.percentile(frames.speech[start // HOP_MS : max(1, stop // HOP_MS)], 75))
        speech.append(Speech(start_ms=start, end_ms=stop, confidence=min(1.0, max(0.2, confidence))))
    return speech
