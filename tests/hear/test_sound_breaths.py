"""Audible breaths are named where they are clear, and are no talk and no exercise; other noises are no breaths."""

from pathlib import Path

import numpy as np
import pytest

from segmenter.hear.samples import RATE, Samples, Signal
from segmenter.hear.sound import SoundFacts, analyse
from segmenter.intervals import Interval, covered, overlap
from tests.sounds import TALK_LEVEL, Scene, Waves, babble, breath, hiss, hold, read_wind, spoil

REAL = Path(__file__).parents[3] / "shared" / "data" / "real"


def hear(signal: Signal, folder: Path) -> SoundFacts:
    return analyse(Samples.store(folder / "sound.raw", signal))


def spans(facts: SoundFacts, kind: str) -> list[Interval]:
    return [sound.span for sound in facts.sounds if sound.kind == kind]


def between_phrases(rng: np.random.Generator, *noises: Waves) -> Scene:
    """Put each noise between two phrases, right before the second."""
    scene = Scene(rng, parts=[np.zeros(RATE)]).add("talk", babble(2.2, 120, rng), 0.4)
    for noise in noises:
        scene.add("noise", noise, 0.1).add("talk", babble(2.2, 120, rng), 0.4)
    return scene


def test_breaths_between_phrases_are_found(tmp_path: Path) -> None:
    rng = np.random.default_rng(51)
    lengths = rng.uniform(0.3, 0.9, 10)
    scene = between_phrases(rng, *(breath(float(long), rng, float(rng.uniform(13, 25))) for long in lengths))
    facts = hear(scene.signal(), tmp_path)
    truth = [(start, end) for kind, start, end in scene.truth if kind == "noise"]
    found = [sound for sound in facts.sounds if sound.kind == "breath"]
    hit = [true for true in truth if any(overlap(true, sound.span) > 0.6 * (true[1] - true[0]) for sound in found)]
    assert len(hit) >= 8
    assert len(found) == len(hit)
    assert not spans(facts, "hiss") + spans(facts, "hold") + spans(facts, "glide")
    assert all(0.4 <= sound.confidence <= 0.8 and sound.how for sound in found)
    assert all(covered(sound.span, [part.span for part in facts.speech]) <= 0.25 for sound in found)


def test_a_deep_breath_before_a_hold_is_no_hiss(tmp_path: Path) -> None:
    rng = np.random.default_rng(52)
    scene = Scene(rng, parts=[np.zeros(RATE)]).add("talk", babble(7, 120, rng), 0.8)
    scene.add("noise", breath(1.9, rng, 18), 0.15).add("hold", hold(3, 140, rng), 1.0)
    facts = hear(scene.signal(), tmp_path)
    assert (len(spans(facts, "hiss")), len(spans(facts, "hold")), len(spans(facts, "breath"))) == (0, 1, 1)


def test_a_hiss_before_talk_stays_one(tmp_path: Path) -> None:
    rng = np.random.default_rng(53)
    facts = hear(between_phrases(rng, hiss(2.5, rng), 0.3 * hiss(1.6, rng)).signal(), tmp_path)
    assert (len(spans(facts, "hiss")), spans(facts, "breath")) == (2, [])


def keys(seconds: float, rng: np.random.Generator) -> Waves:
    """A keyboard: short bursts of noise at uneven times."""
    out = np.zeros(int(seconds * RATE))
    for at in np.cumsum(rng.uniform(0.07, 0.2, int(seconds * 7))):
        first = int(at * RATE)
        click = rng.normal(0, 1, RATE // 100) * np.exp(-np.arange(RATE // 100) / 40)
        out[first : first + len(click)] += (TALK_LEVEL / 4 * click)[: max(0, len(out) - first)]
    return out


def test_talk_keys_and_steady_noise_are_no_breaths(tmp_path: Path) -> None:
    rng = np.random.default_rng(54)
    steady = 0.02 * TALK_LEVEL * rng.normal(0, 1, RATE)
    scene = between_phrases(rng, keys(0.9, rng), np.zeros(RATE // 2), keys(0.5, rng), np.zeros(RATE))
    assert spans(hear(scene.signal(), tmp_path), "breath") == []
    fan = np.resize(steady, len(scene.signal())) + scene.signal()
    assert spans(hear(fan.astype(np.float32), tmp_path), "breath") == []


@pytest.mark.parametrize("condition", ["wind 5 dB", "mains hum", "20 dB quiet"])
def test_worse_places_make_no_breaths(condition: str, tmp_path: Path) -> None:
    rng = np.random.default_rng(55)
    scene = between_phrases(rng, np.zeros(RATE // 2), np.zeros(RATE))
    assert spans(hear(spoil(scene.signal(), condition, rng), tmp_path), "breath") == []  # type: ignore[arg-type]


@pytest.mark.skipif(not REAL.exists(), reason="the folder of real recordings is not on this machine")
@pytest.mark.parametrize("name", ["natural-1", "natural-2"])
def test_no_real_word_is_a_breath(name: str, tmp_path: Path) -> None:
    """Source: hand-checked word times of the Montreal Forced Aligner's test data."""
    from tests.hear.test_speech import hand_checked

    found = spans(hear(read_wind(REAL / f"{name}.wav").astype(np.float32), tmp_path), "breath")
    starts = [round(start * 1000) for _, start in hand_checked(REAL / f"{name}.TextGrid")]
    assert not any(first + 40 < start < last - 40 for first, last in found for start in starts)
