"""Opening a recording safely, whatever its name claims it is.

A file is known by its content. A playlist named ``class.mp4`` would make ffmpeg read other
files, or the network, so only plain containers are allowed in: `FORMATS` and `PROTOCOLS` go
to PyAV and to ffmpeg alike (options ``format_whitelist`` and ``protocol_whitelist`` of the
FFmpeg formats manual).
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from pathlib import Path

import av
import av.container
import av.error
import av.stream

from segmenter.errors import MediaError
from segmenter.programs import url

FORMATS = "mov,mp4,m4a,3gp,3g2,mj2,matroska,webm,wav,w64,mp3,ogg,flac,aac,avi,asf,mpegts,mpeg,flv,amr,aiff,caf,au"
PROTOCOLS = "file,pipe"
GUARDS = {"format_whitelist": FORMATS, "protocol_whitelist": PROTOCOLS}
"""Input options that keep ffmpeg from following a playlist."""

RECORDINGS = frozenset({".mp4", ".m4v", ".mov", ".mkv", ".webm", ".avi", ".mpg", ".mpeg", ".ts", ".3gp", ".m4a",
                        ".mp3", ".wav", ".flac", ".ogg", ".opus", ".aac"})  # fmt: skip
"""Endings that files with a recording have; what is inside is another question."""

_KINDS = "Use a recording as mp4, mov, m4a, mkv, webm, mp3, wav, flac or ogg"
_AGAIN = "Copy it again from the camera or phone"
_LISTS = (b"#extm3u", b"ffconcat version", b"<mpd", b"<smil", b"[playlist]", b"<smoothstreamingmedia")


def check_file(path: Path) -> None:
    """Refuse at once what is no recording: nothing there, a folder, an empty file, a playlist.

    Raises
    ------
    MediaError
        With the reason in one line.
    """
    try:
        if path.is_dir():
            raise MediaError("this is a folder, not a recording", path, "Name one recording inside it")
        with path.open("rb") as file:
            head = file.read(4096)
    except FileNotFoundError as error:
        raise MediaError("there is no such file", path, "Check the name and the folder") from error
    except OSError as error:
        raise MediaError(
            f"this file cannot be opened ({error.strerror or error})", path, "Check who may read it"
        ) from error
    if not head:
        raise MediaError("this file is empty", path, "Copy it again from the camera or phone")
    text = head.removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    if text.startswith(_LISTS) or (text.startswith(b"<") and any(mark in text for mark in _LISTS)):
        raise MediaError("this is a playlist that points to other files, not a recording", path, _KINDS)


@contextlib.contextmanager
def open_recording(path: Path) -> Iterator[av.container.InputContainer]:
    """Yield the recording opened by PyAV; nothing but the file itself is read.

    Raises
    ------
    MediaError
        If it is missing, empty, cut off before its index, or no recording.
    """
    check_file(path)
    try:
        container = av.open(url(path), options=dict(GUARDS))
    except (av.error.FFmpegError, OSError, ValueError) as error:
        if _lacks_index(path):
            raise MediaError(
                "this recording was cut off before its index was written (the part called moov is missing)",
                path,
                "Copy it again from the camera or phone; if that copy fails too, the original is damaged",
            ) from error
        raise MediaError("this is not a recording that can be read", path, _KINDS) from error
    with container:
        try:
            yield container
        except av.error.FFmpegError as error:
            raise MediaError("this recording is damaged and cannot be read", path, _AGAIN) from error


def _lacks_index(path: Path) -> bool:
    # ISO/IEC 14496-12, 4.2: a file is a row of boxes, each with its size and a four-letter type.
    size = path.stat().st_size
    found: set[bytes] = set()
    at = 0
    with path.open("rb") as file:
        while at + 8 <= size and len(found) < 64:
            file.seek(at)
            head = file.read(16)
            length = int.from_bytes(head[:4], "big")
            found.add(head[4:8])
            if length == 1:
                length = int.from_bytes(head[8:16], "big")
            if length < 8:
                break
            at += length
    return bool(found & {b"ftyp", b"mdat", b"wide"}) and b"moov" not in found


def is_known(stream: av.stream.Stream) -> bool:
    """Whether a stream is in a codec that can be read or copied; a damaged file may name one that nobody knows."""
    return stream.codec_context is not None
