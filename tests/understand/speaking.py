"""Spoken words for tests: text to timed words, and doses as short text."""

from __future__ import annotations

from collections.abc import Sequence

from segmenter.lesson import Ask, Word


def spoken(text: str, start_ms: int = 0, *, step_ms: int = 300) -> list[Word]:
    """Return the words of a text at an even pace; ``[1500]`` between words is a pause in milliseconds."""
    words: list[Word] = []
    at = start_ms
    for token in text.split():
        if token.startswith("[") and token.endswith("]"):
            at += int(token[1:-1])
            continue
        words.append(Word(text=token, start_ms=at, end_ms=at + step_ms - 50))
        at += step_ms + (250 if token.endswith((".", "?", "!")) else 0)
    return words


def short(ask: Ask) -> str:
    """Return a dose as text: ``home reps=10 hold=5 side=both``; ``8+`` is at least, ``-10`` at most."""
    names = {
        "reps": "reps",
        "hold_s": "hold",
        "sets": "sets",
        "rest_s": "rest",
        "per_day": "day",
        "days_per_week": "week",
    }
    parts: list[str] = [ask.where]
    for field, name in names.items():
        span = getattr(ask, field)
        if span is not None:
            parts.append(f"{name}={_span(*span)}")
    if ask.side is not None:
        parts.append(f"side={ask.side}")
    if ask.pattern is not None:
        parts.append("breath=" + "/".join("?" if beat is None else f"{beat:g}" for beat in ask.pattern))
    return " ".join(parts)


def shorts(asks: Sequence[Ask]) -> list[str]:
    """Return doses as short texts."""
    return [short(ask) for ask in asks]


def _span(lo: float | None, hi: float | None) -> str:
    if lo is None:
        return f"-{hi:g}"
    if hi is None:
        return f"{lo:g}+"
    return f"{lo:g}" if lo == hi else f"{lo:g}-{hi:g}"
