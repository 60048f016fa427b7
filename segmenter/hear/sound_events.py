"""Find held sounds in measured frames: holds, hums, glides and hisses.

A held sound is told from drawn-out speech by two things together: its pitch stays (or travels in one sweep),
and its timbre stays. Speech changes its timbre every tenth of a second even where its pitch is flat.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.sound_frames import HOP_MS, VOICED, Floats, Frames
from segmenter.heard import Sound, SoundKind

STEADY_SLOPE_ST = 0.8
"""Semitones that a flat pitch may move in 200 ms; talk usually moves more than twice that."""

STEADY_CHANGE = 0.025
SHORTEST_MS = 600
LONG_MS = 1500
EDGE_DROP_DB = 10.0
HUM_DB = 25.0
"""Closed lips: 1-4 kHz lies this far under 150-900 Hz (open vowels: under 20, common practice, no source)."""

GLIDE_ST = 5.0
DRIFT_ST = 4.0
GLIDE_MS = 1000
HISS_MS = 1200

Mask = NDArray[np.bool_]


@dataclass(frozen=True)
class Ground:
    """What sounds stand out from, dB: the noise floor (all band, high band) at each frame, and the talk level."""

    floor: Floats
    high_floor: Floats
    talk_db: float | None


def runs(mask: Mask, gap: int = 0, least: int = 1) -> list[tuple[int, int]]:
    """Half-open stretches where `mask` holds; gaps up to `gap` frames are bridged, short ones dropped."""
    turns = np.flatnonzero(np.diff(np.concatenate([[0], mask.astype(np.int8), [0]])))
    found: list[tuple[int, int]] = []
    for first, last in zip(turns[::2].tolist(), turns[1::2].tolist(), strict=True):
        if found and first - found[-1][1] <= gap:
            found[-1] = (found[-1][0], last)
        else:
            found.append((first, last))
    return [(first, last) for first, last in found if last - first >= least]


def rolling_floor(level: Floats) -> Floats:
    """Noise floor: the 10th percentile of 20 s, or of a neighbour where that is lower (up to a minute away)."""
    step = 20_000 // HOP_MS
    if not len(level):
        return level
    low = np.array([np.percentile(level[at : at + step], 10) for at in range(0, len(level), step)], np.float32)
    spread = np.array([low[max(0, k - 3) : k + 4].min() for k in range(len(low))], np.float32)
    return np.repeat(spread, step)[: len(level)]


def _mean_pitch(frames: Frames, half: int) -> Floats:
    # Mean over voiced frames only; unvoiced pitch is noise.
    weight = (frames.voiced >= VOICED).astype(np.float64)
    sums = np.cumsum(np.pad(frames.pitch * weight, (half + 1, half)))
    counts = np.cumsum(np.pad(weight, (half + 1, half)))
    width = 2 * half + 1
    total, count = sums[width:] - sums[:-width], counts[width:] - counts[:-width]
    return np.asarray(np.where(count > 0, total / np.maximum(count, 1), 0), dtype=np.float32)


def _steady(frames: Frames) -> Mask:
    pitch = _mean_pitch(frames, 8)
    ahead, behind = np.roll(pitch, -10), np.roll(pitch, 10)
    flat = np.abs(ahead - behind) <= STEADY_SLOPE_ST
    near = np.abs(frames.pitch - pitch) <= 1.5
    return np.asarray((frames.voiced >= VOICED) & flat & near & (frames.change <= STEADY_CHANGE))


def _joined(frames: Frames, pieces: list[tuple[int, int]]) -> list[tuple[int, int]]:
    # A voice that breaks for a moment and comes back on the same note is one hold.
    found: list[tuple[int, int]] = []
    for first, last in pieces:
        if found and first - found[-1][1] <= 45:
            before = np.median(frames.pitch[max(found[-1][0], found[-1][1] - 30) : found[-1][1]])
            after = np.median(frames.pitch[first : min(last, first + 30)])
            loud = np.median(frames.level[found[-1][0] : found[-1][1]])
            # Silence between two sounds on one note is a breath, not a break.
            quiet = int(np.sum(frames.level[found[-1][1] : first] < loud - 20))
            if abs(before - after) <= 1.5 and quiet <= 12:
                found[-1] = (found[-1][0], last)
                continue
        found.append((first, last))
    return found


def _edge(frames: Frames, core: tuple[int, int], forward: bool) -> int:
    # Walk outwards from the steady core, 0.4 s at most, until voice, level or note is lost for 40 ms.
    first, last = core
    inner = slice(max(first, last - 40), last) if forward else slice(first, min(last, first + 40))
    loud, note = np.median(frames.level[inner]) - EDGE_DROP_DB, np.median(frames.pitch[inner])
    way = 1 if forward else -1
    edge = start = last - 1 if forward else first
    for at in range(start + way, start + 40 * way, way):
        if not 0 <= at < len(frames.level) or frames.level[at] < loud or abs(at - edge) > 4:
            break
        if frames.voiced[at] >= VOICED and abs(frames.pitch[at] - note) <= 2.0:
            edge = at
    return edge + 1 if forward else edge


def _trim(level: Floats, run: tuple[int, int]) -> tuple[int, int]:
    first, last = run
    loud = np.median(level[first:last]) - EDGE_DROP_DB
    while last - first > 30 and level[last - 1] < loud:
        last -= 1
    while last - first > 30 and level[first] < loud:
        first += 1
    return first, last


def _detrended(pitch: Floats) -> tuple[float, float]:
    # Drift over the whole sound and the spread that remains beside it, semitones.
    time = np.linspace(-0.5, 0.5, len(pitch))
    slope, middle = np.polyfit(time, pitch, 1)
    return float(slope), float(np.std(pitch - slope * time - middle))


def _isolated(frames: Frames, ground: Ground, first: int, last: int) -> bool:
    loud = float(np.median(frames.level[first:last]))

    def still(start: int, end: int, drop: float) -> bool:
        part = slice(max(0, start), max(0, end))
        quiet = frames.level[part] <= np.maximum(loud - drop, ground.floor[part] + 6)
        # A gust is loud, but neither voice nor the s of a drawn-out "so".
        gust = (frames.voiced[part] < 0.3) & (frames.high[part] < ground.high_floor[part] + 10)
        return len(quiet) == 0 or bool(np.mean(quiet | gust) > 0.8)

    return still(first - 30, first - 5, 15) and still(last + 5, last + 12, 6) and still(last + 18, last + 45, 14)


def _breaks(voiced: Floats, pitch: Floats) -> int:
    lost = (voiced < VOICED) | (np.abs(pitch - np.median(pitch)) > 4)
    return len(runs(lost[5:-5], gap=3, least=4))


def dipping(level: Floats) -> bool:
    """Whether the level falls again and again far below its loud parts, as in syllables that echo joins."""
    return bool(np.mean(level[5:-5] < np.percentile(level, 80) - 5) > 0.2)


def _above_talk(level: float, ground: Ground) -> float | None:
    return None if ground.talk_db is None else level - ground.talk_db


def _sure(value: float, good: float, bad: float) -> float:
    return float(np.clip((bad - value) / (bad - good), 0, 1))


@dataclass(frozen=True)
class _Steadiness:
    share: float
    spread_st: float
    change: float
    drift_st: float

    def within(self, share: float, spread_st: float, change: float, drift_st: float) -> bool:
        return (
            self.share >= share
            and self.spread_st <= spread_st
            and self.change <= change
            and abs(self.drift_st) <= drift_st
        )


def find_holds(frames: Frames, ground: Ground) -> list[Sound]:
    """Return holds and hums in order of time.

    Long ones (1.5 s) need a flat pitch and a steady timbre; shorter ones (from 0.6 s) must also stand alone and be
    steadier than talk ever is.
    """
    found: list[Sound] = []
    for core in _joined(frames, runs(_steady(frames), gap=6, least=15)):
        inner = _trim(frames.level, core)
        first, last = _edge(frames, inner, forward=False), _edge(frames, inner, forward=True)
        length = (last - first) * HOP_MS
        if length < SHORTEST_MS or (found and first * HOP_MS < found[-1].end_ms):
            continue
        part = slice(first, last)
        voiced = frames.voiced[part] >= VOICED
        pitch = frames.pitch[part][voiced]
        centre = float(np.median(pitch))
        pitch = pitch[np.abs(pitch - centre) <= 4]
        level = float(np.median(frames.level[part]))
        drift, spread = _detrended(pitch)
        change = float(np.median(frames.change[part]))
        steady = float(np.mean(_within(core, first, last, _steady_part(frames, first, last))))
        if level < ground.floor[part].mean() + 3 or voiced.mean() < 0.6:
            continue
        steadiness = _Steadiness(steady, spread, change, drift)
        if length >= LONG_MS:
            taken = steadiness.within(0.6, 1.2, 0.015, DRIFT_ST)
        else:
            taken = steadiness.within(0.45, 0.4, 0.008, 1.5) and _isolated(frames, ground, first, last)
        if not taken:
            continue
        low, middle = (float(np.median(values[part])) for values in (frames.low, frames.middle))
        kind: SoundKind = "hum" if low - middle > HUM_DB else "hold"
        sure = 0.5 + 0.5 * min(_sure(spread, 0.3, 1.4), _sure(change, 0.004, 0.02))
        found.append(
            Sound(
                start_ms=first * HOP_MS,
                end_ms=last * HOP_MS,
                kind=kind,
                confidence=sure if length >= LONG_MS else 0.8 * sure,
                how="flat pitch and steady timbre" + ("" if length >= LONG_MS else ", standing alone"),
                pitch_hz=float(2 ** (centre / 12)),
                pitch_spread_st=float(np.std(pitch)),
                pitch_drift_st=drift,
                level_db=_above_talk(level, ground),
                breaks=_breaks(frames.voiced[part], frames.pitch[part]),
            )
        )
    return found


def _steady_part(frames: Frames, first: int, last: int) -> Mask:
    part = Frames(**{name: values[max(0, first - 20) : last + 20] for name, values in vars(frames).items()})
    return _steady(part)[first - max(0, first - 20) :][: last - first]


def _within(core: tuple[int, int], first: int, last: int, steady: Mask) -> Mask:
    # The first and last 150 ms cannot be steady: the comparison there reaches outside the sound.
    return steady[15:-15] if last - first > 60 else steady


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
    smooth = _mean_pitch(frames, 3)
    jump = np.abs(np.diff(smooth, prepend=smooth[:1])) > 1.5
    found = []
    for run in runs(free & ~jump, gap=6, least=GLIDE_MS // HOP_MS):
        first, last = _trim(frames.level, run)
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
                confidence=0.5 + 0.5 * _sure(change, 0.02, 0.09),
                how="pitch travels in one sweep" if len(legs) == 1 else "pitch travels and turns back",
                glide_hz=(start, end),
                glide_top_hz=top if turns else None,
                level_db=_above_talk(loud, ground),
            )
        )
    return found


def find_hisses(frames: Frames, ground: Ground) -> list[Sound]:
    """Return long unvoiced sounds (1.2 s and more) that stand out in the high band."""
    high = _running_mean(frames.high, 2)
    out = (frames.voiced < 0.45) & (high > ground.high_floor + 10) & (high > _running_mean(frames.low, 2) - 6)
    found = []
    for run in runs(out, gap=8, least=HISS_MS // HOP_MS):
        first, last = _trim(frames.high, (max(0, run[0] - 3), min(len(high), run[1] + 3)))
        loud = float(np.median(frames.high[first:last]))
        wobble = float(np.std(_running_mean(frames.high[first:last], 5)))
        if (last - first) * HOP_MS < HISS_MS or (ground.talk_db is not None and loud < ground.talk_db - 35):
            continue
        found.append(
            Sound(
                start_ms=first * HOP_MS,
                end_ms=last * HOP_MS,
                kind="hiss",
                confidence=0.4 + 0.5 * _sure(wobble, 1.5, 8.0),
                how="long high noise without voice",
                level_db=_above_talk(loud, ground),
            )
        )
    return found


def _running_mean(values: Floats, half: int) -> Floats:
    width = 2 * half + 1
    if len(values) < width:
        return values
    total = np.cumsum(np.pad(values, (half + 1, half), mode="edge"), dtype=np.float64)
    return np.asarray((total[width:] - total[:-width]) / width, dtype=np.float32)
