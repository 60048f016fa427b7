"""Loudness in five channels and true peaks between samples, by the signals EBU Tech 3341 describes.

Cases 1-5 are in test_media.py. The definitions here are from memory; their expected values stand in the tests of
other meters as well.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from segmenter.hear.media import decode

RATE = 48_000


def write(path: Path, channels: list[np.ndarray]) -> Path:
    from scipy.io import wavfile

    wavfile.write(path, RATE, np.stack(channels, axis=1).astype(np.float32))
    return path


def test_case_6_five_channels(tmp_path: Path) -> None:
    # Left, right, centre, left and right surround: the surrounds count 1.5 dB more (ITU-R BS.1770).
    tone = np.sin(2 * np.pi * 1000 * np.arange(RATE * 20) / RATE)
    path = write(tmp_path / "a.wav", [10 ** (db / 20) * tone for db in (-28, -28, -24, -30, -30)])
    audio = decode(path, tmp_path / "a.raw").audio
    assert audio.loudness_lufs == pytest.approx(-23.0, abs=0.1)
    assert audio.channels == 5


@pytest.mark.parametrize(
    ("part", "phase", "size", "peak"),
    [(4, 0.0, 0.5, -6.0), (4, 45.0, 0.5, -6.0), (6, 60.0, 0.5, -6.0), (8, 67.5, 0.5, -6.0), (4, 45.0, 1.41, 3.0)],
    ids=["case 15", "case 16", "case 17", "case 18", "case 19"],
)
def test_true_peaks_between_samples(part: int, phase: float, size: float, peak: float, tmp_path: Path) -> None:
    wave = size * np.sin(2 * np.pi * np.arange(RATE * 2) / part + np.radians(phase))
    # The cases ask for faded ends, or the start itself would be a peak.
    ramp = np.minimum(1, np.minimum(np.arange(len(wave)), np.arange(len(wave))[::-1]) / (RATE / 10))
    audio = decode(write(tmp_path / "a.wav", [wave * ramp] * 2), tmp_path / "a.raw").audio
    assert audio.true_peak_dbtp is not None
    assert -0.4 <= audio.true_peak_dbtp - peak <= 0.2
