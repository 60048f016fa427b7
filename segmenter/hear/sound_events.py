"""Find sustained voice in measured frames: holds and hums.

A held sound is told from drawn-out speech by two things together: its pitch stays, and its timbre stays.
Speech changes its timbre every tenth of a second even where its pitch is flat.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.sound_frames import HOP_MS, Floats, Frames
from segmenter.hear.sound_pitch import OCTAVE_ST, VOICED
from segmenter.heard import Sound, SoundKind

STEADY_SLOPE_ST = 0.8
"""Semitones that a flat pitch may move in 200 ms; talk usually moves more than twice that."""

STEADY_CHANGE = 0.025
SHORTEST_MS = 600
LONG_MS = 1500
EDGE_DROP_DB = 10.0
EDGE_REACH, HINTED, ON_NOTE_ST = 200, 0.04, 0.5
LOST_PITCH = 80
"""Frames for which wind may take the pitch from a sound that goes on."""

HUM_DB = 25.0
"""Closed lips: 1-4 kHz lies this far under 150-900 Hz (open vowels: under 20, common practice, no source)."""

DRIFT_ST = 4.0

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


def mean_pitch(frames: Frames, half: int) -> Floats:
    """Pitch smoothed over `half` frames either way, voiced frames only; 0 where there are none."""
    weight = (frames.voiced >= VOICED).astype(np.float64)
    sums = np.cumsum(np.pad(frames.pitch * weight, (half + 1, half)))
    counts = np.cumsum(np.pad(weight, (half + 1, half)))
    width = 2 * half + 1
    total, count = sums[width:] - sums[:-width], counts[width:] - counts[:-width]
    return np.asarray(np.where(count > 0, total / np.maximum(count, 1), 0), dtype=np.float32)


def _steady(frames: Frames) -> Mask:
    pitch = mean_pitch(frames, 8)
    ahead, behind = np.roll(pitch, -10), np.roll(pitch, 10)
    flat = np.abs(ahead - behind) <= STEADY_SLOPE_ST
    near = np.abs(frames.pitch - pitch) <= 1.5
    return np.asarray((frames.voiced >= VOICED) & flat & near & (frames.change <= STEADY_CHANGE))


def _joined(frames: Frames, pieces: list[tuple[int, int]]) -> list[tuple[int, int]]:
    # A voice that breaks for a moment and comes back on the same note is one hold.
    found: list[tuple[int, int]] = []
    for first, last in pieces:
        if found and _goes_on(frames, found[-1], first):
            found[-1] = (found[-1][0], last)
            continue
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


def _goes_on(frames: Frames, before: tuple[int, int], first: int) -> bool:
    """Whether a sound only seems to pause: the tracker lost its pitch, but level and timbre stay as they are."""
    gap = slice(before[1], first)
    if first - before[1] > LOST_PITCH or frames.change[gap].max(initial=0.0) > STEADY_CHANGE:
        return False
    loud = np.median(frames.level[max(before[0], before[1] - 100) : before[1]])
    apart = (frames.pitch[first] - frames.pitch[before[1] - 1]) % OCTAVE_ST
    return bool(min(apart, OCTAVE_ST - apart) <= 1.5 and (frames.level[gap] > loud - 6).all())


def _edge(frames: Frames, core: tuple[int, int], forward: bool) -> int:
    # Walk outwards from the steady core, until voice, level or note is lost for 40 ms; after 0.4 s only right on
    # the note. Noise alone stays on no note: at full level it counts as voice though the tracker is unsure.
    first, last = core
    inner = slice(max(first, last - 40), last) if forward else slice(first, min(last, first + 40))
    full, note = np.median(frames.level[inner]), np.median(frames.pitch[inner])
    way = 1 if forward else -1
    edge = known = start = last - 1 if forward else first
    for at in range(start + way, start + EDGE_REACH * way, way):
        if not 0 <= at < len(frames.level) or frames.level[at] < full - EDGE_DROP_DB or abs(at - known) > 4:
            break
        away = abs(frames.pitch[at] - note)
        near = frames.voiced[at] >= VOICED and away <= 2.0 and abs(at - start) < 40
        octaves = OCTAVE_ST * round(away / OCTAVE_ST)
        on_note = frames.level[at] > full - 4 and abs(away - octaves) <= ON_NOTE_ST
        if near or on_note:
            known = at
        if near or (on_note and frames.voiced[at] >= HINTED):
            edge = at
    return edge + 1 if forward else edge


def trim(level: Floats, run: tuple[int, int]) -> tuple[int, int]:
    """Cut both ends of `run` to where the level is within 10 dB of its middle."""
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


def above_talk(level: float, ground: Ground) -> float | None:
    """Level against the talk, None where there is too little talk to compare with."""
    return None if ground.talk_db is None else level - ground.talk_db


def sureness(value: float, good: float, bad: float) -> float:
    """1 at `good`, 0 at `bad`, straight between."""
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
        inner = trim(frames.level, core)
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
        sure = 0.5 + 0.5 * min(sureness(spread, 0.3, 1.4), sureness(change, 0.004, 0.02))
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
                level_db=above_talk(level, ground),
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
