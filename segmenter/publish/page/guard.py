"""Captions that give no quiz answer away."""

from __future__ import annotations

import re
from typing import Any

from segmenter.lesson import Caption, Lesson
from segmenter.times import seconds


def guarded_captions(lesson: Lesson) -> list[list[Any]]:
    """Return captions as ``[start, end, text, kind, secret]`` that give no quiz answer away.

    `secret` is None or ``[chapter, question]`` (indices) whose answer the caption tells. A
    caption that begins before an answer is spoken and tells it is cut where the answer starts.
    """
    answers = [
        (item.answer.start_ms, item.answer.end_ms, item.answer.text, (c, q), chapter.span)
        for c, chapter in enumerate(lesson.chapters)
        for q, item in enumerate(chapter.quiz)
        if item.answer is not None
    ]
    rows: list[list[Any]] = []
    for caption in lesson.captions:
        hit = next(
            (
                (start, key)
                for start, end, text, key, span in answers
                if (caption.start_ms < end and start < caption.end_ms)
                or (span[0] <= caption.start_ms < span[1] and _tells(caption.text, text))
            ),
            None,
        )
        if hit is None:
            rows.append(_row(caption.start_ms, caption.end_ms, caption.text, caption.kind, None))
        else:
            rows.extend(_cut(lesson, caption, *hit))
    return rows


def _cut(lesson: Lesson, caption: Caption, start_ms: int, key: tuple[int, int]) -> list[list[Any]]:
    if not caption.start_ms < start_ms < caption.end_ms:
        return [_row(caption.start_ms, caption.end_ms, caption.text, caption.kind, key)]
    before = " ".join(word.text.strip() for word in lesson.words_in(caption.start_ms, start_ms))
    after = " ".join(word.text.strip() for word in lesson.words_in(start_ms, caption.end_ms))
    if not after:  # no word times: better late than told
        return [_row(start_ms, caption.end_ms, caption.text, caption.kind, key)]
    rows = [_row(caption.start_ms, start_ms, before, caption.kind, None)] if before else []
    return [*rows, _row(start_ms, caption.end_ms, after, caption.kind, key)]


def _row(start_ms: int, end_ms: int, text: str, kind: str, key: tuple[int, int] | None) -> list[Any]:
    return [seconds(start_ms), seconds(end_ms), text, kind, key]


def _tells(text: str, answer: str) -> bool:
    plain = _plain(answer)
    return bool(plain) and f" {plain} " in f" {_plain(text)} "


def _plain(text: str) -> str:
    return " ".join(re.findall(r"\w+", text.casefold()))
