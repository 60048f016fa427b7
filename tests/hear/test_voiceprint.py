"""Prints are near for one voice and apart for two; features and weights are what they should be."""

from __future__ import annotations

import hashlib
from pathlib import Path

import numpy as np
import pytest

from segmenter.errors import ModelError
from segmenter.hear import voiceprint
from segmenter.hear.samples import RATE
from segmenter.hear.voiceprint import LONGEST, SHA256, features, prints, weights_path

REAL = Path(__file__).parents[3] / "shared" / "data" / "real"


def test_the_weights_are_the_checked_ones() -> None:
    assert hashlib.sha256(weights_path().read_bytes()).hexdigest() == SHA256


def test_missing_or_damaged_weights_say_what_to_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "encoder.npz").write_bytes(b"no weights")
    monkeypatch.setattr(voiceprint, "weights_path", lambda: tmp_path / "encoder.npz")
    voiceprint._weights.cache_clear()
    with pytest.raises(ModelError, match="cannot be read"):
        prints([np.zeros((LONGEST, 40), np.float32)])
    monkeypatch.undo()


def test_features_of_a_tone_lie_in_its_band() -> None:
    # Slaney's mel scale (Auditory Toolbox, 1998; from memory): below 1 kHz a band every 200/3 * 45.25/41 Hz.
    top = 15 + np.log(8) * 27 / np.log(6.4)
    spacing = top / 41 * 200 / 3
    for band in (3, 6, 9):
        tone = np.sin(2 * np.pi * (band + 1) * spacing * np.arange(RATE) / RATE).astype(np.float32)
        assert features(tone).mean(axis=0).argmax() == band


def test_level_does_not_matter_and_silence_is_no_voice() -> None:
    sound = np.random.default_rng(1).normal(0, 0.1, RATE).astype(np.float32)
    assert np.allclose(features(sound), features(sound * 0.01), rtol=1e-3)
    assert not features(np.zeros(RATE, np.float32)).any()
    assert not prints([np.ones((30, 40), np.float32)]).any()  # too short to say anything


def test_prints_do_not_depend_on_what_is_beside_them() -> None:
    rng = np.random.default_rng(2)
    pieces = [rng.random((length, 40)).astype(np.float32) for length in (50, 160, 90, 400, 160)]
    together = prints(pieces)
    for piece, found in zip(pieces, together, strict=True):
        assert np.allclose(prints([piece])[0], found, atol=1e-5)
    assert np.allclose(np.linalg.norm(together, axis=1), 1, atol=1e-5)


@pytest.mark.skipif(not REAL.is_dir(), reason="the real recordings are not here")
def test_real_voices_are_apart() -> None:
    from faster_whisper.audio import decode_audio

    def parts(name: str) -> np.ndarray:
        frames = features(decode_audio(str(REAL / name), sampling_rate=RATE))
        return prints([frames[at : at + LONGEST] for at in range(0, len(frames) - LONGEST, LONGEST)])

    one, again, other = parts("reading-1.mp3"), parts("reading-2.mp3"), parts("natural-1.wav")
    # The two readings are by one reader.
    assert np.median(one @ again.T) > np.median(one @ other.T) + 0.15
