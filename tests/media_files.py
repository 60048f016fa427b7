"""Small media for tests, made by ffmpeg's own signal sources; also broken ones."""

from __future__ import annotations

import struct
import wave
from pathlib import Path

import numpy as np

from segmenter.programs import run, url

VIDEO = {
    ".mp4": ["-c:v", "libx264", "-c:a", "aac"],
    ".mov": ["-c:v", "libx264", "-c:a", "pcm_s16le"],
    ".mkv": ["-c:v", "libx264", "-c:a", "aac"],
    ".webm": ["-c:v", "libvpx", "-deadline", "realtime", "-c:a", "libopus"],
}
SOUND = {
    ".m4a": ["-c:a", "aac"],
    ".mp3": ["-c:a", "libmp3lame"],
    ".wav": ["-c:a", "pcm_s16le"],
    ".flac": ["-c:a", "flac"],
    ".ogg": ["-c:a", "libvorbis"],
}

PLAYLISTS = {
    "hls": "#EXTM3U\n#EXT-X-TARGETDURATION:5\n#EXTINF:5,\n{other}\n#EXT-X-ENDLIST\n",
    "concat": "ffconcat version 1.0\nfile {other}\n",
    "dash": '<?xml version="1.0"?>\n<MPD xmlns="urn:mpeg:dash:schema:mpd:2011" type="static" '
    'mediaPresentationDuration="PT2S" profiles="urn:mpeg:dash:profile:isoff-on-demand:2011"><Period>'
    '<AdaptationSet mimeType="video/mp4"><Representation id="1" bandwidth="1000"><BaseURL>{other}</BaseURL>'
    "</Representation></AdaptationSet></Period></MPD>\n",
}
"""Lists that make ffmpeg read another file when it is let."""


def sound(path: Path, source: str, *options: str) -> Path:
    """Write the lavfi audio `source`, such as ``sine=440:d=2``, in the codec of the suffix."""
    codec = (VIDEO | SOUND)[path.suffix][-2:]
    run(["-f", "lavfi", "-i", source, *codec, *options, "-y", url(path)], path)
    return path


def make(path: Path, seconds: float = 2.0, tone: str = "sine=440:r=48000", late: float = 0.0) -> Path:
    """Write a recording of a steady tone; with a moving picture where the suffix has one.

    `late` is how much later than the picture the sound starts.
    """
    if path.suffix in SOUND:
        return sound(path, f"{tone}:d={seconds}")
    picture = ["-f", "lavfi", "-i", f"testsrc=s=64x48:r=10:d={seconds}"]
    tone_in = ["-itsoffset", str(late), "-f", "lavfi", "-i", f"{tone}:d={seconds - late}"]
    faststart = ["-movflags", "+faststart"] if path.suffix in {".mp4", ".mov"} else []
    run([*picture, *tone_in, *VIDEO[path.suffix], "-pix_fmt", "yuv420p", *faststart, "-y", url(path)], path)
    return path


def silent_film(path: Path) -> Path:
    """Write an mp4 without an audio track."""
    run(["-f", "lavfi", "-i", "testsrc=s=64x48:r=10:d=1", "-c:v", "libx264", "-y", url(path)], path)
    return path


def cut(source: Path, target: Path, share: float) -> Path:
    """Copy the first `share` of a file's bytes."""
    data = source.read_bytes()
    target.write_bytes(data[: int(len(data) * share)])
    return target


def without_index(source: Path, target: Path) -> Path:
    """Copy an mp4 up to its index (moov), as a recorder that lost power leaves it."""
    data = source.read_bytes()
    kept, at = b"", 0
    while at < len(data):
        size, kind = struct.unpack(">I4s", data[at : at + 8])
        if kind != b"moov":
            kept += data[at : at + size]
        at += size
    target.write_bytes(kept)
    return target


def write_wav(path: Path, signal: np.ndarray, rate: int) -> Path:
    """Write mono float samples (-1 to 1) as 16-bit wav."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(np.rint(np.clip(signal, -1, 1) * 32767).astype("<i2").tobytes())
    return path


def film(sound_file: Path, target: Path) -> Path:
    """Put a test picture to a sound file."""
    picture = ["-f", "lavfi", "-i", "testsrc=s=64x48:r=10"]
    coded = [*VIDEO[target.suffix], "-pix_fmt", "yuv420p", "-shortest", "-movflags", "+faststart"]
    run([*picture, "-i", url(sound_file), *coded, "-y", url(target)], target)
    return target


def convert(source: Path, target: Path) -> Path:
    """Write a recording in the usual codecs of another container."""
    run(["-i", url(source), "-y", url(target)], source)
    return target
