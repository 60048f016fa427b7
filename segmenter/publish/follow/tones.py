"""Soft tones at changes, as loud as the class speaks."""

from __future__ import annotations

import wave
from fractions import Fraction
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from segmenter.publish.follow.plan import Insert
from segmenter.publish.follow.steps import Step

RATE: Final = 48_000
TONE_S: Final = 0.6
FADE_S: Final = 0.06
"""No click at either end."""
PITCHES: Final = {"hold": (659.3,), "breathe": (587.3,), "rest": (440.0,), "wait": (523.3,), "done": (523.3, 659.3)}
"""Hertz by kind of step: up for doing, down for resting, two at the end; all where older ears hear well."""
USUAL_LUFS: Final = -23.0
"""Loudness taken where that of the class is not known (EBU R 128)."""
LOUDEST: Final = 0.5
"""Of full scale: a tone never startles."""


def tone_level(lufs: float | None, channels: int) -> float:
    """Return the peak of a sine that is as loud as the class.

    A sine near 1 kHz of peak 1 in one channel measures -3.01 LUFS (ITU-R BS.1770-4, annex 1); two equal
    channels add 3.01 dB.
    """
    wanted = USUAL_LUFS if lufs is None else lufs
    gain = wanted + 3.01 - 10 * np.log10(channels)
    return float(min(LOUDEST, 10 ** (gain / 20)))


def tone(hertz: float, level: float) -> NDArray[np.float64]:
    """Return one tone with soft edges, mono, -1 to 1."""
    time = np.arange(round(TONE_S * RATE)) / RATE
    edge = np.minimum(1.0, np.minimum(time, TONE_S - time) / FADE_S)
    shaped: NDArray[np.float64] = level * np.sin(2 * np.pi * hertz * time) * np.sin(edge * np.pi / 2) ** 2
    return shaped


def samples_at(frame: int, rate: Fraction) -> int:
    """The first sample of a frame."""
    return round(frame * RATE / rate)


def write_tones(insert: Insert, rate: Fraction, level: float, channels: int, target: Path, length: int) -> None:
    """Write the sound of something put in: `length` samples, silent but for a tone where a step begins."""
    sound = np.zeros(length)
    at, before = 0, None
    for step, _, frames in insert.tick_frames(rate):
        if step is not before:
            _add(sound, samples_at(at, rate), step, level)
            before = step
        at += frames
    pcm = np.rint(np.repeat(sound[:, None], channels, axis=1) * 32767).astype("<i2")
    with wave.open(str(target), "wb") as file:
        file.setnchannels(channels)
        file.setsampwidth(2)
        file.setframerate(RATE)
        file.writeframes(pcm.tobytes())


def _add(sound: NDArray[np.float64], at: int, step: Step, level: float) -> None:
    for number, hertz in enumerate(PITCHES.get(step.kind, ())):
        piece = tone(hertz, level)
        start = at + number * round(TONE_S * RATE)
        end = min(len(sound), start + len(piece))
        sound[start:end] += piece[: max(0, end - start)]
