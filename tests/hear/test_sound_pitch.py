"""Octave slips are taken back; real leaps, glides and silence stay as they were."""

import numpy as np
import pytest

from segmenter.hear.sound_pitch import fold_octaves, settle


def track(*parts: tuple[float, float, float, int]) -> tuple[np.ndarray, np.ndarray]:
    """Pitch from one value to another at a confidence, over so many frames."""
    pitch = np.concatenate([np.linspace(first, last, count) for first, last, _, count in parts])
    voiced = np.concatenate([np.full(count, sure) for *_, sure, count in parts])
    return pitch.astype(np.float32), voiced.astype(np.float32)


@pytest.mark.parametrize("leap", [12.0, 24.0, -12.0, 11.6])
def test_a_slip_of_whole_octaves_is_taken_back(leap: float) -> None:
    pitch, voiced = track((95, 95, 0.9, 200), (95 + leap, 95 + leap, 0.5, 150), (95, 95, 0.9, 20))
    assert fold_octaves(pitch, voiced) == pytest.approx(95, abs=0.5)


def test_the_surest_octave_wins_wherever_the_sound_begins() -> None:
    pitch, voiced = track((107, 107, 0.3, 100), (95, 95, 0.9, 80))
    assert fold_octaves(pitch, voiced) == pytest.approx(95)


def test_a_slow_slide_through_an_octave_and_a_leap_of_another_size_stay() -> None:
    for parts in [((85, 105, 0.9, 250),), ((90, 90, 0.9, 100), (97, 97, 0.9, 100))]:
        pitch, voiced = track(*parts)
        assert fold_octaves(pitch, voiced) == pytest.approx(pitch)


def test_a_new_note_after_a_pause_stays() -> None:
    pitch, voiced = track((90, 90, 0.9, 100), (80, 80, 0.0, 40), (102, 102, 0.9, 100))
    assert fold_octaves(pitch, voiced) == pytest.approx(pitch)


def test_doubtful_frames_on_the_note_become_voice_only_at_full_level() -> None:
    pitch, voiced = track((95, 95, 0.9, 60), (95, 95, 0.2, 10), (95, 95, 0.9, 60))
    level = np.full(len(pitch), -20, np.float32)
    assert (settle(pitch, voiced, level)[1] >= 0.5).all()
    level[60:70] = -40
    assert (settle(pitch, voiced, level)[1][60:70] < 0.5).all()


def test_nothing_is_no_error() -> None:
    nothing = np.zeros(0, np.float32)
    assert len(fold_octaves(nothing, nothing)) == 0
