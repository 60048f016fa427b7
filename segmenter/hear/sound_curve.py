"""Pitch and level over the whole recording, coarse enough to keep, fine enough to look at."""

from __future__ import annotations

import numpy as np

from segmenter.hear.sound_frames import HOP_MS, Floats, Frames, decibels
from segmenter.hear.sound_pitch import VOICED
from segmenter.heard import Curve

STEP_MS = 50


def curve_of(frames: Frames, talk_db: float | None) -> Curve:
    """Return a value every 50 ms: median pitch where most of it is voiced, and mean power."""
    step = STEP_MS // HOP_MS
    voiced = _rows(frames.voiced, step, 0.0) >= VOICED
    pitch = np.where(voiced, _rows(frames.pitch, step, 0.0), np.nan)
    most = voiced.sum(axis=1) * 2 > step
    hertz = np.zeros(len(pitch), np.float32)
    hertz[most] = 2 ** (np.nanmedian(pitch[most], axis=1) / 12)
    power = 10 ** (_rows(frames.level, step, -100.0) / 10)
    return Curve.packed(STEP_MS, talk_db, hertz, decibels(power.mean(axis=1)))


def _rows(values: Floats, step: int, fill: float) -> Floats:
    return np.pad(values, (0, -len(values) % step), constant_values=fill).reshape(-1, step)
