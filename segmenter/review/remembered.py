"""Corrections of words that a person wants made in every later class as well."""

from __future__ import annotations

import json
from pathlib import Path

from segmenter.edits.anchors import bare
from segmenter.files import keep_beside, write_whole

_FILE = "remembered.json"


def remembered(own: Path) -> list[tuple[str, str]]:
    """Return what to replace and what with, in the order it was asked for; nothing where the file is unreadable."""
    return _read(own)[0]


def _read(own: Path) -> tuple[list[tuple[str, str]], bool]:
    try:
        rows = json.loads((own / _FILE).read_text(encoding="utf-8"))
        return [(str(was), str(text)) for was, text in rows], True
    except OSError:
        return [], True
    except (ValueError, TypeError, RecursionError):
        return [], False


def _to_change(own: Path) -> list[tuple[str, str]]:
    rows, whole = _read(own)
    if not whole:
        keep_beside(own / _FILE)
    return rows


def remember(own: Path, was: str, text: str) -> None:
    """Keep a correction; a newer one for the same words takes its place."""
    key = [bare(word) for word in was.split()]
    rows = [row for row in _to_change(own) if [bare(word) for word in row[0].split()] != key]
    write_whole(own / _FILE, json.dumps([*rows, (was, text)], ensure_ascii=False, indent=1))


def forget(own: Path, was: str) -> None:
    """Drop a correction."""
    rows = [row for row in _to_change(own) if row[0] != was]
    write_whole(own / _FILE, json.dumps(rows, ensure_ascii=False, indent=1))
