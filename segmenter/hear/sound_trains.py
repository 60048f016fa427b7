"""Find syllable trains: one syllable, or a short group of them, said over and over at a steady rate."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.sound_events import Ground, runs
from segmenter.hear.sound_frames import HOP_MS, Floats, Frames
from segmenter.hear.sound_pitch import VOICED
from segmenter.heard import Sound

RATE_HZ = (2.0, 9.0)
"""Slower is counting, faster is trill or noise; healthy adults repeat syllables at 5-7 a second (from memory)."""

LEAST_SYLLABLES = 8
LEAST_MS = 1200
PROMINENCE_DB = 4.0


def _smoothed(level: Floats, width: int = 5) -> Floats:
    shape = np.hanning(width + 2)[1:-1]
    return np.asarray(np.convolve(level, shape / shape.sum(), mode="same"), dtype=np.float32)


def syllable_peaks(level: Floats, floor: Floats) -> list[int]:
    """Frames at which the level peaks, each at least 4 dB over the dips beside it and 8 dB over the floor."""
    smooth = np.maximum(_smoothed(level), floor)
    peaks: list[int] = []
    top = low = 0
    rising = True
    for at, value in enumerate(smooth.tolist()):
        if rising:
            if value > smooth[top]:
                top = at
            elif value < smooth[top] - PROMINENCE_DB:
                if smooth[top] > floor[top] + 8:
                    peaks.append(top)
                low, rising = at, False
        elif value < smooth[low]:
            low = at
        elif value > smooth[low] + PROMINENCE_DB:
            top, rising = at, True
    return peaks


def _onset(level: Floats, peak: int, way: int) -> int:
    loud, at = level[peak] - 10, peak
    while 0 <= at + way < len(level) and level[at + way] > loud and abs(at + way - peak) < 25:
        at += way
    return at


def _even(apart: NDArray[np.floating]) -> NDArray[np.bool_]:
    # Even with its neighbours on one side is enough, else the ends of a train would be lost.
    even = np.zeros(len(apart), bool)
    for at, gap in enumerate(apart.tolist()):
        for near in (apart[max(0, at - 5) : at + 1], apart[max(0, at - 2) : at + 4], apart[at : at + 6]):
            middle = float(np.median(near))
            regular = len(near) >= 4 and np.mean(np.abs(near - middle) < 0.35 * middle) > 0.7
            in_range = 1 / RATE_HZ[1] <= middle <= 1 / RATE_HZ[0]
            even[at] |= bool(regular and in_range and abs(gap - middle) < 0.35 * middle)
    return even


def _scatter(values: NDArray[np.floating]) -> float:
    # Half of the middle half, as a standard deviation: one stumble does not unmake a train.
    low, high = np.percentile(values, [25, 75])
    return float(high - low) / 1.35


def _alike(frames: Frames, peaks: NDArray[np.int_]) -> bool:
    # The vowel comes back as it was: about as loud, on the same note, with the same balance of low and high.
    balance = frames.low[peaks] - frames.middle[peaks]
    notes = frames.pitch[peaks[frames.voiced[peaks] >= VOICED]]
    same_note = len(notes) < 4 or _scatter(notes) < 1.2
    return same_note and _scatter(frames.level[peaks]) < 3.5 and float(np.std(balance)) < 8


def find_trains(frames: Frames, ground: Ground) -> list[Sound]:
    """Return trains of at least eight syllables, with their rate.

    The spacing must be far more even than that of talk, and the peaks about equally loud.
    """
    peaks = np.array(syllable_peaks(frames.level, ground.floor), dtype=int)
    apart = np.diff(peaks).astype(np.float32) * HOP_MS / 1000
    even = _even(apart)
    # One stumble inside a train is bridged, a pause never.
    bridged = even.copy()
    bridged[1:-1] |= even[:-2] & even[2:] & (apart[1:-1] < 1 / RATE_HZ[0])
    found: list[Sound] = []
    for first, last in runs(bridged, least=LEAST_SYLLABLES - 1):
        middle = float(np.median(apart[first:last]))
        scatter = _scatter(apart[first:last]) / middle
        loudness = frames.level[peaks[first : last + 1]]
        start, end = _onset(frames.level, int(peaks[first]), -1), _onset(frames.level, int(peaks[last]), 1) + 1
        # A few syllables may be even by chance, many hardly.
        if (
            scatter > (0.2 if last - first >= 12 else 0.14)
            or not _alike(frames, peaks[first : last + 1])
            or (end - start) * HOP_MS < LEAST_MS
        ):
            continue
        found.append(
            Sound(
                start_ms=start * HOP_MS,
                end_ms=end * HOP_MS,
                kind="train",
                confidence=float(np.clip(1 - 2.5 * scatter, 0.3, 1)),
                how=f"{last - first + 1} even syllables",
                level_db=None if ground.talk_db is None else float(np.median(loudness)) - ground.talk_db,
                rate_hz=1 / middle,
            )
        )
    return found
