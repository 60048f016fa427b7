"""Chapters and caption tracks inside a recording, read by PyAV as players read them."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from av.container import InputContainer

from segmenter.containers import open_recording
from segmenter.inspect.cue_text import read_text
from segmenter.inspect.rules import Book, Cue
from segmenter.inspect.srt import without_markup

SUFFIXES = frozenset({".mp4", ".m4v", ".mov", ".m4a", ".mkv", ".mka", ".webm", ".weba"})
"""Recordings that can hold chapters."""


@dataclass(frozen=True)
class Inside:
    """What a recording holds beside picture and sound: chapters, and the cues of each caption track.

    Tracks of pictures, or in a form that is not read here, are left out.
    """

    chapters: tuple[Cue, ...]
    tracks: tuple[CaptionTrack, ...]


@dataclass(frozen=True)
class CaptionTrack:
    """A caption track: its number in the file, its language as written there, its cues."""

    index: int
    language: str | None
    cues: tuple[Cue, ...]


def read_embedded(book: Book, file: Path) -> Inside:
    """Return the chapters and captions inside a recording and note every broken rule about chapters and tracks.

    Raises
    ------
    MediaError
        If it is no recording that can be read.
    """
    with open_recording(file) as media:
        chapters = tuple(
            Cue(
                0,
                round(chapter["start"] * Fraction(chapter["time_base"] or 0) * 1000),
                round(chapter["end"] * Fraction(chapter["time_base"] or 0) * 1000),
                chapter["metadata"].get("title", ""),
            )
            for chapter in media.chapters()
        )
        untold = [s.index for s in media.streams.subtitles if s.metadata.get("language", "und") == "und"]
        tracks = _tracks(media)
    for chapter in chapters:
        if not chapter.text.strip():
            book.add("chapter-untitled", "a chapter inside has no title", None, chapter.start_ms)
        if chapter.end_ms < chapter.start_ms:
            book.add("chapter-times", "a chapter inside ends before it starts", None, chapter.start_ms)
    for one, other in pairwise(chapters):
        if other.start_ms < one.start_ms:
            book.add("chapter-times", "a chapter inside starts before the one above it", None, other.start_ms)
    for index in untold:
        book.add("track-language", f"caption track {index} does not say its language")
    return Inside(chapters, tracks)


def _tracks(media: InputContainer) -> tuple[CaptionTrack, ...]:
    wanted = {s.index: s for s in media.streams.subtitles if s.codec_context.name in _TEXTS}
    if not wanted:
        return ()
    cues: dict[int, list[Cue]] = {index: [] for index in wanted}
    for packet in media.demux(list(wanted.values())):
        if packet.pts is None or packet.time_base is None or not packet.size:
            continue
        text = _TEXTS[wanted[packet.stream_index].codec_context.name](bytes(packet))
        if text.strip():  # MP4 fills the time between two cues with empty ones
            start, end = packet.pts, packet.pts + (packet.duration or 0)
            start, end = round(start * packet.time_base * 1000), round(end * packet.time_base * 1000)
            cues[packet.stream_index].append(Cue(0, start, end, text))
    return tuple(
        CaptionTrack(index, stream.metadata.get("language"), tuple(cues[index])) for index, stream in wanted.items()
    )


def _timed_text(data: bytes) -> str:
    # 3GPP TS 26.245, 5.17: the number of bytes in two, the text, then boxes about type.
    return data[2 : 2 + int.from_bytes(data[:2], "big")].decode("utf-8", "replace")


def _subrip(data: bytes) -> str:
    return without_markup(data.decode("utf-8", "replace")).replace("\r\n", "\n").strip("\n")


def _webvtt(data: bytes) -> str:
    return read_text(data.decode("utf-8", "replace"), (0, 0), lambda code, message: None)


_TEXTS = {"mov_text": _timed_text, "subrip": _subrip, "srt": _subrip, "webvtt": _webvtt}
