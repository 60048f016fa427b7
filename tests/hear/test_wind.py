"""Wind is told from a quiet room, a hum and a low voice."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from segmenter.hear.samples import RATE
from segmenter.hear.wind import Rumble, RumbleMeter
from tests.sounds import Condition, babble, read_wind, spoil

REAL = Path(__file__).parents[3] / "shared" / "data" / "real"


def rumble(sound: NDArray[np.floating], block: int = RATE * 3 + 77) -> Rumble:
    meter = RumbleMeter()
    whole = np.rint(np.clip(sound, -1, 1) * 32767).astype(np.int32)
    for first in range(0, len(whole), block):
        meter.add(whole[first : first + block])
    return meter.result()


def talk(pitch_hz: float = 90.0) -> NDArray[np.float32]:
    return babble(12, pitch_hz, np.random.default_rng(4)).astype(np.float32)


@pytest.mark.parametrize("condition", ["clean", "mains hum", "room echo", "20 dB quiet"])
def test_a_low_voice_without_wind_has_none(condition: Condition) -> None:
    assert rumble(spoil(talk(), condition, np.random.default_rng(1))).share == 0.0


@pytest.mark.parametrize("condition", ["wind 10 dB", "wind 5 dB", "wind 0 dB"])
def test_wind_is_found(condition: Condition) -> None:
    found = rumble(spoil(talk(), condition, np.random.default_rng(1)))
    assert found.worth_telling
    assert found.share > 0.4


def test_its_place_is_told() -> None:
    quiet, windy = talk(), spoil(talk(), "wind 0 dB", np.random.default_rng(1))
    found = rumble(np.concatenate([quiet, windy, quiet]))
    length = len(quiet) * 1000 // RATE
    assert abs(found.start_ms - length) <= 1500
    assert abs(found.end_ms - 2 * length) <= 1500


def test_a_single_knock_and_no_sound_are_not_worth_telling() -> None:
    knock = talk()
    knock[RATE * 4 : RATE * 4 + 2000] += 0.5 * np.sin(2 * np.pi * 30 * np.arange(2000) / RATE).astype(np.float32)
    assert not rumble(knock).worth_telling
    assert not rumble(np.zeros(RATE * 5)).worth_telling
    assert not rumble(np.zeros(100)).worth_telling


@pytest.mark.skipif(not REAL.is_dir(), reason="the real recordings are not here")
def test_real_wind_and_real_readings() -> None:
    from faster_whisper.audio import decode_audio

    wind = read_wind(REAL / "wind.ogg")
    assert rumble(wind).share > 0.9
    assert rumble(spoil(talk(), "wind 0 dB", np.random.default_rng(1), wind)).worth_telling
    for name in ("reading-1.mp3", "reading-2.mp3"):
        assert not rumble(decode_audio(str(REAL / name), sampling_rate=RATE)).worth_telling
