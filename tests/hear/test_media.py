"""Recordings of every kind decode to the same timeline and level, and broken ones say what is wrong."""

import hashlib
import tracemalloc
from pathlib import Path

import numpy as np
import pyloudnorm
import pytest
from numpy.typing import NDArray

from segmenter.errors import MediaError, SegmenterError
from segmenter.hear.media import Decoded, decode, probe, sha256_of
from segmenter.hear.samples import RATE
from tests import media_files
from tests.media_files import PLAYLISTS, SOUND, VIDEO, cut, make, sound

Wave = NDArray[np.float64]
REAL = Path(__file__).parents[3] / "shared" / "data" / "real"


def codes(decoded: Decoded) -> set[str]:
    return {check.code for check in decoded.checks}


@pytest.mark.parametrize("suffix", [*VIDEO, *SOUND])
def test_every_container(suffix: str, tmp_path: Path) -> None:
    path = make(tmp_path / f"class one's é{suffix}", 2)
    facts = probe(path)
    decoded = decode(path, tmp_path / "sound.raw")
    assert abs(facts.seconds - 2) < 0.05
    assert (facts.video is not None) == (suffix in VIDEO)
    assert (facts.rate, facts.channels, facts.audio_tracks) == (48000, 1, 1)
    assert abs(decoded.samples.duration_ms - 2000) < 50
    assert decoded.samples.path.stat().st_size == decoded.samples.count * 2
    # The tone is 440 Hz, whatever the codec.
    spectrum = np.abs(np.fft.rfft(decoded.samples.read(500, 1500)))
    assert abs(int(spectrum.argmax()) - 440) <= 1
    assert not codes(decoded) - {"low-snr"}  # a tone without a pause has no noise floor
    assert sorted(p.name for p in tmp_path.iterdir()) == sorted([path.name, "sound.raw"])


def test_picture_size(tmp_path: Path) -> None:
    video = probe(make(tmp_path / "a.mp4", 1)).video
    assert video is not None
    assert (video.width, video.height, video.fps) == (64, 48, 10)


def test_a_phone_held_upright_is_taller_than_wide(tmp_path: Path) -> None:
    from segmenter.programs import run, url

    path = make(tmp_path / "a.mp4", 1)
    turned = tmp_path / "b.mp4"
    run(["-display_rotation", "90", "-i", url(path), "-c", "copy", url(turned)], path)
    video = probe(turned).video
    assert video is not None
    assert (video.width, video.height) == (48, 64)


# EBU Tech 3341, minimum requirements 1-5: stereo 1 kHz sine at these levels (dBFS peak) and lengths (s); expected
# integrated loudness, tolerance 0.1 LU. Table read through the tests of other meters, not in the document itself.
TECH_3341 = [
    ([(-23, 20)], -23.0),
    ([(-33, 20)], -33.0),
    ([(-36, 10), (-23, 60), (-36, 10)], -23.0),
    ([(-72, 10), (-36, 10), (-23, 60), (-36, 10), (-72, 10)], -23.0),
    ([(-26, 20), (-20, 20.1), (-26, 20)], -23.0),
]


def write_wav(path: Path, wave: Wave, rate: int = 48_000) -> Path:
    from scipy.io import wavfile

    wavfile.write(path, rate, np.clip(np.rint(wave * 32768), -32768, 32767).astype(np.int16))
    return path


def tone(steps: list[tuple[float, float]], rate: int = 48_000) -> Wave:
    level = np.concatenate([np.full(round(length * rate), 10 ** (db / 20)) for db, length in steps])
    return level * np.sin(2 * np.pi * 1000 * np.arange(len(level)) / rate)


@pytest.mark.parametrize(("steps", "expected"), TECH_3341)
def test_loudness_of_the_published_signals(
    steps: list[tuple[float, float]], expected: float, tmp_path: Path
) -> None:
    wave = tone(steps)
    path = write_wav(tmp_path / "tone.wav", np.stack([wave, wave], axis=1))
    audio = decode(path, tmp_path / "sound.raw").audio
    assert audio.loudness_lufs == pytest.approx(expected, abs=0.1)
    # The sine's crest is its peak; EBU Tech 3341 allows -0.4 to +0.2 dB for true peak.
    assert audio.true_peak_dbtp is not None
    assert -0.4 <= audio.true_peak_dbtp - max(db for db, _ in steps) <= 0.2


@pytest.mark.parametrize("channels", [1, 2])
def test_loudness_against_another_meter(channels: int, tmp_path: Path) -> None:
    # pyloudnorm: Steinmetz & Reiss, AES 150th Convention, 2021; an independent ITU-R BS.1770 meter.
    rate = 44_100
    rng = np.random.default_rng(3)
    swell = 0.1 * (1 + np.sin(2 * np.pi * 0.4 * np.arange(rate * 8) / rate))[:, None]
    wave = np.clip(swell * rng.standard_normal((rate * 8, channels)), -0.9, 0.9)
    path = write_wav(tmp_path / "noise.wav", wave, rate)
    measured = decode(path, tmp_path / "sound.raw").audio
    assert measured.rate == rate
    reference = pyloudnorm.Meter(rate).integrated_loudness(np.rint(wave * 32768) / 32768)
    assert measured.loudness_lufs == pytest.approx(reference, abs=0.2)


def test_length_against_ffmpegs_own_report(tmp_path: Path) -> None:
    from segmenter.programs import run, url

    for suffix in (".mp4", ".mp3", ".ogg"):
        path = make(tmp_path / f"a{suffix}", 2.7)
        report = run(["-i", url(path), "-vn", "-af", "astats=measure_perchannel=none", "-f", "null", "-"], path)
        count = next(int(line.split(":")[-1]) for line in report if "Number of samples" in line)
        decoded = decode(path, tmp_path / "sound.raw")
        assert abs(decoded.samples.duration_ms - count / 48) <= 6  # the last resampled block


@pytest.mark.parametrize("suffix", [".mp4", ".mkv"])
def test_sound_that_starts_late_keeps_its_place(suffix: str, tmp_path: Path) -> None:
    decoded = decode(make(tmp_path / f"a{suffix}", 3, late=1.0), tmp_path / "sound.raw")
    wave = np.abs(decoded.samples.read())
    assert abs(int(np.flatnonzero(wave > 0.02)[0]) - RATE) < RATE // 50
    assert "late-sound" in codes(decoded)
    assert abs(decoded.samples.duration_ms - 3000) < 50


def pauses(seconds: int = 6, rate: int = 16_000) -> Wave:
    """Bursts of a voice-like sound, half of the time, over a quiet floor."""
    t = np.arange(seconds * rate) / rate
    voice = sum(np.sin(2 * np.pi * 150 * k * t + k) / k for k in range(1, 9))
    floor = 1e-4 * np.random.default_rng(2).standard_normal(len(t))
    return np.asarray(0.12 * voice * (t % 1 < 0.5) + floor)


@pytest.mark.parametrize("dead", [0, 1])
def test_a_dead_channel_is_left_out(dead: int, tmp_path: Path) -> None:
    wave = np.stack([pauses(), pauses()], axis=1)
    wave[:, dead] = 0
    decoded = decode(write_wav(tmp_path / "a.wav", wave, RATE), tmp_path / "sound.raw")
    assert codes(decoded) == {"channel-silent"}
    assert np.abs(decoded.samples.read() - wave[:, 1 - dead]).max() < 0.001


def test_opposed_channels_do_not_cancel(tmp_path: Path) -> None:
    wave = np.stack([pauses(), -0.9 * pauses()], axis=1)
    decoded = decode(write_wav(tmp_path / "a.wav", wave, RATE), tmp_path / "sound.raw")
    assert codes(decoded) == {"channels-opposed"}
    assert np.abs(decoded.samples.read() - wave[:, 0]).max() < 0.001


def test_plain_stereo_is_the_mean_and_has_no_checks(tmp_path: Path) -> None:
    wave = np.stack([pauses(), 0.5 * pauses()], axis=1)
    decoded = decode(write_wav(tmp_path / "a.wav", wave, RATE), tmp_path / "sound.raw")
    assert decoded.checks == ()
    assert np.abs(decoded.samples.read() - wave.mean(axis=1)).max() < 0.001


def test_clipping_is_told_with_its_place(tmp_path: Path) -> None:
    wave = pauses()
    wave[2 * RATE : 4 * RATE] *= 12
    decoded = decode(write_wav(tmp_path / "a.wav", wave, RATE), tmp_path / "sound.raw")
    assert codes(decoded) == {"clipping"}
    assert (decoded.checks[0].start_ms, decoded.checks[0].end_ms) == (2000, 4000)


def test_a_loud_but_clean_sound_is_not_called_clipped(tmp_path: Path) -> None:
    wave = pauses()
    wave *= 0.99 / np.abs(wave).max()
    assert "clipping" not in codes(decode(write_wav(tmp_path / "a.wav", wave, RATE), tmp_path / "sound.raw"))


def test_quiet_and_noisy_sounds_are_told(tmp_path: Path) -> None:
    quiet = decode(write_wav(tmp_path / "q.wav", 0.01 * pauses(), RATE), tmp_path / "q.raw")
    assert "low-loudness" in codes(quiet)
    noise = 0.1 * np.random.default_rng(5).standard_normal(6 * RATE)
    noisy = decode(write_wav(tmp_path / "n.wav", pauses() + noise, RATE), tmp_path / "n.raw")
    assert "low-snr" in codes(noisy)


def test_speech_over_noise_is_near_the_truth(tmp_path: Path) -> None:
    voice = pauses()
    power = np.mean(voice[voice**2 > 1e-6] ** 2)
    noise = np.random.default_rng(5).standard_normal(len(voice)) * np.sqrt(power / 10**2)  # 20 dB
    audio = decode(write_wav(tmp_path / "n.wav", voice + noise, RATE), tmp_path / "n.raw").audio
    assert audio.snr_db == pytest.approx(20, abs=3)


def test_silence_and_short_sounds_decode(tmp_path: Path) -> None:
    silent = decode(write_wav(tmp_path / "a.wav", np.zeros(3 * RATE), RATE), tmp_path / "sound.raw")
    assert silent.samples.duration_ms == 3000
    assert (silent.audio.loudness_lufs, silent.audio.true_peak_dbtp, silent.audio.snr_db) == (None, None, None)
    short = decode(make(tmp_path / "b.wav", 0.1), tmp_path / "sound.raw")
    assert short.samples.duration_ms == 100


@pytest.mark.parametrize("suffix", [".mp4", ".mkv", ".webm", ".mp3", ".wav", ".flac"])
def test_a_cut_file_gives_what_is_left(suffix: str, tmp_path: Path) -> None:
    whole = make(tmp_path / f"whole{suffix}", 12)
    decoded = decode(cut(whole, tmp_path / f"half{suffix}", 0.5), tmp_path / "sound.raw")
    assert 4000 < decoded.samples.duration_ms < 7000
    (check,) = [check for check in decoded.checks if check.code == "truncated"]
    assert check.level == "look"
    assert check.message.startswith("Only the first 0:0") and "of 0:12" in check.message
    assert check.start_ms == decoded.samples.duration_ms
    assert "truncated" not in codes(decode(whole, tmp_path / "sound.raw"))


def test_sound_that_ends_before_the_picture_is_no_cut(tmp_path: Path) -> None:
    from segmenter.programs import run, url

    path = tmp_path / "a.mkv"
    picture = ["-f", "lavfi", "-i", "testsrc=s=64x48:r=10:d=5", "-f", "lavfi", "-i", "sine=440:d=2"]
    run([*picture, *VIDEO[".mkv"], url(path)], path)
    assert "sound-ends-early" in codes(decode(path, tmp_path / "sound.raw"))


def test_more_than_one_audio_track_is_told(tmp_path: Path) -> None:
    from segmenter.programs import run, url

    path = make(tmp_path / "a.m4a", 1)
    two = tmp_path / "b.m4a"
    run(["-i", url(path), "-i", url(path), "-map", "0:a", "-map", "1:a", "-c", "copy", url(two)], path)
    assert probe(two).audio_tracks == 2
    assert "several-audio-tracks" in codes(decode(two, tmp_path / "sound.raw"))


def test_a_codec_that_nobody_knows_is_told(tmp_path: Path) -> None:
    path = make(tmp_path / "class.mkv", 2)
    whole = path.read_bytes()
    for known in (b"V_MPEG4/ISO/AVC", b"A_AAC"):
        assert whole.count(known) == 1
    path.write_bytes(whole.replace(b"V_MPEG4/ISO/AVC", b"V_NOBODY/KNO/WS"))
    assert probe(path).video is None
    assert "picture-unreadable" in codes(decode(path, tmp_path / "sound.raw"))
    path.write_bytes(whole.replace(b"A_AAC", b"A_ZZZ"))
    with pytest.raises(MediaError, match="the sound of this recording cannot be read"):
        probe(path)


def bad(name: str, folder: Path) -> Path:
    path = folder / "class.mp4"
    match name:
        case "no file":
            return path
        case "a folder":
            path.mkdir()
        case "empty":
            path.touch()
        case "text":
            path.write_text("Dear all, here is the plan for Monday.\n" * 50)
        case "no index":
            media_files.without_index(make(folder / "good.mp4", 1), path)
        case "no sound":
            media_files.silent_film(path)
        case _:
            make(folder / "other.m4a", 1)
            path.write_text(PLAYLISTS[name].format(other="other.m4a"))
    return path


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("no file", "no such file"),
        ("a folder", "is a folder"),
        ("empty", "is empty"),
        ("text", "not a recording"),
        ("no index", "moov"),
        ("no sound", "has no sound"),
        *((kind, "playlist") for kind in PLAYLISTS),
    ],
)
def test_bad_input_is_refused_in_one_line(name: str, words: str, tmp_path: Path) -> None:
    path = bad(name, tmp_path)
    target = tmp_path / "sound.raw"
    target.write_bytes(b"kept")
    for work in (lambda: probe(path), lambda: decode(path, target)):
        with pytest.raises(MediaError, match=words) as caught:
            work()
        assert "\n" not in str(caught.value)
        assert caught.value.advice
    assert target.read_bytes() == b"kept"
    assert not list(tmp_path.glob(".*"))


def test_a_stop_in_the_middle_leaves_nothing(tmp_path: Path) -> None:
    def stop(share: float, found: str) -> None:
        raise KeyboardInterrupt

    path = make(tmp_path / "a.wav", 1)
    with pytest.raises(KeyboardInterrupt):
        decode(path, tmp_path / "sound.raw", stop)
    assert [p.name for p in tmp_path.iterdir()] == ["a.wav"]


def test_progress_rises_to_one(tmp_path: Path) -> None:
    shares: list[float] = []
    decode(make(tmp_path / "a.wav", 25), tmp_path / "sound.raw", lambda share, found: shares.append(share))
    assert shares == sorted(shares)
    assert shares[-1] == pytest.approx(1, abs=0.01)
    assert len(shares) == 3


def test_memory_does_not_grow_with_length(tmp_path: Path) -> None:
    peaks = []
    for seconds in (60, 600):
        path = sound(tmp_path / "a.flac", f"sine=440:r=16000:d={seconds}")
        tracemalloc.start()
        decode(path, tmp_path / "sound.raw")
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert peaks[1] < peaks[0] * 1.5


@pytest.mark.skipif(not REAL.is_dir(), reason="the real recordings are not here")
@pytest.mark.parametrize("name", ["natural-1.wav", "reading-1.mp3", "syllable-trains.flac", "wind.ogg"])
def test_real_recordings_decode_whole(name: str, tmp_path: Path) -> None:
    import soundfile

    path = REAL / name
    decoded = decode(path, tmp_path / "sound.raw")
    wave, rate = soundfile.read(path)
    assert abs(decoded.samples.duration_ms - len(wave) * 1000 / rate) < 100
    reference = pyloudnorm.Meter(rate).integrated_loudness(wave)
    assert decoded.audio.loudness_lufs == pytest.approx(reference, abs=0.3)
    assert not codes(decoded) & {"truncated", "damaged-sound", "late-sound", "sound-ends-early"}


def test_sha256_of_a_file(tmp_path: Path) -> None:
    path = tmp_path / "a"
    path.write_bytes(b"abc")
    # FIPS 180-2, appendix B.1.
    assert sha256_of(path) == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert sha256_of(path) == hashlib.sha256(b"abc").hexdigest()
    with pytest.raises(SegmenterError, match="cannot be read"):
        sha256_of(tmp_path / "none")
