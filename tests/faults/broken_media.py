"""Recordings as no camera should make them, made here."""

from __future__ import annotations

import random
import struct
from pathlib import Path

from segmenter.programs import run, url
from tests.media_files import cut, make, sound, without_index

CODES = {
    ".mp4": "aac",
    ".mkv": "aac",
    ".webm": "libopus",
    ".mp3": "libmp3lame",
    ".wav": "pcm_s16le",
    ".flac": "flac",
}


def wav_of(path: Path, channels: int, frames: int, rate: int = 16_000) -> Path:
    """A wav whose header says what it likes (RIFF, PCM)."""
    data = bytes(2 * max(1, channels) * frames)
    form = struct.pack("<HHIIHH", 1, channels, rate, rate * 2 * channels, 2 * channels, 16)
    body = b"WAVEfmt " + struct.pack("<I", len(form)) + form + b"data" + struct.pack("<I", len(data)) + data
    path.write_bytes(b"RIFF" + struct.pack("<I", len(body)) + body)
    return path


def corpus(place: Path, seed: int, flips: int) -> list[Path]:
    """Write all of them: cut, with bits flipped, in the wrong container, with empty packets, of odd form."""
    chance = random.Random(seed)
    made: list[Path] = []
    for suffix in CODES:
        whole = make(place / f"whole{suffix}", 12)
        made += [cut(whole, place / f"cut-{share}{suffix}", share) for share in (0.01, 0.3, 0.7, 0.99)]
        for number in range(flips):
            data = bytearray(whole.read_bytes())
            for _ in range(chance.choice([1, 20, 500])):
                data[chance.randrange(len(data))] ^= 1 << chance.randrange(8)
            made.append(place / f"flipped-{number}{suffix}")
            made[-1].write_bytes(data)
        for number in range(max(1, flips // 2)):
            data = bytearray(whole.read_bytes())
            for _ in range(chance.choice([1, 8])):  # where containers keep what they say of themselves
                data[chance.randrange(min(400, len(data)))] = chance.randrange(256)
            made.append(place / f"head-{number}{suffix}")
            made[-1].write_bytes(data)
    made.append(without_index(place / "whole.mp4", place / "no-index.mp4"))
    for wrong in (".mp4", ".wav", ".mp3"):
        other = ".mkv" if wrong == ".mp4" else ".mp4"
        made.append(place / f"wrong{wrong}")
        made[-1].write_bytes((place / f"whole{other}").read_bytes())
    made += [wav_of(place / f"channels-{n}.wav", n, 16_000 * 12) for n in (0, 64)]
    made += [wav_of(place / "rate-0.wav", 1, 200_000, 0), wav_of(place / "no-samples.wav", 1, 0)]
    whole = place / "whole.mkv"
    empty = place / "empty-packets.mkv"
    run(["-i", url(whole), "-c", "copy", "-bsf:a", "noise=amount=-1:drop=0", "-y", url(empty)], whole)
    dropped = place / "dropped-packets.mkv"
    run(["-i", url(whole), "-c", "copy", "-bsf:a", "noise=drop='mod(n,3)'", "-y", url(dropped)], whole)
    negative = place / "negative-start.mkv"
    before = ["-itsoffset", "-3", "-i", url(whole), "-c", "copy", "-avoid_negative_ts", "disabled"]
    run([*before, "-y", url(negative)], whole)
    slow = place / "one-frame-a-second.mp4"
    picture = ["-f", "lavfi", "-i", "testsrc=s=64x48:r=1:d=12", "-f", "lavfi", "-i", "sine=440:d=12"]
    run([*picture, "-c:v", "libx264", "-pix_fmt", "yuv420p", "-c:a", "aac", "-y", url(slow)], slow)
    silent = sound(place / "silence.flac", "anullsrc=r=16000:cl=mono:d=20")
    return [*made, empty, dropped, negative, slow, silent, zero_length(place)]


def zero_length(place: Path) -> Path:
    """An Ogg whose pages carry packets of no bytes (RFC 3533: lacing values of 0)."""
    data = bytearray((sound(place / "base.ogg", "sine=440:d=12")).read_bytes())
    at = data.find(b"OggS", 4_000)
    if at >= 0:
        segments = data[at + 26]
        data[at + 27 : at + 27 + segments] = bytes(segments)
    path = place / "zero-length.ogg"
    path.write_bytes(data)
    return path
