"""Find glides (a voice whose pitch travels) and hisses (long noise without voice) in measured frames."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from segmenter.hear.sound_events import Ground, above_talk, mean_pitch, runs, sureness, trim
from segmenter.hear.sound_frames import HOP_MS, Floats, Frames
from segmenter.hear.sound_pitch import VOICED
from segmenter.heard import Sound

GLIDE_ST = 5.0
GLIDE_MS = 1000
HISS_MS = 1200


def _legs(pitch: Floats) -> list[tuple[int, int, float]]:
    # Zigzag: a turn counts when the pitch comes back by two semitones.
    turns, far, way = [0], 0, 0
    for at in range(1, len(pitch)):
        if way >= 0 and pitch[at] > pitch[far]:
            far, way = at, way or (1 if pitch[at] - pitch[0] > 2 else 0)
        elif way <= 0 and pitch[at] < pitch[far]:
            far, way = at, way or (-1 if pitch[0] - pitch[at] > 2 else 0)
        elif way and abs(pitch[at] - pitch[far]) > 2:
            turns.append(far)
            far, way = at, -way
    turns.append(far)
    return [(one, two, float(pitch[two] - pitch[one])) for one, two in pairwise(turns)]


def find_glides(frames: Frames, ground: Ground, taken: list[Sound]) -> list[Sound]:
    """Return sweeps of at least 5 semitones that take at least 1 s, one way or up and back."""
    free = frames.voiced >= VOICED
    for sound in taken:
        free[sound.start_ms // HOP_MS : sound.end_ms // HOP_MS] = False
    smooth = mean_pitch(frames, 3)
    jump = np.abs(np.diff(smooth, prepend=smooth[:1])) > 1.5
    found = []
    for run in runs(free & ~jump, gap=6, least=GLIDE_MS // HOP_MS):
        first, last = trim(frames.level, run)
        loud = float(np.median(frames.level[first:last]))
        pitch = smooth[first:last]
        legs = [leg for leg in _legs(pitch) if leg[1] > leg[0]]
        if not legs or min(abs(leg[2]) for leg in legs) < GLIDE_ST or len(legs) > 12:
            continue
        if min(leg[1] - leg[0] for leg in legs) < 35 or (last - first) * HOP_MS < GLIDE_MS:
            continue
        travel = float(np.abs(np.diff(pitch[::5])).sum())
        change = float(np.median(frames.change[first:last]))
        if travel > 1.3 * sum(abs(leg[2]) for leg in legs) or change > 0.08:
            continue
        if loud < ground.floor[first:last].mean() + 3:
            continue
        start, end, top = (float(2 ** (value / 12)) for value in (pitch[3], pitch[-4], pitch.max()))
        turns = len(legs) > 1 and top > max(start, end) * 2 ** (2 / 12)
        found.append(
            Sound(
                start_ms=first * HOP_MS,
                end_ms=last * HOP_MS,
                kind="glide",
                confidence=0.5 + 0.5 * sureness(change, 0.02, 0.09),
                how="pitch travels in one sweep" if len(legs) == 1 else "pitch travels and turns back",
                glide_hz=(start, end),
                glide_top_hz=top if turns else None,
                level_db=above_talk(loud, ground),
            )
        )
    return found


def find_hisses(frames: Frames, ground: Ground) -> list[Sound]:
    """Return long unvoiced sounds (1.2 s and more) that stand out in the high band."""
    high = _running_mean(frames.high, 2)
    out = (frames.voiced < 0.45) & (high > ground.high_floor + 10) & (high > _running_mean(frames.low, 2) - 6)
    found = []
    for run in runs(out, gap=8, least=HISS_MS // HOP_MS):
        first, last = trim(frames.high, (max(0, run[0] - 3), min(len(high), run[1] + 3)))
        loud = float(np.median(frames.high[first:last]))
        wobble = float(np.std(_running_mean(frames.high[first:last], 5)))
        if (last - first) * HOP_MS < HISS_MS or (ground.talk_db is not None and loud < ground.talk_db - 35):
            continue
        found.append(
            Sound(
                start_ms=first * HOP_MS,
                end_ms=last * HOP_MS,
                kind="hiss",
                confidence=0.4 + 0.5 * sureness(wobble, 1.5, 8.0),
                how="long high noise without voice",
                level_db=above_talk(loud, ground),
            )
        )
    return found


def _running_mean(values: Floats, half: int) -> Floats:
    width = 2 * half + 1
    if len(values) < width:
        return values
    total = np.cumsum(np.pad(values, (half + 1, half), mode="edge"), dtype=np.float64)
    return np.asarray((total[width:] - total[:-width]) / width, dtype=np.float32)
