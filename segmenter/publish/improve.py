"""A better sound track for a recording: loudness brought to target, rumble taken off, nothing else changed.

One pass of ffmpeg measures what the filtered sound would be, another one writes it. The gain is
the same throughout (``loudnorm`` in its linear mode), so that a loud "ah" stays louder than
talk; where the peaks leave no room for it, they alone are held down by a limiter at four
times the rate.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from pathlib import Path

from segmenter.cache import StageCache
from segmenter.containers import GUARDS, open_recording
from segmenter.errors import MediaError
from segmenter.files import whole_file
from segmenter.programs import run, url

VERSION = 1
"""Raised when another sound would be written."""
TARGET_LUFS = -16.0
"""AES TD1008 (2021) asks -18 LUFS, give or take 2 LU, for speech on the internet; its louder end suits small
loudspeakers at home (common practice, no source)."""
PEAK_DBTP = -2.5
"""EBU R 128 allows -1 dBTP; coding with losses adds up to 1.5 dB (common practice, no source)."""
RUMBLE_HZ = 80
"""No voice is lower than about 75 Hz; wind and handling are strongest under it (acoustics reviews, from memory)."""
QUIETEST_LUFS = -60.0
"""Under this there is no voice to bring up, only noise."""
MOST_GAIN_DB = 30.0
"""More would bring up nothing but noise."""
MOST_DRIVES, NEAR_LU = 4, 0.3
"""Tries to make up for what the limiter takes, and how near is near enough."""


@dataclass(frozen=True)
class Loudness:
    """What ``loudnorm`` measured behind the rumble filter: LUFS, LU, dBTP, and its own gate and offset."""

    input_i: float
    input_lra: float
    input_tp: float
    input_thresh: float
    target_offset: float


def improved_sound(source: Path, suffix: str, sha256: str, work: Path) -> Path:
    """Write the first sound track of `source`, improved, into the work folder, and return the file.

    A finished file is used again for the same recording; what the measuring passes found is kept as well.

    Parameters
    ----------
    source : Path
        The recording; never written to.
    suffix : str
        Of the container it will go into: ``.webm`` takes Opus, all others AAC.
    sha256 : str
        Of the recording.
    work : Path
        The work folder.

    Raises
    ------
    MediaError
        If there is no voice to bring up.
    ProgramError, FolderError
        If ffmpeg fails, or the folder cannot be written.
    """
    cache = StageCache(work)
    ending = ".webm" if suffix == ".webm" else ".m4a"
    key = f"{VERSION:02}{sha256}"
    target = cache.path("improved", key, ending)
    if target.exists():
        return target
    kept = cache.get("loudness", key)
    rate = _rate(source)
    filters = json.loads(kept)["filters"] if kept is not None else chosen_filters(source, measure(source), rate)
    cache.put("loudness", key, json.dumps({"filters": filters}))
    write_sound(source, filters, target)
    return target


def write_sound(source: Path, filters: str, target: Path) -> None:
    """Write the first sound track of `source`, filtered; a target that ends in ``.webm`` takes Opus, others AAC.

    Raises
    ------
    ProgramError, FolderError
        If ffmpeg fails, or the folder cannot be written.
    """
    rate = _rate(source)
    codec = ["-c:a", "libopus", "-b:a", "128k", "-ar", "48000"]
    if target.suffix != ".webm":
        codec = ["-c:a", "aac", "-b:a", "192k", "-ar", str(rate), "-movflags", "+faststart"]
    with whole_file(target) as draft:
        # Padded to the recording's own clock: sound that starts late stays late.
        chain = f"aresample={rate}:async=1:first_pts=0,{filters},aresample={rate}"
        run([*_input(source), "-af", chain, *codec, "-map_metadata", "-1", "-y", url(draft)], source)


def measure(source: Path) -> Loudness:
    """Return the loudness of the first sound track behind the rumble filter.

    Raises
    ------
    MediaError
        If nothing can be measured.
    ProgramError
        If ffmpeg fails.
    """
    chain = f"highpass=f={RUMBLE_HZ},loudnorm=I={TARGET_LUFS}:TP={PEAK_DBTP}:print_format=json"
    lines = run([*_input(source), "-af", chain, "-f", "null", "-"], source)
    text = "\n".join(line.split("] ")[-1] for line in lines)
    found = re.findall(r"\{[^{}]*\"input_i\"[^{}]*\}", text)
    if not found:
        raise MediaError("the loudness of this recording could not be measured", source, "Check that it plays")
    raw = json.loads(found[-1])
    return Loudness(**{name: _finite(raw[name]) for name in Loudness.__dataclass_fields__})


def chosen_filters(source: Path, loudness: Loudness, rate: int) -> str:
    """Return the chain that brings this sound to target, in ffmpeg's words.

    Raises
    ------
    MediaError
        If there is no voice to bring up.
    ProgramError
        If ffmpeg fails.
    """
    if loudness.input_i < QUIETEST_LUFS:
        raise MediaError(
            f"this recording is too quiet to be improved ({loudness.input_i:.0f} LUFS)",
            source,
            "Check that it plays with sound, or build without --improve-sound",
        )
    gain = min(TARGET_LUFS - loudness.input_i, MOST_GAIN_DB)
    if loudness.input_tp + gain <= PEAK_DBTP and gain < MOST_GAIN_DB:
        return linear(loudness)
    for drive in range(MOST_DRIVES):
        chain = limited(gain, rate)
        # The limiter takes some loudness with the peaks: what is missing is given before it,
        # and more than that, since the limiter takes its part of the gift as well.
        missing = TARGET_LUFS - loudness_behind(source, chain)
        if abs(missing) < NEAR_LU or drive == MOST_DRIVES - 1:
            break
        gain += 1.6 * missing
    return chain


def linear(loudness: Loudness) -> str:
    """The same gain for every moment: ``loudnorm`` told what was measured (FFmpeg filters manual)."""
    # The wanted range is set above the measured one: a smaller one would make it ride the level.
    spread = min(50.0, max(7.0, loudness.input_lra + 1))
    # It takes a range of 0 for "not measured".
    measured = {
        "I": loudness.input_i, "LRA": max(0.1, loudness.input_lra),
        "TP": loudness.input_tp, "thresh": loudness.input_thresh,
    }  # fmt: skip
    told = ":".join(f"measured_{name}={value}" for name, value in measured.items())
    wanted = f"I={TARGET_LUFS}:TP={PEAK_DBTP}:LRA={spread}"
    return f"highpass=f={RUMBLE_HZ},loudnorm={wanted}:{told}:offset={loudness.target_offset}:linear=true"


def limited(gain_db: float, rate: int) -> str:
    """The same gain for every moment but the peaks, which a limiter at four times the rate holds down."""
    limit = 10 ** (PEAK_DBTP / 20)
    limiter = f"alimiter=limit={limit:.5f}:attack=5:release=80:level=disabled:latency=true"
    return f"highpass=f={RUMBLE_HZ},volume={gain_db:.3f}dB,aresample={4 * rate},{limiter}"


def loudness_behind(source: Path, chain: str) -> float:
    """Return the loudness of the first sound track behind a chain of filters, in LUFS (EBU R 128)."""
    lines = run([*_input(source), "-af", f"{chain},ebur128=framelog=quiet", "-f", "null", "-"], source)
    found = re.findall(r"I:\s+(-?[\d.]+) LUFS", "\n".join(lines))
    return float(found[-1]) if found else TARGET_LUFS


def _input(source: Path) -> list[str]:
    guards = [word for name, value in GUARDS.items() for word in (f"-{name}", value)]
    return [*guards, "-i", url(source), "-vn", "-sn", "-dn", "-map", "0:a:0"]


def _rate(source: Path) -> int:
    # The rates AAC knows (ISO/IEC 14496-3, table of sampling frequencies), less those above 48 kHz.
    known = (8000, 11025, 12000, 16000, 22050, 24000, 32000, 44100, 48000)
    with open_recording(source) as media:
        own = media.streams.audio[0].codec_context.sample_rate
    return min(known, key=lambda rate: (rate < own, abs(rate - own)))


def _finite(value: str) -> float:
    number = float(value)
    return max(-99.0, min(99.0, number))
