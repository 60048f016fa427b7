"""Measure sound every 10 ms, in blocks: pitch, level, timbre change and speech likelihood."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from faster_whisper.vad import get_vad_model
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray
from swift_f0 import SwiftF0

from segmenter.hear.samples import RATE, Samples, Signal
from segmenter.hear.sound_pitch import settle
from segmenter.progress import Report

HOP_MS = 10
HOP = RATE * HOP_MS // 1000
WINDOW = 512
TRACKER_HOP_S = 0.016
BLOCK_MS = 60_000
OVERLAP_MS = 2_000
"""Half of it warms up the trackers in front of what a block keeps, half stands behind it."""

LEVEL_MS = 50
PITCH_RANGE_HZ = (60.0, 1100.0)
WORKING_DB = -23.0
"""Loud frames (95th percentile) are brought to this level, so that a far voice is treated like a near one."""

MAX_GAIN_DB = 50.0
FLOOR_DB = -100.0
BANDS = 18

Floats = NDArray[np.float32]


@dataclass(frozen=True)
class Frames:
    """One value every 10 ms, all of shape ``(frames,)``, at the working loudness.

    Parameters
    ----------
    pitch : array
        Semitones above 1 Hz (12 log2 f).
    voiced : array
        Confidence of the pitch tracker, 0 to 1.
    level, low, middle, high : array
        dB in 150-4000, 150-900, 1000-4000 and 3000-8000 Hz.
    change : array
        Timbre change over 200 ms, 0 (none) to 1.
    speech : array
        Likelihood of speech, 0 to 1.
    """

    pitch: Floats
    voiced: Floats
    level: Floats
    low: Floats
    middle: Floats
    high: Floats
    change: Floats
    speech: Floats


def decibels(power: NDArray[np.floating]) -> Floats:
    """Power as dB, never below -100."""
    return np.asarray(10 * np.log10(np.maximum(power, 10 ** (FLOOR_DB / 10))), dtype=np.float32)


def levels(samples: Samples) -> Floats:
    """Level of the sound as recorded: dBFS (root mean square), one value per 50 ms, shape ``(ceil(ms / 50),)``."""
    step = RATE * LEVEL_MS // 1000
    parts = []
    for _, block in samples.blocks(BLOCK_MS):
        padded = np.pad(block, (0, -len(block) % step)).reshape(-1, step)
        parts.append(decibels(np.mean(padded.astype(np.float64) ** 2, axis=1)))
    return np.concatenate(parts) if parts else np.zeros(0, np.float32)


def working_gain(level_db: Floats) -> float:
    """Return the factor that brings loud frames to the working loudness."""
    heard = level_db[level_db > FLOOR_DB + 10]
    loud = float(np.percentile(heard, 95)) if len(heard) else WORKING_DB
    return float(10 ** (min(WORKING_DB - loud, MAX_GAIN_DB) / 20))


@lru_cache(maxsize=1)
def _tracker() -> SwiftF0:
    return SwiftF0(threads=1, spin=False)


@lru_cache(maxsize=1)
def _bank() -> Floats:
    # Broad bands, evenly spaced on the mel scale: broad enough that single harmonics do not show.
    mel = np.linspace(1127 * np.log1p(150 / 700), 1127 * np.log1p(7500 / 700), BANDS + 2)
    edges = 700 * np.expm1(mel / 1127)
    hertz = np.fft.rfftfreq(WINDOW, 1 / RATE)
    up = (hertz[:, None] - edges[:-2]) / (edges[1:-1] - edges[:-2])
    down = (edges[2:] - hertz[:, None]) / (edges[2:] - edges[1:-1])
    return np.asarray(np.clip(np.minimum(up, down), 0, None), dtype=np.float32)


def spectra(sound: Signal) -> Floats:
    """Power spectrum every 10 ms, windows centred on the frame, shape ``(samples // 160, 257)``."""
    count = len(sound) // HOP
    padded = np.pad(sound, (WINDOW // 2 - HOP // 2, WINDOW))
    windows = sliding_window_view(padded, WINDOW)[::HOP][:count]
    shape = np.hanning(WINDOW).astype(np.float32)
    return np.asarray(np.abs(np.fft.rfft(windows * shape / shape.sum() * 2**0.5, axis=1)) ** 2, dtype=np.float32)


def timbre(power: Floats) -> Floats:
    """Shape of the spectrum, free of level and of steady noise, shape ``(frames, 18)``, each of length 1.

    Band amplitudes are compressed as hearing does. What a band never falls below counts as noise and is taken off,
    but never more than a third of its loud moments, so that a sound that fills the block is not taken for noise.
    """
    bands = power @ _bank()
    noise = np.minimum(1.5 * np.percentile(bands, 10, axis=0), 0.3 * np.percentile(bands, 90, axis=0))
    bands = (np.maximum(bands - noise, 0.1 * noise) + 1e-12) ** 0.25
    return np.asarray(bands / np.linalg.norm(bands, axis=1, keepdims=True), dtype=np.float32)


def _smooth(values: Floats, width: int) -> Floats:
    total = np.cumsum(np.pad(values, ((width, 0), (0, 0))), axis=0, dtype=np.float64)
    return np.asarray((total[width:] - total[:-width]) / width, dtype=np.float32)


def _timbre_change(shape: Floats) -> Floats:
    # Means over 100 ms, 200 ms apart: a held sound stays itself, running speech has become another sound.
    change = np.ones(len(shape), np.float32)
    mean = _smooth(shape, 10)[9:]
    if len(mean) > 20:
        mean = mean / np.linalg.norm(mean, axis=1, keepdims=True)
        change[15 : 15 + len(mean) - 20] = 1 - np.sum(mean[:-20] * mean[20:], axis=1)
    return change


def _between(power: Floats, low_hz: float, high_hz: float) -> Floats:
    hertz = np.fft.rfftfreq(WINDOW, 1 / RATE)
    return decibels(power[:, (hertz >= low_hz) & (hertz < high_hz)].sum(axis=1))


def _speech_likelihood(sound: Signal, count: int) -> Floats:
    # The model zeroes part of its input in place, hence the padded copy.
    padded = np.pad(sound, (0, WINDOW - len(sound) % WINDOW))
    likely = np.asarray(get_vad_model()(padded), dtype=np.float32).reshape(-1)
    centres = (np.arange(len(likely)) + 0.5) * WINDOW
    return np.asarray(np.interp((np.arange(count) + 0.5) * HOP, centres, likely), dtype=np.float32)


def measure_block(sound: Signal) -> Frames:
    """Measure one block already at the working loudness."""
    power = spectra(sound)
    count = len(power)
    found = _tracker().detect(sound, RATE, *PITCH_RANGE_HZ)
    # Nearest frame, not interpolation: half-way values between an octave error and the truth are nobody's pitch.
    at = (np.arange(count) + 0.5) * HOP / RATE
    nearest = np.clip(np.searchsorted(found.timestamps, at - TRACKER_HOP_S / 2), 0, len(found.timestamps) - 1)
    pitch = (12 * np.log2(np.maximum(found.pitch_hz[nearest], 1.0))).astype(np.float32)
    level = _between(power, 150, 4000)
    pitch, voiced = settle(pitch, found.confidence[nearest].astype(np.float32), level)
    return Frames(
        pitch=pitch,
        voiced=voiced,
        level=level,
        low=_between(power, 150, 900),
        middle=_between(power, 1000, 4000),
        high=_between(power, 3000, 8000),
        change=_timbre_change(timbre(power)),
        speech=_speech_likelihood(sound, count),
    )


def measure(samples: Samples, gain: float, report: Report) -> Frames:
    """Measure the whole sound in blocks of a minute, each with a warm-up before and after what it keeps."""
    kept: list[Frames] = []
    edge = OVERLAP_MS // 2 // HOP_MS
    for (start, end), block in samples.blocks(BLOCK_MS, OVERLAP_MS):
        if len(block) < HOP:
            continue
        frames = measure_block(np.asarray(block * gain, dtype=np.float32))
        first = edge if start else 0
        last = len(frames.pitch) - (edge if end < samples.duration_ms else 0)
        kept.append(Frames(**{name: values[first:last] for name, values in vars(frames).items()}))
        report(end / max(1, samples.duration_ms), "listening")
    names = Frames.__dataclass_fields__
    if not kept:
        return Frames(**dict.fromkeys(names, np.zeros(0, np.float32)))
    return Frames(**{name: np.concatenate([getattr(part, name) for part in kept]) for name in names})
