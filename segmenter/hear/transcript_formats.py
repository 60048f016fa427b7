"""What a transcript file says: WebVTT, SRT, a recogniser's JSON, or text with time stamps, as cues.

Readers are forgiving: what cannot be read is told in a note with its line, and the rest is kept.
"""

from __future__ import annotations

import json
import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any, Literal

from webvtt import WebVTT

from segmenter.errors import TranscriptError
from segmenter.lesson import Check, Word
from segmenter.times import clock, ms_from_clock, ms_from_seconds, stamp

Kind = Literal["webvtt", "srt", "json", "text"]

EXPECTED = "Give WebVTT, SRT, a recogniser's JSON, or text with a stamp such as [1:02] before each paragraph"
LATEST_MS = 100 * 3_600_000
"""Later times are slips: no recording lasts a hundred hours."""

_ARROW = re.compile(r"^\s*(?P<start>[\d:.,]+)?\s*-->\s*(?P<end>[\d:.,]+)?(?P<more>[ \t].*)?$")
_INNER_STAMP = re.compile(r"<((?:\d{1,4}:)?\d{1,2}:\d{1,2}\.\d{1,3})>")
_CLOCK = r"(?:\d{1,2}:)?\d{1,3}:[0-5]\d(?:[.,]\d{1,3})?(?![\d:])"
_FRAMES = r"\d{1,2}:\d{2}:\d{2}[:;]\d{2}(?![\d:])"
_SECONDS = r"(?:\d{1,2}\s?h\s?)?(?:\d{1,3}\s?m(?:in)?\s?)?\d{1,5}(?:\.\d{1,3})?\s?s(?:ec)?\b"
_TIME = rf"(?:{_FRAMES}|{_CLOCK}|{_SECONDS})"
_STAMP = re.compile(
    r"^\s*(?:[-*#•]\s+)?(?P<who>[^\W\d_][\w.'’-]*(?:[ ][\w.'’()-]+){0,3}[ ]?[:,-]?\s*)?"
    rf"(?P<open>[\[(]\s*)?(?P<start>{_TIME})"
    rf"(?:\s*(?:-->|->|-|–|—|to|,)\s*(?P<end>{_TIME}))?"
    r"(?P<close>\s*[\])])?(?P<mark>\s*[:|–—-])?(?:\s+|$)(?P<rest>.*)$"
)
_INLINE = re.compile(rf"(?<=\S)\s+(?=\[(?:{_CLOCK})\])")
_UNIT = re.compile(r"(\d+(?:\.\d+)?)\s?(h|m|s)")
_OWN_PAPER = ((b"PK\x03\x04", "a packed file"), (b"%PDF", "a PDF"), (b"{\\rtf", "rich text"))


@dataclass(frozen=True)
class Cue:
    """A block of text with its time.

    Parameters
    ----------
    start_ms : int
        Where it starts.
    end_ms : int or None
        Where it ends; None where the file marks starts only.
    text : str
        What is said; lines are parted by a newline.
    words : tuple of Word
        Where the file tells the time of each word.
    """

    start_ms: int
    end_ms: int | None
    text: str
    words: tuple[Word, ...] = ()


Found = tuple[list[Cue], str | None, list[Check]]
"""Cues as they stand in the file, language, notes."""


def note(code: str, message: str, at_ms: int | None = None, level: Literal["note", "look"] = "look") -> Check:
    """Return a check on a transcript."""
    return Check(code=code, level=level, message=message, start_ms=at_ms, end_ms=at_ms)


def decoded(data: bytes) -> tuple[str, list[Check]]:
    """Return the text of a file, and a note when it is not UTF-8.

    UTF-16 and UTF-32 are known by their mark or by their zeros; what is left is read as Windows-1252.

    Raises
    ------
    TranscriptError
        If it is empty or no text.
    """
    for start, name in _OWN_PAPER:
        if data.startswith(start):
            raise TranscriptError(
                f"this is {name}, not plain text", None, "Save it as plain text (.txt) and try again"
            )
    encoding = _encoding(data)
    text = data.decode(encoding, errors="replace").lstrip("\ufeff")
    if not text.strip():
        raise TranscriptError("this transcript is empty", None, EXPECTED)
    strange = sum(char < " " and char not in "\t\n\v\f\r\x1b" for char in text[:20_000])
    if strange > 2 + len(text[:20_000]) // 200:
        raise TranscriptError("this is no text file", None, EXPECTED)
    if encoding == "utf-8-sig":
        return text, []
    said = f"The transcript is not UTF-8; it was read as {encoding}. Look at letters with accents."
    return text, [note("transcript-encoding", said, level="note")]


def _encoding(data: bytes) -> str:
    if data.startswith((b"\xff\xfe\0\0", b"\0\0\xfe\xff")):
        return "utf-32"
    if data.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "utf-16"
    start = data[:4000]
    for offset, name in ((1, "utf-16-le"), (0, "utf-16-be")):
        # Letters of the West take one of two bytes, so nearly every other byte is zero.
        zeros, others = start[offset::2].count(0), start[1 - offset :: 2].count(0)
        if zeros > 0.7 * (len(start) // 2) and not others and len(start) > 3:
            return name
    try:
        data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8-sig"


def read_cues(text: str) -> tuple[Kind, Found]:
    """Tell the format of a text from its content, and read it.

    Raises
    ------
    TranscriptError
        If it looks like JSON but cannot be read.
    """
    if text.lstrip().startswith(("{", "[")):
        found = _json(text)
        if found is not None:
            return "json", found
    if text.startswith("WEBVTT"):
        return "webvtt", _webvtt(text)
    if "-->" in text and any(_times(line) for line in _lines(text)):
        return "srt", _srt(text)
    return "text", _stamped(text)


def _lines(text: str) -> list[str]:
    # Not splitlines(): it also breaks at form feeds and the like, and then line numbers are not those of an editor.
    return text.replace("\r\n", "\n").replace("\r", "\n").split("\n")


def _time(text: str | None) -> int | None:
    """A clock or a length such as ``62s`` in milliseconds."""
    if text is None:
        return None
    text = text.strip()
    if units := _UNIT.findall(text):
        size = {"h": 3600, "m": 60, "s": 1}
        at: int | None = ms_from_seconds(sum(float(number) * size[unit] for number, unit in units))
    else:
        if re.fullmatch(_FRAMES, text):  # frames are less than a second, and how many make one is not said
            text = text[:-3]
        at = ms_from_clock(text)
    return at if at is not None and at < LATEST_MS else None


def _times(line: str) -> tuple[int, int | None] | None:
    """Start and end of a timing line; None when not even the start can be read."""
    match = _ARROW.match(line)
    start = _time(match["start"]) if match else None
    if match is None or start is None:
        return None
    end = _time(match["end"])
    return start, end if end is not None and end > start else None


def _webvtt(text: str) -> Found:
    """Read WebVTT (W3C WebVTT, "WebVTT file structure" and "WebVTT parser").

    The library passes over cues whose times are not quite right; they are put right first.
    """
    lines, ends, unread, mended = _lines(text), {}, [], []
    for number, line in enumerate(lines):
        if "-->" not in line:
            continue
        times = _times(line)
        if times is None:
            unread.append(number + 1)
            continue
        start, end = times
        if end is None:
            mended.append(number + 1)
        lines[number] = f"{stamp(start)} --> {stamp(start if end is None else end)}"
        ends[start] = end
    cues = []
    for caption in WebVTT.from_string("\n".join(lines)):
        start, end = ms_from_clock(caption.start) or 0, ms_from_clock(caption.end) or 0
        inner = _inner_words(caption.raw_text, start, end) if end > start else ()
        cues.append(Cue(start, end if end > start else None, caption.raw_text, inner))
    header = text.replace("\r\n", "\n").split("\n\n", maxsplit=1)[0]
    language = re.search(r"^Language:\s*([A-Za-z]{2,3})\b", header, re.MULTILINE)
    return _without_roll(cues), language[1].lower() if language else None, _cue_notes(unread, mended)


def _srt(text: str) -> Found:
    """Read SRT: number, times, lines, empty line. Here numbers may lack and text may hold empty lines."""
    lines = _lines(text)
    arrows = [number for number, line in enumerate(lines) if "-->" in line]
    cues, unread, mended = [], [], []
    for number, following in pairwise([*arrows, len(lines)]):
        last = following
        if following < len(lines):
            while last > number + 1 and not lines[last - 1].strip():
                last -= 1
            if lines[last - 1].strip().isdecimal() and last > number + 1:
                last -= 1
        times = _times(lines[number])
        if times is None:
            unread.append(number + 1)
            continue
        if times[1] is None:
            mended.append(number + 1)
        cues.append(Cue(*times, "\n".join(line for line in lines[number + 1 : last] if line.strip())))
    return _without_roll(cues), None, _cue_notes(unread, mended)


def _cue_notes(unread: Sequence[int], mended: Sequence[int]) -> list[Check]:
    notes = []
    if unread:
        said = f"{len(unread)} captions were left out, because their times cannot be read: line {_some(unread)}."
        notes.append(note("transcript-cues", said))
    if mended:
        said = (
            f"{len(mended)} captions do not end after they start; their ends are estimated: line {_some(mended)}."
        )
        notes.append(note("transcript-cues", said))
    return notes


def _some(numbers: Sequence[int]) -> str:
    return ", ".join(map(str, numbers[:5])) + (" and more" if len(numbers) > 5 else "")


def _inner_words(text: str, start_ms: int, end_ms: int) -> tuple[Word, ...]:
    """Words of a cue with a time before each (W3C WebVTT, "WebVTT cue timestamp")."""
    parts = _INNER_STAMP.split(text)
    if len(parts) == 1:
        return ()
    starts = [start_ms, *(_time(part) or 0 for part in parts[1::2]), end_ms]
    if any(b < a for a, b in pairwise(starts)):
        return ()
    words: list[Word] = []
    for part, begin, end in zip(parts[::2], starts, starts[1:], strict=False):
        tokens = re.sub(r"</?[A-Za-z][^<>]*>", "", part).split()
        for place, token in enumerate(tokens):
            first, last = (begin + (end - begin) * n // len(tokens) for n in (place, place + 1))
            words.append(Word(text=token, start_ms=first, end_ms=last))
    return tuple(words)


def _without_roll(cues: list[Cue]) -> list[Cue]:
    """Captions that roll up show each line again above the next one; keep it once.

    Only when most captions do so: one that repeats the one before may be said twice.
    """
    shown = [[line for line in cue.text.split("\n") if line.strip()] for cue in cues]
    plain = [[re.sub(r"<[^<>]*>", "", line).strip() for line in lines] for lines in shown]
    again = [bool(a and b) and b[0] == a[-1] for a, b in pairwise(plain)]
    if len(cues) < 4 or sum(again) < 0.6 * len(again):
        return cues
    kept = cues[:1]
    for cue, lines, repeats in zip(cues[1:], shown[1:], again, strict=True):
        text = "\n".join(lines[repeats:])
        words = cue.words[len(lines[0].split()) :] if repeats else cue.words
        if text:
            kept.append(replace(cue, text=text, words=words))
    return kept


def _json(text: str) -> Found | None:
    """Read segments with ``start``, ``end``, ``text`` and perhaps ``words``; None when it is not JSON at all."""
    try:
        data = json.loads(text)
    except RecursionError:
        return None
    except ValueError as error:
        if not re.match(r'\s*(?:\{\s*"|\[\s*\{)', text):
            return None  # text whose first paragraph starts with a stamp in brackets
        line = f"line {error.lineno}" if isinstance(error, json.JSONDecodeError) else "a number"
        raise TranscriptError(
            f"this JSON is damaged at {line}", None, "Write it again with the recogniser"
        ) from error
    whole = data if isinstance(data, dict) else {"segments": data}
    segments = whole.get("segments", whole.get("words"))
    if not isinstance(segments, list):
        raise TranscriptError("this JSON holds no list of segments", None, EXPECTED)
    cues, unread = [], 0
    for segment in segments:
        cue = _segment(segment) if isinstance(segment, dict) else None
        if cue is None:
            unread += 1
        else:
            cues.append(cue)
    language = whole.get("language")
    notes = []
    if unread:
        notes.append(
            note("transcript-cues", f"{unread} segments were left out, because their times cannot be read.")
        )
    known = isinstance(language, str) and re.match(r"[A-Za-z]{2,3}(?![A-Za-z])", language)
    return cues, known[0].lower() if known else None, notes


def _segment(segment: dict[str, Any]) -> Cue | None:
    start, end = _json_ms(segment.get("start")), _json_ms(segment.get("end"))
    words = tuple(_json_words(segment.get("words"), start, end))
    start = start if start is not None or not words else words[0].start_ms
    said = segment.get("text", segment.get("word"))
    text = said if isinstance(said, str) else " ".join(word.text for word in words)
    if start is None:
        return None
    if words and len(words) < 0.5 * len(text.split()):
        words = ()  # most of what was said has no time of its own
    return Cue(start, end if end is not None and end > start else None, text, words)


def _json_words(words: Any, start: int | None, end: int | None) -> Iterator[Word]:
    """Words with times; those without share the time between their neighbours."""
    waiting: list[str] = []
    at = start
    for word in words if isinstance(words, list) else []:
        said = word.get("word", word.get("text")) if isinstance(word, dict) else None
        if not isinstance(said, str) or not said.strip():
            continue
        first, last = _json_ms(word.get("start")), _json_ms(word.get("end"))
        if first is None:
            waiting.append(said.strip())
            continue
        yield from _between(waiting, first if at is None else at, first)
        waiting, at = [], first if last is None else max(first, last)
        sure = word.get("probability")
        known = isinstance(sure, int | float) and not isinstance(sure, bool) and 0 <= sure <= 1
        yield Word(text=said.strip(), start_ms=first, end_ms=at, probability=float(sure) if known else None)
    if at is not None and at != start:
        yield from _between(waiting, at, at if end is None else end)


def _between(tokens: Sequence[str], start: int, end: int) -> Iterator[Word]:
    end = max(start, end)
    for place, token in enumerate(tokens):
        first, last = (start + (end - start) * n // len(tokens) for n in (place, place + 1))
        yield Word(text=token, start_ms=first, end_ms=last)


def _json_ms(value: Any) -> int | None:
    if isinstance(value, str):
        try:
            value = float(value)
        except ValueError:
            return _time(value)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < LATEST_MS / 1000:
        return None
    return ms_from_seconds(value)


def _stamped(text: str) -> Found:
    """Read text with time stamps before its paragraphs or lines."""
    lines = [part for line in _lines(text) for part in _INLINE.split(line)]
    stamps = [_stamp(line) for line in lines]
    styles = Counter(style for found in stamps if found for style in [found[0]])
    if not styles:
        return [], None, []
    # A line may begin with a time of day or a length by chance: the way most stamps are written is the way of the file.
    style = styles.most_common(1)[0][0]
    cues: list[tuple[int, int | None, list[str]]] = []
    before: list[str] = []
    for line, found in zip(lines, stamps, strict=True):
        if found and found[0] == style:
            cues.append((found[1], found[2], [found[3]]))
        elif cues:
            cues[-1][2].append(line)
        else:
            before.append(line)
    notes = []
    lead = "\n".join(before).strip()
    if lead and cues[0][0] > 5_000 and len(lead.split()) > 7:
        cues.insert(0, (0, cues[0][0], [lead]))
        notes.append(
            note("transcript-start", "The text before the first time stamp was taken to start at 0:00.", 0)
        )
    elif lead:
        said = f"What stands before the first time stamp was left out: \u201c{' '.join(lead.split())[:60]}\u201d."
        notes.append(note("transcript-start", said, level="note"))
    read = [Cue(start, end, "\n".join(kept for kept in said if kept.strip())) for start, end, said in cues]
    return read, None, notes


def _stamp(line: str) -> tuple[tuple[bool, bool], int, int | None, str] | None:
    """Style (in brackets, in seconds), start, end and the rest of a line that begins with a stamp."""
    match = _STAMP.match(line)
    if match is None or bool(match["open"]) != bool(match["close"]):
        return None
    start, end = _time(match["start"]), _time(match["end"])
    bracketed, in_seconds = bool(match["open"]), match["start"].rstrip(" ec").endswith("s")
    who, rest = match["who"] or "", match["rest"].strip()
    if start is None or (in_seconds and not bracketed and rest):
        return None
    if who and (
        not all(part[:1].isupper() or part[:1].isdecimal() for part in who.split()) or (rest and not bracketed)
    ):
        return None
    return (bracketed, in_seconds), start, end if end is not None and end > start else None, rest


def backwards(cues: Sequence[Cue]) -> Check | None:
    """Return a check when times run backwards, as they stand in the file."""
    turns = [late for early, late in pairwise(cues) if late.start_ms < early.start_ms]
    if not turns:
        return None
    said = f"The times of the transcript run backwards at {clock(turns[0].start_ms)}"
    more = f" and {len(turns) - 1} more times" if len(turns) > 1 else ""
    return note("transcript-order", f"{said}{more}; it was put in order of time. Look whether parts are mixed up.",
                turns[0].start_ms)  # fmt: skip
