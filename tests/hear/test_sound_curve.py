"""The curve of pitch and level that a build keeps, beside Praat's."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from segmenter.hear.samples import RATE, Samples
from segmenter.hear.sound import analyse
from segmenter.hear.sound_curve import STEP_MS
from segmenter.heard import Curve
from tests.sounds import Scene, babble, glide, hiss, hold

Values = NDArray[np.float64]


def at_steps(
    times: NDArray[np.float64], values: NDArray[np.float64], start: int, count: int
) -> NDArray[np.float64]:
    """Median of Praat's values in each step."""
    edges = (start + STEP_MS * np.arange(count + 1)) / 1000
    return np.array([np.median(values[(times >= a) & (times < b)]) for a, b in pairwise(edges)])


def test_the_curve_is_that_of_praat(tmp_path: Path) -> None:
    """Source: Praat manual, "Sound: To Pitch..." and "Sound: To Intensity...", their defaults."""
    parselmouth = pytest.importorskip("parselmouth")
    rng = np.random.default_rng(23)
    scene = Scene(rng, parts=[np.zeros(RATE)]).add("talk", babble(6, 120, rng), 0.8)
    scene.add("hold", hold(4.0, 180, rng, drift_st=-1.5), 0.8).add("glide", glide(3.0, 120, 320, rng), 0.8)
    fading = hold(5.0, 140, rng, "o")
    scene.add("hold", fading * np.linspace(1.0, 0.25, len(fading)), 0.8).add("hiss", hiss(2.5, rng), 0.5)
    signal = scene.signal()
    curve = analyse(Samples.store(tmp_path / "sound.raw", signal)).curve
    sound = parselmouth.Sound(signal.astype(np.float64), RATE)
    pitch, power = sound.to_pitch(), sound.to_intensity(time_step=0.01)
    compared = 0
    for kind, start, end in scene.truth:
        hertz, level = curve.within(start, end)
        first, inner = -(-start // STEP_MS) * STEP_MS, slice(3, len(hertz) - 3)
        if kind == "hiss":
            assert np.isnan(hertz).all()
        if kind not in {"hold", "glide"}:
            continue
        theirs = at_steps(pitch.xs(), pitch.selected_array["frequency"], first, len(hertz))
        away = 12 * np.log2(hertz[inner] / theirs[inner])
        assert np.abs(away).max() <= 0.5
        loud = at_steps(power.xs(), power.values[0], first, len(level))
        # Praat takes the whole band, and levels have no common zero: the course is compared.
        course = (level - np.median(level))[inner] - (loud - np.median(loud))[inner]
        assert np.abs(course).max() <= 1.5
        compared += len(away)
    assert compared > 200
    assert curve.talk_db is not None


def test_a_curve_reads_back_as_it_was_packed() -> None:
    pitch = np.array([0, 60, 220.5, 1100], np.float32)
    curve = Curve.packed(50, None, pitch, np.array([-100, -23.456, 0, 3], np.float32))
    hertz, level = Curve.model_validate_json(curve.model_dump_json()).within(0, 200)
    assert np.isnan(hertz[0])
    assert hertz[1:] == pytest.approx(pitch[1:], rel=0.0003)  # half a cent
    assert level == pytest.approx([-100, -23.456, 0, 3], abs=0.005)
    assert len(curve.within(60, 140)[0]) == 0
    assert len(curve.within(50, 9_000)[0]) == 3


def test_a_moment_of_sound_has_a_curve(tmp_path: Path) -> None:
    for length in (0, 100, RATE):
        curve = analyse(Samples.store(tmp_path / "sound.raw", np.zeros(length, np.float32))).curve
        assert np.isnan(curve.within(0, 100)[0]).all()
