"""Words from what already exists: captions, a recogniser's JSON, or text with time stamps.

What a file does not say, such as the time of a word inside a block, is estimated, and the
estimate carries a larger uncertainty.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from segmenter.errors import TranscriptError
from segmenter.hear.transcript_cues import EXPECTED, Cue, backwards, note
from segmenter.hear.transcript_formats import Kind, decoded, read_cues
from segmenter.hear.transcript_layout import lay
from segmenter.hear.transcript_match import check_match
from segmenter.hear.transcript_text import needed_ms, speaker_names, spoken_text, tokens
from segmenter.heard import Speech
from segmenter.intervals import Interval, length, merge
from segmenter.lesson import Check, Word
from segmenter.times import clock

__all__ = ["Cue", "Kind", "Transcript", "TranscriptWords", "check_match", "read_transcript", "transcript_words"]

LARGEST_BYTES = 50_000_000
TOLERATED_MS = 2_000
"""Captions often stay on screen a little after the end."""


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

    Returns
    -------
    Transcript
        Cues in order of time, each with text; tags, names of speakers and notes on sounds are left out.
        What was wrong with the file stands in the notes.

    Raises
    ------
    TranscriptError
        If it cannot be read, or holds no text with times.
    """
    try:
        if path.stat().st_size > LARGEST_BYTES:
            raise TranscriptError("this file is too large for a transcript", path, EXPECTED)
        data = path.read_bytes()
    except OSError as error:
        problem = f"this file cannot be read ({error.strerror or error})"
        raise TranscriptError(problem, path, "Check its name and where it is") from error
    try:
        text, notes = decoded(data)
        kind, (cues, language, more) = read_cues(text)
    except TranscriptError as error:
        raise TranscriptError(error.problem, path, error.advice) from error
    names = speaker_names(cue.text for cue in cues)
    cues = [replace(cue, text=spoken_text(cue.text, names), words=_spoken(cue.words)) for cue in cues]
    cues = [cue for cue in cues if tokens(cue.text)]
    if not cues:
        raise TranscriptError("no text with times was found in it", path, EXPECTED)
    turned = backwards(cues)
    ordered = sorted(cues, key=lambda cue: cue.start_ms)
    return Transcript(tuple(ordered), kind, language, (*notes, *more, *([turned] if turned else [])))


def _spoken(words: Sequence[Word]) -> tuple[Word, ...]:
    spoken: list[Word] = []
    for word in words:
        parts = tokens(spoken_text(word.text))
        for place, text in enumerate(parts):
            start, end = (word.start_ms + length(word.span) * n // len(parts) for n in (place, place + 1))
            spoken.append(word.model_copy(update={"text": text, "start_ms": start, "end_ms": end}))
    return tuple(spoken)


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

    Returns
    -------
    TranscriptWords
        Words in order, none over another, within ``[0, duration_ms]``.
    """
    cues = list(transcript.cues)
    end_ms = max((_end(cue) for cue in cues), default=0)
    total = end_ms if duration_ms is None else duration_ms
    checks = _beyond(cues, end_ms, total)
    cues = [cue for cue in cues if cue.start_ms < total]
    spoken = merge(stretch.span for stretch in speech)
    words: list[Word] = []
    errors: list[tuple[int, int]] = []
    for number, cue in enumerate(cues, 1):
        following = cues[number].start_ms if number < len(cues) else total
        at = words[-1].end_ms if words else 0
        if cue.words:
            laid, error = list(cue.words), 150
        else:
            block = _block(cue, at, following, total)
            laid, error = lay(tokens(cue.text), block, spoken)
        words += laid
        errors.append((error, len(laid)))
    return TranscriptWords(tuple(_in_order(words, total)), total, _error(errors), checks)


def _end(cue: Cue) -> int:
    """Where a cue ends, at least as far as it is known without the one after it."""
    last = max((word.end_ms for word in cue.words), default=cue.start_ms)
    return max(last, cue.end_ms if cue.end_ms is not None else cue.start_ms + needed_ms(tokens(cue.text)))


def _beyond(cues: Sequence[Cue], end_ms: int, total: int) -> tuple[Check, ...]:
    if end_ms <= total + TOLERATED_MS:
        return ()
    left_out = sum(len(tokens(cue.text)) for cue in cues if cue.start_ms >= total)
    lost = f", and {left_out} words after its end were left out" if left_out else ""
    said = f"The transcript runs to {clock(end_ms)}, but the recording only to {clock(total)}{lost}. "
    return (note("transcript-too-long", said + "Check that they belong together.", total),)


def _block(cue: Cue, at: int, following: int, total: int) -> Interval:
    """The time that a cue's words may take: after the words before it, and before the next cue where it can be."""
    needed = needed_ms(tokens(cue.text))
    end = following if cue.end_ms is None else cue.end_ms
    # Captions may overlap (W3C WebVTT, "WebVTT cue timings"), but words are said one after another.
    end = min(end, max(following, cue.start_ms + needed // 2))
    if end <= cue.start_ms:
        end = cue.start_ms + needed // 2
    start = min(max(cue.start_ms, at), total)
    return start, max(start, min(end, total))


def _error(errors: Sequence[tuple[int, int]]) -> int:
    """The error that nine in ten words stay within."""
    count = 0
    whole = sum(words for _, words in errors)
    for error, words in sorted(errors):
        count += words
        if count >= 0.9 * whole:
            return min(error, 30_000)
    return 300


def _in_order(words: Sequence[Word], total: int) -> list[Word]:
    """Times that never run backwards, over one another, or out of the recording."""
    ordered: list[Word] = []
    at = 0
    for word in sorted(words, key=lambda word: word.start_ms):
        start = min(max(word.start_ms, at), total)
        end = min(max(word.end_ms, start), total)
        if ordered and ordered[-1].end_ms > start:
            ordered[-1] = ordered[-1].model_copy(update={"end_ms": start})
        ordered.append(word.model_copy(update={"start_ms": start, "end_ms": end}))
        at = start
    return ordered
