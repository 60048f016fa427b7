"""A hold keeps its times in recordings as they come: other rates, clipped, one-sided, late, uneven pictures."""

from pathlib import Path

import numpy as np
import pytest

from segmenter.hear.media import Decoded, decode, probe
from segmenter.hear.samples import RATE, Signal
from segmenter.hear.sound import analyse
from segmenter.programs import run, url
from tests.sounds import Scene, babble, hold

START_MS, END_MS = 3500, 7700
"""Of the one hold, after talk."""


@pytest.fixture(scope="module")
def clean() -> Signal:
    rng = np.random.default_rng(41)
    scene = Scene(rng, parts=[np.zeros(RATE // 2)])
    scene.add("talk", babble(2, 120, rng), 1.0).add("hold", hold(4.2, 140, rng), 0.8)
    return scene.add("talk", babble(2, 120, rng), 0.6).signal()


def written(path: Path, signal: Signal) -> Path:
    from scipy.io import wavfile

    wavfile.write(path, RATE, np.clip(np.rint(signal * 32768), -32768, 32767).astype(np.int16))
    return path


def heard(path: Path, late_ms: int = 0) -> Decoded:
    """Decode, and hold the one held sound against the truth."""
    decoded = decode(path, path.with_suffix(".raw"))
    (found,) = [sound for sound in analyse(decoded.samples).sounds if sound.kind in {"hold", "hum"}]
    assert abs(found.start_ms - START_MS - late_ms) <= 100
    assert abs(found.end_ms - END_MS - late_ms) <= 100
    assert found.pitch_hz == pytest.approx(140, rel=0.01)
    return decoded


@pytest.mark.parametrize("rate", [8_000, 11_025, 44_100, 96_000])
def test_other_sample_rates(rate: int, clean: Signal, tmp_path: Path) -> None:
    path = tmp_path / "a.wav"
    run(["-i", url(written(tmp_path / "whole.wav", clean)), "-ar", str(rate), url(path)], path)
    assert probe(path).rate == rate
    assert heard(path).audio.rate == rate


def test_clipped_by_twelve_decibels(clean: Signal, tmp_path: Path) -> None:
    loud = clean * (4 / np.abs(clean).max())
    assert "clipping" in {check.code for check in heard(written(tmp_path / "a.wav", loud)).checks}


def test_on_one_side_only(clean: Signal, tmp_path: Path) -> None:
    path = written(tmp_path / "a.wav", np.stack([clean, 0 * clean], axis=1))
    assert "channel-silent" in {check.code for check in heard(path).checks}


def film(sound: Path, path: Path, *picture: str, late_s: float = 0.0) -> Path:
    # Frames at uneven times, as phones record in poor light.
    frames = ["-f", "lavfi", "-i", "testsrc=s=64x48:r=30:d=10", "-itsoffset", str(late_s), "-i", url(sound)]
    run([*frames, "-map", "0:v", "-map", "1:a", *picture, "-c:v", "libx264", "-c:a", "aac", url(path)], path)
    return path


def test_a_picture_of_uneven_rate(clean: Signal, tmp_path: Path) -> None:
    uneven = ["-vf", "select='if(lt(t,4),not(mod(n,7)),not(mod(n,2)))'", "-fps_mode", "vfr"]
    path = film(written(tmp_path / "whole.wav", clean), tmp_path / "a.mp4", *uneven)
    assert probe(path).video is not None
    heard(path)


def test_sound_that_starts_late(clean: Signal, tmp_path: Path) -> None:
    path = film(written(tmp_path / "whole.wav", clean), tmp_path / "a.mp4", late_s=1.4)
    assert "late-sound" in {check.code for check in heard(path, late_ms=1400).checks}
