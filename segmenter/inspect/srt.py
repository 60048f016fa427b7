"""SRT files: no standard exists, so the rules are what every reader agrees on."""

from __future__ import annotations

import re

from segmenter.inspect.rules import Book, Cue, decoded

_TIMES = re.compile(r"(\d{2,}):([0-5]\d):([0-5]\d),(\d{3}) --> (\d{2,}):([0-5]\d):([0-5]\d),(\d{3})")
_LOOSE = re.compile(r"\s*(\d+):(\d{1,2}):(\d{1,2})[,.](\d{1,3})\s*-->\s*(\d+):(\d{1,2}):(\d{1,2})[,.](\d{1,3})(.*)")
_MARKUP = re.compile(r"</?(?:i|b|u|font)(?:\s[^>]*)?>|\{\\an\d\}", re.I)


def read_srt(book: Book, data: bytes) -> tuple[Cue, ...]:
    """Read an SRT file, as forgiving readers do, and note every broken rule.

    Returns
    -------
    tuple of Cue
        In the order of the file; tags for type are left out of the text.
    """
    lines = decoded(book, data).split("\n")
    times = [at for at, line in enumerate(lines) if _LOOSE.fullmatch(line)]
    if not times and any(line.strip() for line in lines):
        book.add("srt-times", "no line of times was found", 1)
    cues: list[Cue] = []
    number = 0
    for index, at in enumerate(times):
        start, end = _read_times(book, lines[at], at + 1)
        number = _check_number(book, lines, at, number)
        if cues and start < cues[-1].start_ms:
            book.add("times-order", "the cue starts before the one above it", at + 1, start)
        if end <= start:
            book.add("times-end", "the cue ends before or as it starts", at + 1, start)
        until = times[index + 1] if index + 1 < len(times) else len(lines)
        # The number of the next cue is not part of this text.
        body = lines[at + 1 : until - 1] if index + 1 < len(times) and lines[until - 1].strip().isdigit() else (
            lines[at + 1 : until]
        )  # fmt: skip
        cues.append(Cue(at + 1, start, end, _read_body(book, body, at + 2, start)))
    return tuple(cues)


def _read_times(book: Book, line: str, number: int) -> tuple[int, int]:
    match = _LOOSE.fullmatch(line)
    values = [int(v) for v in match.groups()[:8]] if match else [0] * 8
    start, end = (((h * 60 + m) * 60 + s) * 1000 + f for h, m, s, f in (values[:4], values[4:]))
    if not _TIMES.fullmatch(line):
        book.add("srt-times", f"{line.strip()[:60]!r} must be written HH:MM:SS,mmm --> HH:MM:SS,mmm", number, start)
    return start, end


def _check_number(book: Book, lines: list[str], at: int, before: int) -> int:
    text = lines[at - 1].strip() if at else ""
    if not re.fullmatch(r"[0-9]+", text):
        book.add("srt-number", "no number stands above the times", at + 1)
        return before + 1
    if int(text) != before + 1:
        book.add("srt-number", f"number {text} comes after {before}", at)
    if at > 1 and lines[at - 2].strip():
        book.add("srt-text", "an empty line must stand before the number", at)
    return int(text)


def _read_body(book: Book, body: list[str], first: int, start: int) -> str:
    while body and not body[-1].strip():
        body = body[:-1]
    for offset, line in enumerate(body):
        if not line.strip():
            book.add("srt-text", "an empty line ends the cue; what follows may be lost", first + offset, start)
            break
        if "-->" in line:
            book.add("arrow", "--> in text is taken for times", first + offset, start)
    text = "\n".join(line for line in body if line.strip())
    if not text:
        book.add("empty", "the cue has no text", first - 1, start)
    return without_markup(text)


def without_markup(text: str) -> str:
    """Leave out tags for type and place.

    >>> without_markup("<i>Rest</i> now")
    'Rest now'
    """
    return _MARKUP.sub("", text)
