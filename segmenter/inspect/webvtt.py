"""WebVTT files: read as browsers read them, and held to what an author must write.

The reading follows "WebVTT parser algorithm" and "collect a WebVTT block" of W3C WebVTT step by step, so that
what survives here survives there. The rules are those of its section on syntax, which is stricter.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from segmenter.inspect.cue_text import ms_of, read_text
from segmenter.inspect.rules import Book, Cue, decoded
from segmenter.inspect.settings import check_region, check_settings

_LOOSE = re.compile(r"(\d+):(\d\d)(?::(\d\d))?\.(\d{3})(?!\d)")
_HEAD = re.compile(r"^(kind|language):\s*([\w-]+)", re.M | re.I)


@dataclass
class _Reader:
    """Lines of a file with a position, as the parser's ``input`` and ``position``."""

    lines: list[str]
    at: int = 0
    seen_cue: bool = False

    def skip_empty(self) -> None:
        while self.at < len(self.lines) and not self.lines[self.at]:
            self.at += 1


@dataclass(frozen=True)
class Track:
    """A WebVTT file as read: its cues, and the kind and language that its head names, if it names them."""

    cues: tuple[Cue, ...]
    kind: str | None = None
    language: str | None = None


def read_webvtt(book: Book, data: bytes) -> Track:
    """Read a WebVTT file and note every broken rule.

    Returns
    -------
    Track
        The cues that a browser would get; none when the signature is wrong.
    """
    text = decoded(book, data).replace("\0", "\ufffd")
    lines = text.split("\n")
    head = lines[0]
    if head[:6] != "WEBVTT" or head[6:7] not in {"", " ", "\t"}:
        book.add("signature", f"the file starts with {head[:12]!r} instead of WEBVTT; nothing is shown", 1)
        return Track(())
    reader = _Reader(lines, 1)
    if len(lines) > 1 and lines[1]:
        book.add("header-lines", "an empty line must follow the first line", 2)
        while reader.at < len(lines) and lines[reader.at] and "-->" not in lines[reader.at]:
            reader.at += 1
    cues: list[Cue] = []
    ids: dict[str, int] = {}
    notes: list[str] = ["\n".join(lines[1 : reader.at])]
    reader.skip_empty()
    while reader.at < len(lines):
        found = _block(book, reader, ids, notes)
        if found is not None:
            cues.append(found)
        reader.skip_empty()
    _check_order(book, cues)
    named = {name.lower(): value.lower() for note in notes for name, value in _HEAD.findall(note)}
    return Track(tuple(cues), named.get("kind"), named.get("language"))


def _block(book: Book, reader: _Reader, ids: dict[str, int], notes: list[str]) -> Cue | None:
    """Collect one block; the lines up to an empty one, or to the times of the next cue."""
    first = reader.at
    times: int | None = None
    buffer: list[str] = []
    while reader.at < len(reader.lines):
        line = reader.lines[reader.at]
        if not line:
            break
        if "-->" in line:
            if times is not None or reader.at - first > 1:
                # The parser steps back: this line opens a block of its own.
                if times is not None or buffer[0].startswith("NOTE"):
                    where = "the text of a cue" if times is not None else "a comment"
                    book.add("arrow", f"--> inside {where} ends it", reader.at + 1)
                break
            times = reader.at
        else:
            buffer.append(line)
        reader.at += 1
    if times is None:
        _no_cue(book, reader, first, buffer, notes)
        return None
    if times > first:
        _check_id(book, buffer.pop(0), first, ids)
    return _cue(book, reader, times, buffer)


def _no_cue(book: Book, reader: _Reader, first: int, buffer: list[str], notes: list[str]) -> None:
    name = buffer[0].rstrip(" \t") if buffer else ""
    if buffer and re.match(r"NOTE(?:[ \t]|$)", buffer[0]):
        notes.append("\n".join(buffer)[4:].strip())
    elif name in {"STYLE", "REGION"} and len(buffer) > 1:
        if reader.seen_cue:
            book.add("late-block", f"{name} after the first cue is not honoured", first + 1)
        if name == "REGION":
            check_region(" ".join(buffer[1:]), _reporter(book, first + 1, None))
    else:
        book.add("stray-text", f"{buffer[0][:40]!r} has no times and is not shown", first + 1)


def _check_id(book: Book, name: str, line: int, ids: dict[str, int]) -> None:
    if name in ids:
        book.add("cue-id", f"{name[:40]!r} names the cue of line {ids[name]} too", line + 1)
    ids.setdefault(name, line + 1)


def _cue(book: Book, reader: _Reader, at: int, buffer: list[str]) -> Cue | None:
    line = reader.lines[at]
    loose = loose_times(line)
    if loose is None:
        book.add("times", f"{line.strip()[:60]!r} is no pair of times; the cue is dropped", at + 1)
        return None
    reader.seen_cue = True
    start, end, rest = loose
    report = _reporter(book, at + 1, start)
    _check_strict(line, report)
    if end <= start:
        report("times-end", "the cue ends before or as it starts")
    check_settings(rest, report)
    text = "\n".join(buffer)
    if not text.strip():
        report("empty", "the cue has no text")
    plain = read_text(text, (start, end), _reporter(book, at + 2, start))
    return Cue(at + 1, start, end, plain)


def loose_times(line: str) -> tuple[int, int, str] | None:
    """Read a line of times as the parser does, which takes more than an author may write.

    >>> loose_times("0:00:01.000-->00:02.000 align:start")
    (1000, 2000, ' align:start')
    """
    one = _loose_time(line.lstrip(" \t\f"))
    if one is None:
        return None
    after = one[1].lstrip(" \t\f")
    if not after.startswith("-->"):
        return None
    two = _loose_time(after[3:].lstrip(" \t\f"))
    return None if two is None else (one[0], two[0], two[1])


def _loose_time(text: str) -> tuple[int, str] | None:
    match = _LOOSE.match(text)
    if match is None or not match[0].isascii():
        return None
    one, two, three, part = match.groups()
    if three is None:
        if len(one) != 2 or int(one) > 59:
            return None
        hours, minutes, secs = 0, int(one), int(two)
    else:
        hours, minutes, secs = int(one), int(two), int(three)
    if minutes > 59 or secs > 59:
        return None
    return ((hours * 60 + minutes) * 60 + secs) * 1000 + int(part), text[match.end() :]


def _check_strict(line: str, report: Callable[[str, str], None]) -> None:
    match = re.fullmatch(r"(\S+?)([ \t]*)-->([ \t]*)([\d:.]+)(.*)", line)
    if match is None:
        report("times", "blanks stand before the times")
        return
    if not match[2] or not match[3]:
        report("times", "a blank must stand on both sides of -->")
    if match[5] and match[5][0] not in " \t":
        report("settings", "a blank must stand before the settings")
    for text in (match[1], match[4]):
        if ms_of(text) is None:
            report("times", f"{text} must be written [HH:]MM:SS.mmm")


def _check_order(book: Book, cues: list[Cue]) -> None:
    latest = 0
    for cue in cues:
        if cue.start_ms < latest:
            book.add("times-order", "the cue starts before the one above it", cue.line, cue.start_ms)
        latest = max(latest, cue.start_ms)


def _reporter(book: Book, line: int, at_ms: int | None) -> Callable[[str, str], None]:
    return lambda code, message: book.add(code, message, line, at_ms)
