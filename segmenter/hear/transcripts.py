"""Words from what already exists: captions, a recogniser's JSON, or text with time stamps.

Readers are forgiving: a cue that cannot be read is told in a note and passed over. What a
file does not say, such as the time of a word inside a block, is estimated, and the estimate
carries a larger uncertainty.
"""

from __future__ import annotations

import codecs
import html
import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any, Literal, TypeGuard

from segmenter.errors import TranscriptError
from segmenter.heard import Speech
from segmenter.intervals import Interval, merge, overlap
from segmenter.lesson import Check, Word
from segmenter.times import clock, ms_from_clock, ms_from_seconds

Kind = Literal["webvtt", "srt", "json", "text"]

_ARROW = re.compile(r"^\s*((?:\d+:)?\d+:\d+[.,]\d+)\s*-->\s*((?:\d+:)?\d+:\d+[.,]\d+)")
_STAMP = re.compile(
    r"^\s*(?:[\[(<]\s*)?(?P<clock>(?:\d{1,3}:)?\d{1,3}:\d{2}(?:[.,]\d{1,3})?|(?P<s>\d{1,5}(?:\.\d+)?)\s?s)(?:\s*[\])>])?"
    r"(?:\s*(?:-|–|—|to|:)\s*(?:[\[(]?(?:\d{1,3}:)?\d{1,3}:\d{2}(?:[.,]\d+)?[\])]?)?)?\s*(?P<rest>.*)$"
)
_MARKUP = re.compile(r"<[^>\n]{0,200}>|\{\\[^}\n]{0,50}\}")
_SPEAKER = re.compile(r"^(?:-\s*)?[A-Z][\w .'-]{0,24}:\s+(?=\S)")
_SOUND_NOTE = re.compile(
    r"\[[^\]]{0,80}\]|\((?:music|applause|laughter|laughs|silence|inaudible)[^)]{0,40}\)", re.IGNORECASE
)

RATE_MS = 60
"""Estimated length of a letter in unhurried talk (about 150 words a minute)."""
WORD_MS = 100
"""Estimated length a word takes beyond its letters."""
STOP_MS, COMMA_MS = 600, 250
"""Estimated pauses after a full stop and a comma."""


@dataclass(frozen=True)
class Cue:
    """A block of text with its time; `end_ms` is None where the file only marks starts."""

    start_ms: int
    end_ms: int | None
    text: str
    words: tuple[Word, ...] = ()


@dataclass(frozen=True)
class Transcript:
    """What a file says: cues in order of time, and notes on what was wrong with it."""

    cues: tuple[Cue, ...]
    kind: Kind
    language: str | None = None
    notes: tuple[Check, ...] = ()


@dataclass(frozen=True)
class TranscriptWords:
    """Words laid out in time; a time may be off by about `word_error_ms`."""

    words: tuple[Word, ...]
    duration_ms: int
    word_error_ms: int
    checks: tuple[Check, ...] = ()


def read_transcript(path: Path) -> Transcript:
    """Read WebVTT, SRT, a recogniser's JSON, or plain text with time stamps.

    WebVTT as in W3C WebVTT, "WebVTT file structure"; SRT as its four-part blocks; JSON as a list of
    segments, or an object that holds one, with ``start``, ``end``, ``text`` and perhaps ``words``.

    Raises
    ------
    TranscriptError
        If it cannot be read, or holds no text with times.
    """
    text, notes = _decoded(path)
    stripped = text.lstrip("\ufeff \r\n\t")
    if stripped.startswith(("{", "[{", "[\n")) and (found := _json_cues(stripped)) is not None:
        kind: Kind = "json"
        cues, language = found
    elif "-->" in text:
        kind = "webvtt" if stripped.startswith("WEBVTT") else "srt"
        language = _header_language(stripped) if kind == "webvtt" else None
        cues = _arrow_cues(text, notes)
    else:
        kind, language = "text", None
        cues = _stamped_cues(text)
    cues = [cue for cue in cues if cue.text]
    if not cues:
        raise TranscriptError(
            "no text with times was found in it",
            path,
            "Give WebVTT, SRT, a recogniser's JSON, or text with stamps such as [1:02] before each paragraph",
        )
    return Transcript(tuple(_ordered(cues, notes)), kind, language, tuple(notes))


def transcript_words(
    transcript: Transcript, duration_ms: int | None, speech: Sequence[Speech] = ()
) -> TranscriptWords:
    """Lay the words of a transcript out in time.

    Word times of the file are kept. Elsewhere a block's words share its time by their length; where
    the sound shows who speaks when, they are laid only into stretches of speech.

    Parameters
    ----------
    transcript : Transcript
        What was read.
    duration_ms : int or None
        Length of the recording; None when there is none.
    speech : sequence of Speech
        Stretches of speech, if a recording was heard.
    """
    checks: list[Check] = []
    cues = list(transcript.cues)
    last = cues[-1]
    end_ms = last.end_ms if last.end_ms is not None else last.start_ms + _spoken_ms(last.text.split())
    if duration_ms is not None and end_ms > duration_ms + 2_000:
        checks.append(
            _check(
                "transcript-too-long",
                f"The transcript runs to {clock(end_ms)}, the recording only to {clock(duration_ms)}. "
                "Check that they belong together.",
            )
        )
        cues = [cue for cue in cues if cue.start_ms < duration_ms] or cues[:1]
    total = duration_ms if duration_ms is not None else end_ms
    words: list[Word] = []
    longest = 0
    for number, cue in enumerate(cues):
        following = cues[number + 1].start_ms if number + 1 < len(cues) else total
        end = min(total, following if cue.end_ms is None else max(cue.end_ms, cue.start_ms))
        if cue.words:
            words += cue.words
            continue
        start = min(cue.start_ms, total)
        longest = max(longest, end - start)
        words += _laid(cue.text.split(), (start, max(start, end)), [stretch.span for stretch in speech])
    error = 150 if not longest else min(15_000, max(300, longest // (8 if speech else 4)))
    return TranscriptWords(tuple(_in_order(words, total)), total, error, tuple(checks))


def check_match(words: Sequence[Word], speech: Sequence[Speech]) -> tuple[Check, ...]:
    """Tell when a transcript does not belong to a recording, from who speaks when.

    Returns
    -------
    tuple of Check
        ``transcript-does-not-match`` when much is said where nobody speaks, or much speech has no words.
    """
    spoken = merge([stretch.span for stretch in speech])
    said = merge([word.span for word in words], gap=700)
    talk, text = _total(spoken), _total(said)
    if talk < 5_000 or not words:
        return ()
    shared = sum(overlap(one, other) for one in said for other in spoken)
    # Words are always a little longer or shorter than the sound; half of it elsewhere is another class.
    if shared < 0.55 * text or shared < 0.4 * talk:
        share = round(100 * shared / max(1, text))
        return (
            _check(
                "transcript-does-not-match",
                f"Only {share} % of the transcript falls where somebody speaks. Does it belong to this recording?",
            ),
        )
    return ()


def _decoded(path: Path) -> tuple[str, list[Check]]:
    try:
        data = path.read_bytes()
    except OSError as error:
        raise TranscriptError(
            f"this file cannot be read ({error.strerror or error})", path, "Check its name"
        ) from error
    for mark, name in ((codecs.BOM_UTF16_LE, "utf-16"), (codecs.BOM_UTF16_BE, "utf-16")):
        if data.startswith(mark):
            return _known(data, name, path)
    if b"\0" in data[:4000]:
        raise TranscriptError("this is no text file", path, "Give captions or a timed transcript")
    try:
        return data.decode("utf-8-sig"), []
    except UnicodeDecodeError:
        return _known(data, "cp1252", path)


def _known(data: bytes, encoding: str, path: Path) -> tuple[str, list[Check]]:
    try:
        text = data.decode(encoding, errors="strict" if encoding == "utf-16" else "replace")
    except UnicodeDecodeError as error:
        raise TranscriptError("this text cannot be read", path, "Save it again as UTF-8") from error
    note = f"The transcript is not UTF-8; it was read as {encoding}. Check letters with accents."
    return text, [_check("transcript-encoding", note, level="note")]


def _json_cues(text: str) -> tuple[list[Cue], str | None] | None:
    try:
        data = json.loads(text)
    except (ValueError, RecursionError):
        return None
    segments = data.get("segments") if isinstance(data, dict) else data
    if not isinstance(segments, list):
        return None
    language = data.get("language") if isinstance(data, dict) else None
    cues: list[Cue] = []
    for segment in segments:
        if not isinstance(segment, dict) or not _number(segment.get("start")):
            continue
        words = tuple(_json_words(segment.get("words")))
        said = segment.get("text") or " ".join(word.text for word in words)
        end = segment.get("end")
        cues.append(
            Cue(
                _ms(segment["start"]),
                _ms(end) if _number(end) else None,
                " ".join(str(said).split()),
                words,
            )
        )
    return cues, language if isinstance(language, str) else None


def _json_words(words: Any) -> Iterable[Word]:
    for word in words if isinstance(words, list) else []:
        if not isinstance(word, dict) or not _number(word.get("start")) or not _number(word.get("end")):
            continue
        text = str(word.get("word", word.get("text", ""))).strip()
        start, end = _ms(word["start"]), _ms(word["end"])
        sure = word.get("probability")
        if text and end >= start:
            known = float(sure) if _number(sure) and 0 <= sure <= 1 else None
            yield Word(text=text, start_ms=start, end_ms=end, probability=known)


def _number(value: Any) -> TypeGuard[float]:
    return isinstance(value, int | float) and not isinstance(value, bool) and 0 <= value < 1e6


def _ms(value: float) -> int:
    return ms_from_seconds(value)


def _header_language(text: str) -> str | None:
    match = re.search(r"^Language:\s*([\w-]{2,12})\s*$", text.split("\n\n", maxsplit=1)[0], re.MULTILINE)
    return match[1] if match else None


def _arrow_cues(text: str, notes: list[Check]) -> list[Cue]:
    cues: list[Cue] = []
    broken = 0
    for block in re.split(r"\n\s*\n", text.replace("\r\n", "\n").replace("\r", "\n")):
        lines = block.split("\n")
        at = next((n for n, line in enumerate(lines) if "-->" in line), None)
        if at is None:
            continue
        match = _ARROW.match(lines[at])
        start, end = (ms_from_clock(match[1]), ms_from_clock(match[2])) if match else (None, None)
        if start is None or end is None or end < start:
            broken += 1
            continue
        cues.append(Cue(start, end, _clean(lines[at + 1 :])))
    if broken:
        notes.append(
            _check("transcript-cues", f"{broken} captions of the transcript could not be read and were left out.")
        )
    return cues


def _stamped_cues(text: str) -> list[Cue]:
    cues: list[Cue] = []
    for line in text.replace("\r", "\n").split("\n"):
        match = _STAMP.match(line)
        start = None
        if match is not None:
            start = _ms(float(match["s"])) if match["s"] else ms_from_clock(match["clock"])
        if match is not None and start is not None:
            cues.append(Cue(start, None, _clean([match["rest"]])))
        elif cues and line.strip():
            last = cues[-1]
            cues[-1] = Cue(last.start_ms, None, f"{last.text} {_clean([line])}".strip())
    return cues


def _clean(lines: Sequence[str]) -> str:
    kept = []
    for line in lines:
        bare = html.unescape(_MARKUP.sub("", line)).strip()
        kept.append(_SOUND_NOTE.sub(" ", _SPEAKER.sub("", bare)))
    return " ".join(" ".join(kept).split())


def _ordered(cues: Sequence[Cue], notes: list[Check]) -> list[Cue]:
    backwards = [b for a, b in pairwise(cues) if b.start_ms < a.start_ms]
    if backwards:
        notes.append(
            _check(
                "transcript-order",
                f"The times of the transcript run backwards at {clock(backwards[0].start_ms)}; "
                "it was put in order of time.",
            )
        )
    return sorted(cues, key=lambda cue: cue.start_ms)


def _spoken_ms(tokens: Sequence[str]) -> int:
    return sum(WORD_MS + RATE_MS * len(token) + _pause_ms(token) for token in tokens)


def _pause_ms(token: str) -> int:
    if token.endswith((".", "?", "!", "…")):
        return STOP_MS
    return COMMA_MS if token.endswith((",", ";", ":")) else 0


def _laid(tokens: Sequence[str], block: Interval, speech: Sequence[Interval]) -> list[Word]:
    """Share the time of a block among its words, inside speech where speech is known."""
    room = [(max(a, block[0]), min(b, block[1])) for a, b in merge(speech) if min(b, block[1]) > max(a, block[0])]
    if _total(room) < 80 * len(tokens):
        room = [block]
    inside = bool(speech) and room != [block]
    pauses = [0 if inside else _pause_ms(token) for token in tokens]
    lengths = [WORD_MS + RATE_MS * len(token) for token in tokens]
    needed = sum(lengths) + sum(pauses)
    # Without sound nobody knows where in a long block silence lies: talk comes first at its usual pace.
    scale = _total(room) / needed if needed else 1.0
    scale = scale if inside else min(scale, 1.6)
    words, at = [], 0.0
    for token, spoken, pause in zip(tokens, lengths, pauses, strict=True):
        start, end = _place(room, at), _place(room, at + spoken * scale)
        words.append(Word(text=token, start_ms=start, end_ms=max(start, end)))
        at += (spoken + pause) * scale
    return words


def _place(room: Sequence[Interval], at: float) -> int:
    for start, end in room:
        if at <= end - start:
            return round(start + at)
        at -= end - start
    return room[-1][1]


def _in_order(words: Sequence[Word], total: int) -> list[Word]:
    ordered: list[Word] = []
    at = 0
    for word in sorted(words, key=lambda w: w.start_ms):
        start = min(max(word.start_ms, at), total)
        ordered.append(word.model_copy(update={"start_ms": start, "end_ms": min(max(word.end_ms, start), total)}))
        at = start
    return ordered


def _total(spans: Iterable[Interval]) -> int:
    return sum(end - start for start, end in spans)


def _check(code: str, message: str, level: Literal["note", "look"] = "look") -> Check:
    return Check(code=code, level=level, message=message)
