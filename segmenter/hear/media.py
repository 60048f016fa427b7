"""A recording in, sound on disk out: decoded once, measured on the way."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path

import av
import av.error
import ffmpeg
import numpy as np

from segmenter.containers import GUARDS, is_known, open_recording
from segmenter.errors import MediaError
from segmenter.files import whole_file
from segmenter.hear.channels import Channels, fold
from segmenter.hear.samples import RATE, Samples
from segmenter.hear.wind import Rumble
from segmenter.lesson import Audio, Check, Video
from segmenter.programs import Running, check, stream, url
from segmenter.progress import Report, unheard
from segmenter.times import clock, ms_from_seconds

BLOCK = RATE * 10
"""Sample frames taken from ffmpeg at once (ten seconds)."""
LATE_MS = 500
"""A later start of the sound than this is told; less is what encoders put there."""
HIGHEST_PEAK = -1.0
"""Highest true peak in dBTP (EBU R 128)."""
SHORT_MS = 1000
"""Missing sound at the end up to this length is not told; stated lengths are off by a packet or two."""


@dataclass(frozen=True)
class Probed:
    """What a recording says of itself.

    Parameters
    ----------
    container : str
        FFmpeg's name of the container, such as ``mov,mp4,m4a,3gp,3g2,mj2``.
    seconds : float
        Stated length of the recording; counted from its packets when it states none.
    video : Video or None
        Size as shown (a phone held upright is taller than wide); None without a moving picture.
    rate, channels : int
        Of the first audio track.
    audio_tracks : int
        How many there are.
    late_ms : int
        How much later than the recording its sound starts.
    sound_seconds : float or None
        Length the audio track states for itself, from the start of the recording.
    recorded : str or None
        The day the recorder says it was made on (ISO 8601).
    unseen : bool
        Whether it has a picture, but only in a codec that nobody knows.
    """

    container: str
    seconds: float
    video: Video | None
    rate: int
    channels: int
    audio_tracks: int
    late_ms: int = 0
    sound_seconds: float | None = None
    recorded: str | None = None
    unseen: bool = False


@dataclass(frozen=True)
class Decoded:
    """A recording as sound at 16 kHz, with what was measured and what a person should know."""

    samples: Samples
    audio: Audio
    checks: tuple[Check, ...]


def sha256_of(path: Path) -> str:
    """Return the SHA-256 of a file's content, 64 hexadecimal digits.

    Raises
    ------
    MediaError
        If it cannot be read.
    """
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise MediaError(f"this file cannot be read ({error.strerror or error})", path, "Check its name") from error


Stamp = tuple[int, int, int]
"""Size, time of the last change, and place on the disk: differs when a file was replaced."""


def stamp_of(path: Path) -> Stamp:
    """Return what tells whether a file is still the same.

    Raises
    ------
    MediaError
        If it is gone.
    """
    try:
        facts = path.stat()
    except OSError as error:
        raise MediaError("this file is gone", path, "Put it back where it was, and try again") from error
    return facts.st_size, facts.st_mtime_ns, facts.st_ino


def unchanged(path: Path, stamp: Stamp) -> None:
    """Make sure that a file is still the one it was.

    Raises
    ------
    MediaError
        If it was replaced, is gone, or is still being written.
    """
    if stamp_of(path) != stamp:
        raise MediaError(
            "this recording changed while it was worked on", path, "Wait until it is copied, then build again"
        )


def probe(path: Path) -> Probed:
    """Look into a recording without decoding its sound.

    Raises
    ------
    MediaError
        If it is no recording that can be read, or has no sound.
    """
    with open_recording(path) as media:
        if not media.streams.audio:
            raise MediaError("this recording has no sound", path, "Choose one with an audio track")
        sound = media.streams.audio[0]
        begin = (media.start_time or 0) / av.time_base
        late = 0.0
        if sound.start_time is not None and sound.time_base is not None:
            late = float(sound.start_time * sound.time_base) - begin
        length = None
        if sound.duration is not None and sound.time_base is not None:
            length = float(sound.duration * sound.time_base) + max(0.0, late)
        context = sound.codec_context
        rate, channels = (context.sample_rate, context.channels) if is_known(sound) else (0, 0)
        if not rate or not channels:
            raise MediaError("the sound of this recording cannot be read", path, "Save it again as mp4 or wav")
        tracks, name = len(media.streams.audio), media.format.name
        seconds = media.duration / av.time_base if media.duration else None
        video, recorded = _video(media), _recorded(media.metadata)
        unseen = video is None and not all(is_known(picture) for picture in media.streams.video)
    return Probed(
        container=name,
        seconds=round(_counted(path) if seconds is None else seconds, 3),
        video=video,
        rate=rate,
        channels=channels,
        audio_tracks=tracks,
        late_ms=max(0, ms_from_seconds(late)),
        sound_seconds=length,
        recorded=recorded,
        unseen=unseen,
    )


def decode(path: Path, target: Path, report: Report = unheard) -> Decoded:
    """Decode the sound of a recording to raw 16 kHz int16 mono, and measure it.

    One ffmpeg reads the file once. Loudness and true peak are taken at the source's own rate and
    channels (EBU R 128, ITU-R BS.1770; a mono track reads 3 LU lower than the same sound in two
    channels). Memory does not grow with the length.

    Parameters
    ----------
    path : Path
        The recording.
    target : Path
        Where the samples go, whole or not at all. Sample 0 is the start of the recording: a track
        that starts late is padded, gaps are filled.
    report : Report
        Told the share done.

    Raises
    ------
    MediaError
        If nothing can be read.
    ProgramError, FolderError
        If ffmpeg cannot run, or the target cannot be written.
    """
    facts = probe(path)
    wide = min(facts.channels, 2)
    raw = target.with_name(target.name + ".channels")
    try:
        with whole_file(raw) as draft:
            meter = Channels(wide)
            with stream(_command(path, wide)) as running, draft.open("wb") as file:
                for block in running.blocks(BLOCK * wide * 2):
                    meter.add(np.frombuffer(block, "<i2", len(block) // (2 * wide) * wide).reshape(-1, wide))
                    file.write(block)
                    heard = meter.count * 1000 // RATE
                    report(min(1.0, heard / max(1.0, facts.seconds * 1000)), f"{clock(heard)} of sound read")
        if not meter.count:
            if running.code:
                check(running, path)
            raise MediaError("no sound could be read from this recording", path, "Check that it plays with sound")
        with whole_file(target) as draft:
            behind = fold(raw, draft, meter)
    finally:
        raw.unlink(missing_ok=True)
    loudness, peak = _loudness(running.messages)
    audio = Audio(
        rate=facts.rate,
        channels=facts.channels,
        loudness_lufs=loudness,
        true_peak_dbtp=peak,
        snr_db=behind.snr_db,
        noise_dbfs=behind.noise_dbfs,
        wind_share=behind.rumble.share,
        clipped_s=meter.clipped_seconds,
        silent_channel=meter.silent,
    )
    samples = Samples(target, meter.count)
    checks = (
        *_length_checks(path, facts, samples, running),
        *meter.checks(),
        *_level_checks(audio),
        *_wind_checks(behind.rumble),
    )
    return Decoded(samples, audio, checks)


def _recorded(metadata: Mapping[str, str]) -> str | None:
    for name in ("creation_time", "DATE_RECORDED", "date"):
        day = metadata.get(name, "")[:10]
        # A clock that was never set says 1904 or 1970.
        if re.fullmatch(r"20\d\d-(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])", day):
            return day
    return None


def _video(media: av.container.InputContainer) -> Video | None:
    for picture in media.streams.video:
        if picture.disposition & av.stream.Disposition.attached_pic:
            continue  # the cover of an audio file
        if not is_known(picture):
            continue
        fps = picture.average_rate or picture.guessed_rate
        width, height = picture.width, picture.height
        try:
            turned = next(iter(media.decode(picture))).rotation
        except (av.error.FFmpegError, StopIteration):
            turned = 0
        if turned % 180:
            width, height = height, width
        return Video(width=width, height=height, fps=round(float(fps), 3) if fps else None)
    return None


def _counted(path: Path) -> float:
    # Browsers record webm without a length.
    end = 0.0
    with open_recording(path) as media:
        begin = (media.start_time or 0) / av.time_base
        for packet in media.demux():
            if packet.pts is not None:
                end = max(end, float((packet.pts + (packet.duration or 0)) * packet.time_base) - begin)
    return end


def _command(path: Path, wide: int) -> list[str]:
    heard = (
        ffmpeg.input(url(path), vn=None, sn=None, dn=None, **GUARDS)["a:0"]
        .filter("ebur128", peak="true", framelog="quiet")
        .filter("aresample", RATE, **{"async": 1, "first_pts": 0})
        .filter("aformat", sample_fmts="s16", channel_layouts="mono" if wide == 1 else "stereo")
    )
    arguments: list[str] = heard.output("pipe:1", format="s16le").get_args()
    return arguments


def _loudness(messages: Iterable[str]) -> tuple[float | None, float | None]:
    text = "\n".join(messages)
    loudness = re.findall(r"I:\s+(-?[\d.]+) LUFS", text)
    peak = re.findall(r"Peak:\s+(-?[\d.]+) dBFS", text)
    # -70 is the meter's absolute gate: nothing was loud enough to be measured.
    value = float(loudness[-1]) if loudness else -70.0
    return (value if value > -70 else None), (float(peak[-1]) if peak else None)


def _length_checks(path: Path, facts: Probed, samples: Samples, running: Running) -> list[Check]:
    checks = []
    heard = samples.duration_ms
    if facts.audio_tracks > 1:
        message = f"This recording has {facts.audio_tracks} audio tracks; the first one was used."
        checks.append(Check(code="several-audio-tracks", level="look", message=message))
    if facts.unseen:
        message = "The picture of this recording is in a form that cannot be read; the lesson is made without it."
        checks.append(Check(code="picture-unreadable", level="look", message=message))
    if facts.late_ms > LATE_MS:
        message = f"The sound starts {facts.late_ms / 1000:.1f} seconds after the picture."
        checks.append(Check(code="late-sound", level="note", message=message, start_ms=0, end_ms=facts.late_ms))
    stated = ms_from_seconds(_stated_seconds(path, facts))
    if stated - heard > SHORT_MS and not _guessed_length(path, facts):
        cut = facts.sound_seconds is not None or facts.video is None
        if cut or any("ended prematurely" in line for line in running.messages):
            code, message = "truncated", f"Only the first {clock(heard)} of {clock(stated)} could be read."
        else:
            code, message = "sound-ends-early", f"The sound ends at {clock(heard)}, the picture at {clock(stated)}."
        checks.append(Check(code=code, level="look", message=message, start_ms=heard, end_ms=stated))
    elif running.faults:
        message = "Parts of the sound are damaged; they may be silent or wrong."
        checks.append(Check(code="damaged-sound", level="look", message=message))
    return checks


def _stated_seconds(path: Path, facts: Probed) -> float:
    if facts.container == "wav":
        # FFmpeg counts the bytes that are there; the RIFF header says how many there should be.
        with path.open("rb") as file:
            head = file.read(8)
        promised, there = int.from_bytes(head[4:8], "little") + 8, path.stat().st_size
        if head[:4] == b"RIFF" and there < promised < 0xFFFF_FFFF:
            return facts.seconds * promised / there
    return facts.seconds if facts.sound_seconds is None else facts.sound_seconds


def _guessed_length(path: Path, facts: Probed) -> bool:
    # Without a count of frames in its first frame, the length of an mp3 is a guess from its bit rate.
    if facts.container in {"aac", "ogg"}:
        return True
    if facts.container != "mp3":
        return False
    with path.open("rb") as file:
        head = file.read(10)
        tag = 0
        if head[:3] == b"ID3":
            tag = 10 + sum(byte << shift for byte, shift in zip(head[6:10], (21, 14, 7, 0), strict=True))
        file.seek(tag)
        return not re.search(rb"Xing|Info|VBRI", file.read(4096))


def _level_checks(audio: Audio) -> list[Check]:
    checks = []
    # 3 LU for mono: see `decode`. -35 LUFS and 15 dB: 12 LU under EBU R 128's target is common practice, no
    # source; under 15 dB speech quality falls strongly (Jackson et al., J. Acoust. Soc. Am., 2014).
    lowest = -38.0 if audio.channels == 1 else -35.0
    if audio.loudness_lufs is not None and audio.loudness_lufs < lowest:
        message = f"The recording is very quiet ({audio.loudness_lufs:.0f} LUFS); people may not hear it well."
        checks.append(Check(code="low-loudness", level="look", message=message))
    if audio.true_peak_dbtp is not None and audio.true_peak_dbtp > HIGHEST_PEAK and not audio.clipped_s:
        peak = f"{audio.true_peak_dbtp:+.1f} dB of full scale"
        message = f"The loudest moment comes up to {peak}; some players may crackle there."
        checks.append(Check(code="true-peak", level="note", message=message))
    if audio.snr_db is not None and audio.snr_db < 15:
        message = (
            f"Speech stands only about {audio.snr_db:.0f} dB above the noise; listen for words that were missed."
        )
        checks.append(Check(code="low-snr", level="look", message=message))
    return checks


def _wind_checks(rumble: Rumble) -> list[Check]:
    if not rumble.worth_telling:
        return []
    message = (
        f"Wind or a low rumble comes near the voice in {rumble.share:.0%} of the time; "
        "listen for words that were missed."
    )
    return [
        Check(code="wind", level="look", message=message, start_ms=rumble.start_ms, end_ms=rumble.end_ms),
    ]
