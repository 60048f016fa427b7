"""Find moments in a library of lessons by words: what was said, exercises, doses, cautions."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Any, Final

from segmenter.library.index import refresh
from segmenter.library.store import DamagedError, opened
from segmenter.times import clock, seconds
from segmenter.understand.catalogue import Catalogue

MOST: Final = 30
"""Moments that are shown unless more are wanted."""
_EACH: Final = 2
"""Moments of one chapter among them, so that one long chapter does not hide the others."""
_LOOKED_AT: Final = 600
_TOO_COMMON: Final = frozenset(
    "a an and are did do for have i in is it of on or show the to was we where with".split()  # noqa: SIM905
)


@dataclass(frozen=True)
class Moment:
    """One moment of one lesson that fits what was asked for.

    Parameters
    ----------
    folder : str
        The lesson's folder, relative to the library.
    lesson, date, dated_by : str
        Title and date of the class, and where the date was read (`segmenter.library.dates`).
    chapter, chapter_id, family : str
        Where in the class; `family` is None outside exercises.
    at_ms : int
        Milliseconds from the start of the recording.
    kind : str
        ``chapter`` for the exercise itself, ``said`` for a sentence, ``caution`` for a warning.
    text : str
        The sentence, or what is known of the exercise.
    hidden : bool
        Whether viewers do not get to see this chapter.
    """

    folder: str
    lesson: str
    date: str
    dated_by: str
    chapter: str
    chapter_id: str
    family: str | None
    at_ms: int
    kind: str
    text: str
    hidden: bool

    def link(self, library: Path) -> str:
        """Return the address of the moment in the lesson's own page."""
        return f"{(library / self.folder / 'index.html').resolve().as_uri()}#t={seconds(self.at_ms):g}"

    def facts(self, library: Path) -> dict[str, Any]:
        """Return plain values, for scripts; the time in seconds."""
        row = asdict(self)
        row["at"] = seconds(row.pop("at_ms"))
        return {**row, "link": self.link(library)}

    def line(self) -> str:
        """Return date, class, time, exercise and words in one line."""
        mark = " (hidden from viewers)" if self.hidden else ""
        said = "" if self.kind == "chapter" else f" “{self.text}”"
        return f"{self.date}  {self.lesson}  {clock(self.at_ms)}  {self.chapter}{mark}{said}"


_FACTS: Final = tuple(field.name for field in fields(Moment) if field.name != "hidden")


def find(folder: Path, text: str, catalogue: Catalogue, most: int = MOST) -> list[Moment]:
    """Bring the index up to date, and search it; see `search`. A damaged index is made anew on the way."""
    refresh(folder, catalogue)
    try:
        return search(folder, text, most)
    except DamagedError:
        refresh(folder, catalogue)
        return search(folder, text, most)


def search(folder: Path, text: str, most: int = MOST) -> list[Moment]:
    """Return the moments that fit all words of `text`, the best first, of equal ones the newest.

    Words count in any form ("tucks" finds "tuck"), the last one also when it is only begun. At least one of them
    must be said or stand in the chapter's title or dose; the others may be names of the exercise, so that
    "chin tuck left" finds the moment in a chin tuck at which the left side is spoken of.

    Parameters
    ----------
    folder : Path
        The library; its index must be up to date (`segmenter.library.index.refresh`).
    text : str
        Words, as a person types them. Signs are not heeded.
    most : int
        How many moments at most.

    Raises
    ------
    FolderError
        If the index cannot be used, or was damaged.
    """
    query = _query(text)
    if query is None:
        return []
    with opened(folder) as index:
        rows = index.execute(
            "SELECT lessons.folder, lessons.title, lessons.date, lessons.dated_by, chapters.title, chapters.name,"
            " chapters.family, moments.at_ms, moments.kind, moments.said, chapters.hidden, chapters.id"
            " FROM (SELECT rowid, rank AS score FROM words WHERE words MATCH ? AND rank MATCH 'bm25(2.0, 1.0)'"
            "       ORDER BY rank LIMIT ?) AS found"
            " JOIN moments ON moments.id = found.rowid JOIN chapters ON chapters.id = moments.chapter"
            " JOIN lessons ON lessons.id = chapters.lesson"
            " ORDER BY moments.kind = 'chapter' DESC, round(found.score, 1), lessons.date DESC, moments.at_ms",
            (query, max(_LOOKED_AT, most)),
        ).fetchall()
    return _spread(rows, most)


def _query(text: str) -> str | None:
    """Return the words as an FTS5 expression; None when there is none.

    Each word stands in quotes, so that nothing a person types is read as an operator (SQLite, FTS5, section 3).
    """
    words = re.findall(r"[^\W_]+", text)
    told = [word for word in words if word.lower() not in _TOO_COMMON] or words
    if not told:
        return None
    begun = len(words[-1]) > 1 and words[-1] == told[-1]
    terms = [f'"{word}"' for word in told[:-1]] + [f'"{told[-1]}"{"*" if begun else ""}']
    return f"({{said}} : ({' OR '.join(terms)})) AND {' AND '.join(terms)}"


def _spread(rows: Sequence[tuple[Any, ...]], most: int) -> list[Moment]:
    taken: Counter[int] = Counter()
    moments: list[Moment] = []
    for *facts, hidden, chapter in rows:
        taken[chapter] += 1
        if taken[chapter] <= _EACH:
            moments.append(Moment(**dict(zip(_FACTS, facts, strict=True)), hidden=bool(hidden)))
    return moments[:most]
