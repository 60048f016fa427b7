"""Captions that were made once are not made again: in a class of two hours they are work for seconds."""

from __future__ import annotations

import contextlib
import hashlib
import threading
from functools import cache
from importlib.resources import files
from pathlib import Path

from pydantic import ValidationError

from segmenter.cache import StageCache
from segmenter.errors import SegmenterError
from segmenter.lesson import Caption, Check, Frozen, Lesson
from segmenter.publish.caption_sounds import sound_cues, tokens_of
from segmenter.publish.captions import compose

_STAGE = "captions"
_MADE_BY = ("captions", "caption_cues", "caption_cuts", "caption_sounds", "phrases", "limits")
_ONE = threading.Lock()
"""Whoever asks while captions are being made waits for them: twice the work would take twice as long."""


class _Made(Frozen):
    captions: tuple[Caption, ...]
    checks: tuple[Check, ...]


class CaptionStore:
    """Makes captions as `segmenter.publish.captions.compose` does, and keeps the newest in a work folder.

    Parameters
    ----------
    work : Path
        A lesson's work folder; where it is missing or cannot be written nothing is kept.
    """

    def __init__(self, work: Path) -> None:
        self._cache = StageCache(work)
        self._last: tuple[str, _Made] | None = None

    def __call__(self, lesson: Lesson) -> tuple[tuple[Caption, ...], tuple[Check, ...]]:
        """Return captions and what to look at about them."""
        key = _key(lesson)
        with _ONE:
            made = self._last[1] if self._last is not None and self._last[0] == key else self._read(key)
            if made is None:
                captions, checks = compose(lesson)
                made = _Made(captions=captions, checks=checks)
                self._keep(key, made)
            self._last = (key, made)
        return made.captions, made.checks

    def _read(self, key: str) -> _Made | None:
        text = self._cache.get(_STAGE, key) if self._cache.folder.is_dir() else None
        try:
            return None if text is None else _Made.model_validate_json(text)
        except ValidationError:
            return None

    def _keep(self, key: str, made: _Made) -> None:
        with contextlib.suppress(SegmenterError, OSError):
            if self._cache.folder.is_dir():
                self._cache.put(_STAGE, key, made.model_dump_json())


def _key(lesson: Lesson) -> str:
    # All that captions are made of. Titles only name sounds, and what comes of them is asked for here.
    holds = [hold.span for chapter in lesson.chapters for hold in chapter.shown.holds if hold.how != "counted"]
    parts = (
        _rules(),
        lesson.duration_ms,
        [(word.text, word.start_ms, word.end_ms, word.speaker) for word in lesson.words],
        [(c.span, c.shown, c.practice, c.quiz) for c in lesson.chapters],
        sound_cues(lesson, tokens_of(lesson.words, holds)),
    )
    return hashlib.sha256(repr(parts).encode()).hexdigest()


@cache
def _rules() -> str:
    source = files("segmenter.publish")
    return hashlib.sha256(b"\0".join(source.joinpath(f"{n}.py").read_bytes() for n in _MADE_BY)).hexdigest()
