"""The improved copy is as loud as asked, keeps its peaks, its length and its picture."""

from __future__ import annotations

import json
from pathlib import Path

import av
import numpy as np
import pyloudnorm
import pytest
from numpy.typing import NDArray

from segmenter.errors import MediaError
from segmenter.programs import run, url
from segmenter.publish import improve
from segmenter.publish.improve import TARGET_LUFS, improved_sound
from segmenter.publish.streams import form_for
from segmenter.publish.video import embed
from tests.media_files import VIDEO, write_wav
from tests.publish.test_video import SRT, TITLES, lesson, packets

RATE = 48_000
Wave = NDArray[np.float64]


def talk(level: float, seconds: float = 8.0, crest: float = 1.0) -> Wave:
    """Syllables of a buzzing voice with pauses, over a rumble at 30 Hz; `crest` raises single clicks above it."""
    t = np.arange(round(seconds * RATE)) / RATE
    buzz = sum(np.sin(2 * np.pi * 140 * k * t + 0.3 * k * k) / k for k in range(1, 12))
    syllables = np.clip(np.sin(2 * np.pi * 3 * t), 0, None) * (t % 2 < 1.5)
    wave = np.asarray(level * buzz * syllables + 0.05 * np.sin(2 * np.pi * 30 * t))
    wave[:: RATE // 2] += level * (crest - 1)
    return np.asarray(np.clip(wave, -1, 1), dtype=np.float64)


def recording(path: Path, wave: Wave) -> Path:
    wav = write_wav(path.with_suffix(".source.wav"), wave, RATE)
    if path.suffix not in VIDEO:
        run(["-i", url(wav), url(path)], wav)
    else:
        picture = ["-f", "lavfi", "-i", f"testsrc=s=64x48:r=10:d={len(wave) / RATE}"]
        run([*picture, "-i", url(wav), *VIDEO[path.suffix], "-pix_fmt", "yuv420p", url(path)], path)
    wav.unlink()
    return path


def heard(path: Path) -> tuple[Wave, int]:
    with av.open(str(path)) as media:
        frames = [frame.to_ndarray() for frame in media.decode(audio=0)]
        rate = media.streams.audio[0].codec_context.sample_rate
    return np.asarray(np.concatenate(frames, axis=1).mean(axis=0), dtype=np.float64), rate


def true_peak(path: Path) -> float:
    lines = run(["-i", url(path), "-af", "ebur128=peak=true:framelog=quiet", "-f", "null", "-"], path)
    return float(next(line for line in reversed(lines) if "Peak:" in line).split()[-2])


@pytest.mark.parametrize(
    ("suffix", "level", "crest"),
    [(".mp4", 0.02, 1.0), (".mkv", 0.3, 1.0), (".webm", 0.02, 1.0), (".m4a", 0.05, 6.0)],
)
def test_measured_on_the_copy(suffix: str, level: float, crest: float, tmp_path: Path) -> None:
    source = recording(tmp_path / f"in{suffix}", talk(level, crest=crest))
    before = source.read_bytes()
    work = tmp_path / "work"
    work.mkdir()
    sound = improved_sound(source, form_for(source).suffix, "a" * 64, work)
    made = embed(source, lesson(8), SRT, tmp_path, "out", sound)
    assert source.read_bytes() == before
    wave, rate = heard(made)
    # pyloudnorm: an independent meter after ITU-R BS.1770 (Steinmetz & Reiss, AES 150th Convention, 2021).
    assert pyloudnorm.Meter(rate).integrated_loudness(wave) == pytest.approx(TARGET_LUFS, abs=1.0)
    assert true_peak(made) <= -1.0  # EBU R 128
    original, own_rate = heard(source)
    assert abs(len(wave) / rate - len(original) / own_rate) < 0.02
    assert delay_ms(original, own_rate, wave, rate) < 20
    if suffix in VIDEO:
        assert packets(made, "video") == packets(source, "video")
    with av.open(str(made)) as media:
        assert [chapter["metadata"]["title"] for chapter in media.chapters()] == list(TITLES)
        assert len(media.streams.subtitles) == len(media.streams.audio) == 1


def delay_ms(one: Wave, one_rate: int, other: Wave, other_rate: int) -> float:
    """How far two versions of a sound lie apart, by their loudness curves."""

    def curve(wave: Wave, rate: int) -> Wave:
        step = rate // 200
        whole = wave[: len(wave) // step * step].reshape(-1, step)
        level = np.abs(np.diff(whole, axis=1)).mean(axis=1)
        return np.asarray((level - level.mean()) / level.std())

    a, b = curve(one, one_rate), curve(other, other_rate)
    length = min(len(a), len(b)) - 20
    scores = [float(np.dot(a[10 : 10 + length], b[10 + shift : 10 + shift + length])) for shift in range(-10, 10)]
    return abs(int(np.argmax(scores)) - 10) * 5.0


def test_rumble_is_filtered_and_the_voice_is_not(tmp_path: Path) -> None:
    t = np.arange(RATE * 8) / RATE
    voice = sum(0.02 * np.sin(2 * np.pi * hertz * t) for hertz in (150, 300, 450))
    source = recording(tmp_path / "in.m4a", voice + 0.05 * np.sin(2 * np.pi * 30 * t))
    wave, rate = heard(improved_sound(source, ".m4a", "a" * 64, tmp_path))
    original, own_rate = heard(source)

    def ratio(sound: Wave, rate: int) -> float:
        power = np.abs(np.fft.rfft(sound[: rate * 7])) ** 2
        hertz = np.fft.rfftfreq(rate * 7, 1 / rate)
        low, voice = power[(hertz > 25) & (hertz < 35)].sum(), power[(hertz > 130) & (hertz < 400)].sum()
        return float(10 * np.log10(low / voice))

    # A second-order high-pass falls 12 dB an octave: 30 Hz is 1.4 octaves under 80 Hz.
    assert ratio(original, own_rate) - ratio(wave, rate) == pytest.approx(17, abs=3)


def test_the_gain_is_the_same_throughout(tmp_path: Path) -> None:
    t = np.arange(RATE * 12) / RATE
    # A tone has little crest: there is room for its peaks, and the linear way is taken.
    source = recording(tmp_path / "in.wav", np.where(t < 6, 0.02, 0.03) * np.sin(2 * np.pi * 500 * t))
    wave, rate = heard(improved_sound(source, ".m4a", "a" * 64, tmp_path))
    (notes,) = tmp_path.glob("loudness-*.json")
    assert "linear=true" in notes.read_text()

    def level(first: float, last: float) -> float:
        return float(np.sqrt(np.mean(wave[round(first * rate) : round(last * rate)] ** 2)))

    assert 20 * np.log10(level(7, 11) / level(1, 5)) == pytest.approx(20 * np.log10(1.5), abs=0.1)


def test_a_second_run_goes_on_where_the_first_stood(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source = recording(tmp_path / "in.m4a", talk(0.05, 3))
    real = run

    def killed(arguments: list[str], where: Path) -> list[str]:
        if "-y" in arguments:
            raise KeyboardInterrupt
        return real(arguments, where)

    monkeypatch.setattr(improve, "run", killed)
    with pytest.raises(KeyboardInterrupt):
        improved_sound(source, ".m4a", "a" * 64, tmp_path)
    assert sorted(p.suffix for p in tmp_path.iterdir()) == [".json", ".m4a"]  # the measures and the source
    (measures,) = tmp_path.glob("*.json")
    assert "highpass" in json.loads(measures.read_text())["filters"]
    calls: list[list[str]] = []

    def counted(arguments: list[str], where: Path) -> list[str]:
        calls.append(arguments)
        return real(arguments, where)

    monkeypatch.setattr(improve, "run", counted)
    made = improved_sound(source, ".m4a", "a" * 64, tmp_path)
    assert improved_sound(source, ".m4a", "a" * 64, tmp_path) == made
    assert len(calls) == 1  # neither measured again nor written twice


def test_silence_is_not_brought_up(tmp_path: Path) -> None:
    source = recording(tmp_path / "in.wav", np.zeros(RATE * 3))
    with pytest.raises(MediaError, match="too quiet"):
        improved_sound(source, ".m4a", "a" * 64, tmp_path)
