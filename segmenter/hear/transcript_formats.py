"""What a transcript file says: WebVTT, SRT, a recogniser's JSON, or text with time stamps, as cues.

Readers are forgiving: what cannot be read is told in a note with its line, and the rest is kept.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import Literal

from webvtt import WebVTT

from segmenter.errors import TranscriptError
from segmenter.hear.transcript_cues import CLOCK, EXPECTED, TIME, Cue, Found, note, read_time
from segmenter.hear.transcript_json import read_json
from segmenter.lesson import Check, Word
from segmenter.times import ms_from_clock, stamp

Kind = Literal["webvtt", "srt", "json", "text"]

_ARROW = re.compile(r"^\s*(?P<start>[\d:.,]+)?\s*-->\s*(?P<end>[\d:.,]+)?(?P<more>[ \t].*)?$")
_INNER_STAMP = re.compile(r"<((?:\d{1,4}:)?\d{1,2}:\d{1,2}\.\d{1,3})>")
_STAMP = re.compile(
    r"^\s*(?:[-*#•]\s+)?(?P<who>[^\W\d_][\w.'’-]*(?:[ ][\w.'’-]+){0,3}[ ]?[:,-]?\s*)?"
    rf"(?P<open>[\[(]\s*)?(?P<start>{TIME})"
    rf"(?:\s*(?:-->|->|-|–|—|to|,)\s*(?P<end>{TIME}))?"
    r"(?P<close>\s*[\])])?(?P<mark>\s*[:|–—-])?(?:\s+|$|(?<=[\])]))(?P<rest>.*)$"
)
_ANY_TAG = re.compile(r"<[^<>]*>")
_PASSING_MS = 100
"""Rolling captions stand still between two lines for as short as this."""
_INLINE = re.compile(rf"(?<=\S)\s+(?=\[(?:{CLOCK})\])")
_OWN_PAPER = ((b"PK\x03\x04", "a packed file"), (b"%PDF", "a PDF"), (b"{\\rtf", "rich text"))


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
        found = read_json(text)
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


def _times(line: str) -> tuple[int, int | None] | None:
    """Start and end of a timing line; None when not even the start can be read."""
    match = _ARROW.match(line)
    start = read_time(match["start"]) if match else None
    if match is None or start is None:
        return None
    end = read_time(match["end"])
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
    for caption in WebVTT.from_string("\n".join(lines)).captions:
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
    starts = [start_ms, *(read_time(part) or 0 for part in parts[1::2]), end_ms]
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

    Only when nearly all captions of several lines do so: otherwise what comes twice is said twice.
    """
    shown = [[line for line in cue.text.split("\n") if line.strip()] for cue in cues]
    plain = [[_ANY_TAG.sub("", line).strip() for line in lines] for lines in shown]
    again = [_repeated(a, b) for a, b in pairwise(plain)]
    rolling = [count > 0 for count, lines in zip(again, plain[1:], strict=True) if len(lines) > 1]
    if len(rolling) < 3 or sum(rolling) < 0.8 * len(rolling):
        return cues
    kept = cues[:1]
    for cue, lines, count in zip(cues[1:], shown[1:], again, strict=True):
        passing = cue.end_ms is not None and cue.end_ms - cue.start_ms < _PASSING_MS
        # The same lines alone and for a while are said again.
        seen = 0 if count == len(lines) and not passing else count
        left_out = sum(len(_ANY_TAG.sub("", line).split()) for line in lines[:seen])
        kept.append(replace(cue, text="\n".join(lines[seen:]), words=cue.words[left_out:]))
    return kept


def _repeated(before: Sequence[str], lines: Sequence[str]) -> int:
    """How many lines at the top are the last ones of the caption before."""
    counts = range(min(len(before), len(lines)), 0, -1)
    return next((count for count in counts if before[-count:] == lines[:count]), 0)


def _stamped(text: str) -> Found:
    """Read text with time stamps before its paragraphs or lines."""
    lines = [part for line in _lines(text) for part in _INLINE.split(line)]
    stamps = [_stamp(line) for line in lines]
    styles = Counter(style for found in stamps if found for style in [found[0]])
    if not styles:
        return [], None, []
    # A line may begin with a time of day by chance: the way most stamps are written is the way of the file.
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
    start, end = read_time(match["start"]), read_time(match["end"])
    bracketed, in_seconds = bool(match["open"]), match["start"].rstrip(" ec").endswith("s")
    who, rest = match["who"] or "", match["rest"].strip()
    if start is None or (in_seconds and not bracketed and rest):
        return None
    if who and (
        not all(part[:1].isupper() or part[:1].isdecimal() for part in who.split()) or (rest and not bracketed)
    ):
        return None
    return (bracketed, in_seconds), start, end if end is not None and end > start else None, rest
