"""Find audible breaths in: soft, broad noise that swells and ends right before talk or a held sound."""

from __future__ import annotations

import numpy as np

from segmenter.hear.sound_events import Ground, above_talk, rolling_floor, runs, sureness
from segmenter.hear.sound_frames import HOP_MS, Floats, Frames
from segmenter.hear.sound_sweeps import HISS_MS
from segmenter.heard import Sound
from segmenter.intervals import Interval, overlap

BREATH_MS = (180, 3000)
"""Quick breaths between phrases take a quarter of a second and more; longer noise is mostly the place itself."""
SOFT_DB = 12.0
"""A breath of the length of a hiss must lie this far under the talk, and be no sharper than `BROAD_DB`."""
BROAD_DB = 3.0
BEFORE_VOICE_MS = 600
"""A breath in is followed by voice at once; other soft noises (cloth, paper, steps) come at any time."""
RISE_DB = 9.0
UNDER_TALK_DB = (8.0, 45.0)
SHARP_DB = 6.0
"""How far 3-8 kHz may lie over 1-4 kHz: the noise of an s is sharper than that of air in an open mouth."""
SWELL_DB = 12.0
ROUGH_DB = 1.6
"""Air flows evenly; keys, steps and crackling do not."""
STILL, STILL_BEFORE = 8, 35
"""Frames of quiet, and how many before a breath they are looked for: the end of a word is no breath."""


def find_breaths(frames: Frames, ground: Ground, voices: list[Interval]) -> list[Sound]:
    """Return audible breaths in, in order of time; where the place is too loud to be sure, none.

    Parameters
    ----------
    frames : Frames
        What was measured.
    ground : Ground
        Noise floor and talk level; without a talk level nothing is found.
    voices : list of (int, int)
        Talk, held voice and trains, ms.
    """
    if ground.talk_db is None or not voices:
        return []
    middle, high = _smooth(frames.middle, 3), _smooth(frames.high, 3)
    middle_floor = rolling_floor(middle)
    out = (
        (frames.voiced < 0.3)
        & (high > ground.high_floor + RISE_DB)
        & (middle > middle_floor + RISE_DB)
        & (frames.low < middle + 12)
        & (frames.level < ground.talk_db - UNDER_TALK_DB[0])
    )
    starts = np.array(sorted(start for start, _ in voices))
    found = []
    for run in runs(out, gap=4, least=BREATH_MS[0] // HOP_MS):
        swell = np.flatnonzero(middle[slice(*run)] > middle[slice(*run)].max() - SWELL_DB)
        first, last = run[0] + int(swell[0]), run[0] + int(swell[-1]) + 1
        span = (first * HOP_MS, last * HOP_MS)
        after = starts[np.searchsorted(starts, span[0]) :]
        if (
            not BREATH_MS[0] <= span[1] - span[0] <= BREATH_MS[1]
            or not len(after)
            or after[0] > span[1] + BEFORE_VOICE_MS
            or any(overlap(span, other) * 4 > span[1] - span[0] for other in voices)
        ):
            continue
        part = slice(first, last)
        loud = float(np.median(frames.level[part]))
        sharp = float(np.median(frames.high[part] - frames.middle[part]))
        if span[1] - span[0] >= HISS_MS and (sharp > BROAD_DB or loud > ground.talk_db - SOFT_DB):
            continue
        time = np.linspace(-1, 1, last - first)
        rough = float(np.std(middle[part] - np.polyval(np.polyfit(time, middle[part], 4), time)))
        before = slice(max(0, run[0] - STILL_BEFORE), run[0])
        still = np.sum(high[before] < ground.high_floor[before] + RISE_DB)
        if (
            loud < ground.talk_db - UNDER_TALK_DB[1]
            or sharp > SHARP_DB
            or rough > ROUGH_DB
            or still < min(STILL, run[0])
        ):
            continue
        found.append(
            Sound(
                start_ms=span[0],
                end_ms=span[1],
                kind="breath",
                confidence=0.4 + 0.4 * min(sureness(rough, 0.4, ROUGH_DB), sureness(sharp, 0.0, SHARP_DB)),
                how="soft, broad noise right before voice",
                level_db=above_talk(loud, ground),
            )
        )
    return found


def _smooth(values: Floats, half: int) -> Floats:
    width = 2 * half + 1
    total = np.cumsum(np.pad(values, (half + 1, half), mode="edge"), dtype=np.float64)
    return np.asarray((total[width:] - total[:-width]) / width, dtype=np.float32)
