"""Chapter files: ffmpeg metadata, podcast JSON and plain time lists, each against its own rules."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from segmenter.inspect.rules import Book, Cue, decoded
from segmenter.publish.chapters import FEWEST_LISTED, SHORTEST_LISTED_MS
from segmenter.times import clock, ms_from_clock, ms_from_seconds

_TIMES = ("TIMEBASE", "START", "END")
"""In the order ffmpeg wants them."""
_ENTRY = re.compile(r"((?:\d+:)?\d{1,2}:\d{2})\s+(\S.*)")


def check_chapter_cues(book: Book, cues: Sequence[Cue], data: bytes) -> None:
    """Hold the cues of a WebVTT chapter file to the rules for chapters."""
    raw = data.decode("utf-8", "replace").replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for cue in cues:
        if "\n" in cue.text:
            book.add("chapter-text", "a chapter title is one line", cue.line, cue.start_ms)
        if cue.line < len(raw) and re.search(r"</?[a-z]", raw[cue.line]):
            book.add("chapter-text", "a chapter title has no tags", cue.line + 1, cue.start_ms)
    opened: list[Cue] = []
    for cue in cues:
        opened = [other for other in opened if other.end_ms > cue.start_ms]
        if any(cue.end_ms > other.end_ms for other in opened):
            book.add("chapter-overlap", "the chapter overlaps the one before it in part", cue.line, cue.start_ms)
        opened.append(cue)


def read_ffmetadata(book: Book, data: bytes) -> tuple[Cue, ...]:
    """Read chapters from ffmpeg metadata, in ms, and note every broken rule."""
    lines = _whole_lines(decoded(book, data))
    if not lines or lines[0][1] != ";FFMETADATA1":
        book.add("meta-head", "the first line must be ;FFMETADATA1", 1)
    cues: list[Cue] = []
    fields: dict[str, str] = {}
    begun = 0
    for number, line in [*lines, (0, "[END]")]:
        if re.fullmatch(r"\[\w+\]", line):
            if begun:
                cues += _chapter(book, fields, begun)
            fields, begun = {}, number if line == "[CHAPTER]" else 0
        elif line and line[0] not in "#;":
            name, equals, value = _parted(line)
            if not equals:
                book.add("meta-line", f"{line[:40]!r} is neither key=value nor a section", number)
            if begun and name.upper() in _TIMES:
                wrong = set(fields) - set(_TIMES) or any(
                    _TIMES.index(f) > _TIMES.index(name.upper()) for f in fields
                )
                if wrong:
                    book.add("meta-times", f"{name.upper()} stands after what it should come before", number)
                name = name.upper()
            fields[name] = value
    _check_rising(book, cues)
    return tuple(cues)


def read_podcast_json(book: Book, data: bytes) -> tuple[Cue, ...]:
    """Read chapters from podcast JSON and note every broken rule; an open end is the next start."""
    text = decoded(book, data)
    try:
        found: Any = json.loads(text)
    except json.JSONDecodeError as error:
        book.add("json-form", f"this is no JSON ({error.msg})", error.lineno)
        return ()
    if not isinstance(found, dict) or not isinstance(found.get("chapters"), list):
        book.add("json-form", "an object with a list named chapters is wanted")
        return ()
    if not isinstance(found.get("version"), str):
        book.add("json-form", 'version must be text, such as "1.2.0"')
    starts: list[tuple[int, int | None, str]] = []
    for number, chapter in enumerate(found["chapters"], 1):
        start = chapter.get("startTime") if isinstance(chapter, dict) else None
        if isinstance(start, bool) or not isinstance(start, int | float) or start < 0:
            book.add("json-times", f"chapter {number} has no startTime in seconds")
            continue
        end = chapter.get("endTime")
        title = chapter.get("title")
        if title is not None and not isinstance(title, str):
            book.add("json-form", f"the title of chapter {number} is no text", None, ms_from_seconds(start))
        if starts and ms_from_seconds(start) <= starts[-1][0]:
            book.add(
                "json-times", f"chapter {number} does not start after the one before", None, ms_from_seconds(start)
            )
        if isinstance(end, int | float) and end <= start:
            book.add("json-times", f"chapter {number} ends before it starts", None, ms_from_seconds(start))
        ends = ms_from_seconds(end) if isinstance(end, int | float) else None
        starts.append((ms_from_seconds(start), ends, title if isinstance(title, str) else ""))
    following = [*(start for start, _, _ in starts[1:]), *(start for start, _, _ in starts[-1:])]
    return tuple(
        Cue(0, start, later if end is None else end, title)
        for (start, end, title), later in zip(starts, following, strict=True)
    )


def read_time_list(book: Book, data: bytes) -> tuple[Cue, ...]:
    """Read a plain time list and note every broken rule; the last entry has no end of its own."""
    entries: list[tuple[int, int, str]] = []
    for number, line in enumerate(decoded(book, data).split("\n"), 1):
        entry = _entry(line)
        if entry is not None:
            entries.append((number, *entry))
        elif line.strip():
            book.add("list-form", f"{line.strip()[:40]!r} is no time with a title", number)
    return _checked_list(book, entries)


def read_listed(book: Book, text: str) -> tuple[Cue, ...]:
    """Read the time list in a text with other lines around it; without one nothing is noted."""
    found = [(number, _entry(line)) for number, line in enumerate(text.split("\n"), 1)]
    entries = [(number, *entry) for number, entry in found if entry is not None]
    return _checked_list(book, entries) if entries else ()


def _entry(line: str) -> tuple[int, str] | None:
    match = _ENTRY.fullmatch(line.strip())
    start = ms_from_clock(match[1]) if match else None
    return None if match is None or start is None else (start, match[2])


def _checked_list(book: Book, entries: Sequence[tuple[int, int, str]]) -> tuple[Cue, ...]:
    if len(entries) < FEWEST_LISTED:
        book.add("list-few", f"{len(entries)} of {FEWEST_LISTED} entries; many sites ignore the list", 1)
    if entries and entries[0][1] != 0:
        book.add("list-start", f"the list starts at {clock(entries[0][1])}", entries[0][0], entries[0][1])
    for one, other in pairwise(entries):
        if other[1] <= one[1]:
            book.add("list-order", "the entry does not come after the one above it", other[0], other[1])
        elif other[1] - one[1] < SHORTEST_LISTED_MS:
            book.add("list-short", f"{one[2][:40]!r} lasts {(other[1] - one[1]) // 1000} s", one[0], one[1])
    ends = [*(start for _, start, _ in entries[1:]), *(start for _, start, _ in entries[-1:])]
    return tuple(Cue(n, start, end, title) for (n, start, title), end in zip(entries, ends, strict=True))


def _whole_lines(text: str) -> list[tuple[int, str]]:
    """Lines with their number; a backslash before a line end joins two."""
    whole: list[tuple[int, str]] = []
    joined = False
    for number, line in enumerate(text.split("\n"), 1):
        if joined:
            whole[-1] = (whole[-1][0], f"{whole[-1][1]}\n{line}")
        else:
            whole.append((number, line))
        joined = (len(line) - len(line.rstrip("\\"))) % 2 == 1
    return whole


def _parted(line: str) -> tuple[str, bool, str]:
    name: list[str] = []
    at = 0
    while at < len(line) and line[at] != "=":
        at += line[at] == "\\"
        name.append(line[at : at + 1])
        at += 1
    return "".join(name), at < len(line), re.sub(r"\\(.)", r"\1", line[at + 1 :], flags=re.S)


def _chapter(book: Book, fields: dict[str, str], line: int) -> list[Cue]:
    base = re.fullmatch(r"(\d+)/([1-9]\d*)", fields.get("TIMEBASE", ""))
    if base is None:
        book.add("meta-times", "without TIMEBASE=1/1000 readers take the times for nanoseconds", line)
    unit = (int(base[1]), int(base[2])) if base else (1, 1_000_000_000)
    try:
        start, end = (int(fields[name]) * unit[0] * 1000 // unit[1] for name in ("START", "END"))
    except (KeyError, ValueError):
        book.add("meta-times", "START and END in whole numbers are wanted", line)
        return []
    if end <= start:
        book.add("chapter-times", "the chapter ends before or as it starts", line, start)
    if not fields.get("title", "").strip():
        book.add("chapter-untitled", "the chapter has no title", line, start)
    return [Cue(line, start, end, fields.get("title", ""))]


def _check_rising(book: Book, cues: Sequence[Cue]) -> None:
    for one, other in pairwise(cues):
        if other.start_ms < one.start_ms:
            book.add("chapter-times", "the chapter starts before the one above it", other.line, other.start_ms)
        elif other.start_ms < one.end_ms:
            book.add(
                "chapter-overlap", "the chapter starts before the one above it ends", other.line, other.start_ms
            )
