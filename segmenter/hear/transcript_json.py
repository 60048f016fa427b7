"""A recogniser's JSON as cues."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from typing import Any

from segmenter.errors import TranscriptError
from segmenter.hear.transcript_cues import EXPECTED, LATEST_MS, Cue, Found, note, read_time
from segmenter.hear.transcript_text import spoken_ms
from segmenter.lesson import Word
from segmenter.times import ms_from_seconds


def read_json(text: str) -> Found | None:
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
    words = tuple(_json_words(segment.get("words", [segment] if "word" in segment else None), start, end))
    start = start if start is not None or not words else words[0].start_ms
    if start is None:
        return None
    said = segment.get("text")
    text = said if isinstance(said, str) and said.strip() else " ".join(word.text for word in words)
    if _letters("".join(word.text for word in words)) < 0.9 * _letters(text):
        words = ()  # some of what was said would be lost
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
        waiting, at = [], first + spoken_ms(said) if last is None else max(first, last)
        sure = word.get("probability")
        known = isinstance(sure, int | float) and not isinstance(sure, bool) and 0 <= sure <= 1
        yield Word(text=said.strip(), start_ms=first, end_ms=at, probability=float(sure) if known else None)
    if at is not None and at != start:
        yield from _between(waiting, at, at if end is None else end)


def _letters(text: str) -> int:
    return sum(char.isalnum() for char in text)


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
            return read_time(value)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < LATEST_MS / 1000:
        return None
    return ms_from_seconds(value)
