"""Settle the pitch track where noise disturbed it: octave slips, and frames lost from a note that goes on."""

from __future__ import annotations

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

VOICED, DOUBTFUL = 0.5, 0.15
"""Confidence of the pitch tracker from which a frame is voice, and from which it may be."""

OCTAVE_ST = 12.0
_NEAR_ST = 0.7  # a slip lands on a harmonic: nearly a whole number of octaves away
_GAP = 6  # frames without voice inside one sound
_LEAST = 30
_RECENT = 12

Floats = NDArray[np.float32]


def fold_octaves(pitch: Floats, voiced: Floats) -> Floats:
    """Return the pitch with leaps of one or two octaves inside one stretch of voice taken back.

    Rumble hides the lowest harmonics, and the tracker then takes the second or fourth for the pitch, for seconds
    on end. A voice hardly ever leaps a whole octave without a pause; where it flips register in a held sound,
    it is still one sound. The octave that the tracker was surest of over the stretch is kept.

    Parameters
    ----------
    pitch : array, shape (frames,)
        Semitones.
    voiced : array, shape (frames,)
        Confidence, 0 to 1.
    """
    folded = pitch.copy()
    for places in _stretches(voiced >= DOUBTFUL):
        notes = pitch[places].astype(np.float64)
        leaps = np.abs(np.diff(notes))
        if len(places) < _LEAST or not _whole_octaves(leaps).any():
            continue
        octaves = _octaves_off(notes.tolist())
        values = np.unique(octaves)
        surest = values[np.argmax([voiced[places][octaves == value].sum() for value in values])]
        folded[places] = notes - OCTAVE_ST * (octaves - surest)
    return folded


def _stretches(mask: NDArray[np.bool_]) -> list[NDArray[np.intp]]:
    places = np.flatnonzero(mask)
    return np.split(places, np.flatnonzero(np.diff(places) > _GAP) + 1) if len(places) else []


def _whole_octaves(leaps: NDArray[np.float64]) -> NDArray[np.bool_]:
    times = np.round(leaps / OCTAVE_ST)
    return np.asarray((times >= 1) & (times <= 2) & (np.abs(leaps - OCTAVE_ST * times) < _NEAR_ST))


def _octaves_off(notes: list[float]) -> NDArray[np.float64]:
    """How many octaves each frame lies from where the stretch began, following slow changes of pitch."""
    off = np.zeros(len(notes))
    recent: list[float] = [notes[0]]
    for at, note in enumerate(notes):
        middle = sorted(recent)[len(recent) // 2]
        times = round((note - middle) / OCTAVE_ST)
        if times and abs(times) <= 2 and abs(note - middle - OCTAVE_ST * times) < _NEAR_ST:
            off[at] = times
        recent = [*recent[1 - _RECENT :], note - OCTAVE_ST * off[at]]
    return off


def settle(pitch: Floats, voiced: Floats, level: Floats) -> tuple[Floats, Floats]:
    """Give back frames that noise took from a note: fold octave slips, voice doubtful frames on the note.

    In wind alone the tracker's confidence stays under 0.12 in 99 of 100 frames, so 0.15 on the note of the half
    second around is voice. Where the level falls, the voice may have stopped, and nothing is given back.
    """
    pitch = fold_octaves(pitch, voiced)
    sure = voiced >= VOICED
    note, loud = _median_around(pitch, sure), _median_around(level, sure)
    away = pitch - note
    settled = (pitch - 12 * np.sign(away) * (np.abs(np.abs(away) - 12) < _NEAR_ST)).astype(np.float32)
    on_note = (voiced >= DOUBTFUL) & (np.abs(settled - note) < 1) & (level > loud - 4)
    return settled, np.where(on_note, np.maximum(voiced, VOICED), voiced).astype(np.float32)


def _median_around(values: Floats, sure: NDArray[np.bool_]) -> Floats:
    # Median of the sure frames within half a second (every fifth is enough); -1000 where there are none.
    reach, stride = 50, 5
    padded = np.pad(np.where(sure, values, np.inf), reach, constant_values=np.inf)
    around = np.sort(sliding_window_view(padded, 2 * reach + 1)[:, ::stride], axis=1)
    known = np.isfinite(around).sum(axis=1)
    middle = around[np.arange(len(values)), np.maximum(known - 1, 0) // 2]
    return np.asarray(np.where(known > 1, middle, -1000.0), dtype=np.float32)
