"""Each edit in plain words, for lists of changes and for the button that takes one back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from segmenter.edits.kinds import Edit
from segmenter.times import clock


def _tenths(ms: int) -> str:
    return f"{clock(ms)}.{ms % 1000 // 100}"


_WORDS: dict[str, Callable[[Any], str]] = {
    "title-lesson": lambda e: f"lesson named “{e.title}”",
    "retitle": lambda e: f"chapter named “{e.title}”",
    "reclassify": lambda e: f"chapter is: {', '.join(p for p in (e.kind, e.family, e.exercise) if p)}",
    "set-asked": lambda e: f"what is asked: {len(e.asked) or 'nothing'}",
    "accept-usual": lambda e: f"usual dose taken over ({e.source})",
    "set-still": lambda e: f"picture from {_tenths(e.still_ms)}",
    "hide": lambda e: "chapter hidden from viewers" if e.hidden else "chapter shown to viewers",
    "move-boundary": lambda e: f"chapter start moved to {_tenths(e.to_ms)}",
    "split": lambda e: "chapter split" + (f", the new one named “{e.title}”" if e.title else ""),
    "merge": lambda _: "chapter joined to the one before",
    "add-hold": lambda e: f"hold marked, {(e.end_ms - e.at_ms) / 1000:.1f} seconds",
    "remove-hold": lambda _: "hold taken away",
    "add-stop": lambda _: "practice stop marked",
    "move-stop": lambda e: f"practice stop moved to {_tenths(e.to_ms)}",
    "remove-stop": lambda _: "practice stop taken away",
    "set-word": lambda e: f"word “{e.was}” is “{e.text}”",
    "replace-words": lambda e: f"everywhere “{e.was}” is “{e.text}”",
    "remove-name": lambda _: "a name taken out",
    "break-caption": lambda e: f"new caption at “{e.was}”",
    "join-caption": lambda e: f"caption at “{e.was}” joined to the one before",
    "settle-check": lambda e: "looked at" if e.settled else "to be looked at again",
    "mark-checked": lambda e: "lesson checked" if e.checked else "lesson not checked after all",
}


def named(edit: Edit) -> str:
    """Return what an edit does, in a few words.

    >>> from segmenter.edits.kinds import Retitle
    >>> named(Retitle(at_ms=0, title="Long ah"))
    'chapter named “Long ah”'
    """
    return _WORDS[edit.do](edit)
