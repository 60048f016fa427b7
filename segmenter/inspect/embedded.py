"""Chapters and caption tracks inside a recording, read by PyAV as players read them."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from pathlib import Path

from segmenter.containers import open_recording
from segmenter.inspect.rules import Book, Cue

SUFFIXES = frozenset({".mp4", ".m4v", ".mov", ".m4a", ".mkv", ".mka", ".webm", ".weba"})
"""Recordings that can hold chapters."""


def read_embedded(book: Book, file: Path) -> tuple[Cue, ...]:
    """Return the chapters inside a recording and note every broken rule.

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
    return chapters
