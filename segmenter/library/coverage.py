"""What a library of classes covered: exercises and families by month, what rests, quiz items, doses over time."""

from __future__ import annotations

import sqlite3
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from segmenter.lesson import FAMILY_NAMES, Family
from segmenter.library.store import opened
from segmenter.understand.catalogue import Catalogue

NO_FAMILY = "Not named"
"""Stands for exercises of which nobody said what they train."""


@dataclass(frozen=True)
class Taught:
    """One exercise of one class.

    Parameters
    ----------
    date, dated_by, lesson, folder : str
        When and where; `dated_by` as in `segmenter.library.dates`.
    exercise : str
        Its plain name in the catalogue, else the chapter's title.
    family : str
        In plain words.
    minutes : float
        Length in the class.
    practice_s : float or None
        Seconds of practice asked of viewers at stops; None where a stop has no time that can be known.
    asked_class, asked_home, shown : str
        As on the rep-timing sheet; empty where nothing was said or shown.
    """

    date: str
    dated_by: str
    lesson: str
    folder: str
    exercise: str
    family: str
    minutes: float
    practice_s: float | None
    asked_class: str
    asked_home: str
    shown: str

    @property
    def month(self) -> str:
        """Year and month, such as ``2026-03``."""
        return self.date[:7]


@dataclass(frozen=True)
class Riddle:
    """A quiz item with every class in which it was asked: date and title, oldest first."""

    clue: str
    answer: str
    asked: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class Resting:
    """Something that was not covered since a date; `last` is the last time before, None for never."""

    name: str
    last: str | None


@dataclass(frozen=True)
class Coverage:
    """All of it; `since` is the date asked for, or None.

    `dated_by_file` counts classes whose date is only that of their file.
    """

    classes: int
    minutes: float
    since: str | None
    taught: tuple[Taught, ...]
    riddles: tuple[Riddle, ...]
    families_resting: tuple[Resting, ...]
    exercises_resting: tuple[Resting, ...]
    dated_by_file: int

    @property
    def months(self) -> tuple[str, ...]:
        """Every month with a class, oldest first."""
        return tuple(sorted({one.month for one in self.taught}))

    def by_month(self, what: str) -> dict[str, dict[str, Counter[str]]]:
        """Return classes, minutes and practice seconds by ``family`` or ``exercise`` and month.

        The most often taught come first. An exercise that comes twice in a class counts as one class.
        """
        table: dict[str, dict[str, Counter[str]]] = defaultdict(lambda: defaultdict(Counter))
        seen: set[tuple[str, str]] = set()
        for one in self.taught:
            name = getattr(one, what)
            cell = table[name][one.month]
            cell["classes"] += (name, one.folder) not in seen
            cell["seconds"] += round(60 * one.minutes)
            cell["practice"] += round(one.practice_s or 0)
            seen.add((name, one.folder))
        often = {name: sum(cell["classes"] for cell in row.values()) for name, row in table.items()}
        return {name: dict(table[name]) for name in sorted(table, key=lambda name: (-often[name], name))}

    def doses(self) -> dict[str, tuple[Taught, ...]]:
        """Return, of each exercise, each time its dose was another than before; none that never changed."""
        rows: dict[str, list[Taught]] = defaultdict(list)
        for one in self.taught:
            said = (one.asked_class, one.asked_home)
            before = rows[one.exercise][-1:]
            if any(said) and [(last.asked_class, last.asked_home) for last in before] != [said]:
                rows[one.exercise].append(one)
        return {name: tuple(each) for name, each in sorted(rows.items()) if len(each) > 1}


def coverage(folder: Path, catalogue: Catalogue, since: str | None = None) -> Coverage:
    """Return what the classes of a library covered.

    Hidden chapters count: they were taught. A quiz item counts as the same when its clue has the same words.

    Parameters
    ----------
    folder : Path
        The library; its index must be up to date (`segmenter.library.index.refresh`).
    catalogue : Catalogue
        Gives exercises their plain names.
    since : str or None
        A date (ISO 8601): tell what was not covered on or after it.

    Raises
    ------
    FolderError
        If the index cannot be used.
    """
    with opened(folder) as index:
        classes = index.execute("SELECT date, dated_by, seconds FROM lessons WHERE problem IS NULL").fetchall()
        taught = tuple(_taught(index, catalogue))
        riddles = _riddles(
            index.execute(
                "SELECT quiz.clue, quiz.answer, lessons.date, lessons.title FROM quiz"
                " JOIN chapters ON chapters.id = quiz.chapter JOIN lessons ON lessons.id = chapters.lesson"
                " ORDER BY lessons.date, lessons.title, quiz.at_ms"
            )
        )
    families = {one.family: one for one in taught}  # the last time of each, since they are in order
    exercises = {one.exercise: one for one in taught}
    return Coverage(
        classes=len(classes),
        minutes=sum(seconds for _, _, seconds in classes) / 60,
        since=since,
        taught=taught,
        riddles=riddles,
        families_resting=_resting(FAMILY_NAMES.values(), families, since),
        exercises_resting=_resting(exercises, exercises, since),
        dated_by_file=sum(by == "file" for _, by, _ in classes),
    )


def _taught(index: sqlite3.Connection, catalogue: Catalogue) -> Iterable[Taught]:
    names: Mapping[Family, str] = FAMILY_NAMES
    rows = index.execute(
        "SELECT lessons.date, lessons.dated_by, lessons.title, lessons.folder, chapters.exercise, chapters.title,"
        " chapters.family, chapters.end_ms - chapters.start_ms, chapters.practice_s, chapters.practice_stops,"
        " chapters.asked_class, chapters.asked_home, chapters.shown"
        " FROM chapters JOIN lessons ON lessons.id = chapters.lesson WHERE chapters.kind IN ('exercise', 'quiz')"
        " ORDER BY lessons.date, lessons.folder, chapters.number"
    )
    for date, dated_by, lesson, folder, exercise, title, family, length_ms, practice_s, stops, *said in rows:
        name = catalogue.by_id(exercise).plain if exercise in catalogue else title
        name = name[:1].upper() + name[1:]
        known = practice_s if practice_s or not stops else None
        family_name = names.get(family, NO_FAMILY)
        yield Taught(date, dated_by, lesson, folder, name, family_name, length_ms / 60_000, known, *said)


def _riddles(rows: Iterable[tuple[str, str | None, str, str]]) -> tuple[Riddle, ...]:
    found: dict[str, list[tuple[str, str, str, str]]] = defaultdict(list)
    for clue, answer, date, title in rows:
        words = " ".join("".join(sign if sign.isalnum() else " " for sign in clue.casefold()).split())
        found[words].append((clue, answer or "", date, title))
    riddles = [
        Riddle(times[0][0], next((answer for _, answer, *_ in times if answer), ""),
               tuple(dict.fromkeys((date, title) for *_, date, title in times)))
        for times in found.values()
    ]  # fmt: skip
    return tuple(sorted(riddles, key=lambda riddle: (-len(riddle.asked), riddle.asked[-1], riddle.clue)))


def _resting(names: Iterable[str], last: Mapping[str, Taught], since: str | None) -> tuple[Resting, ...]:
    if since is None:
        return ()
    found = [Resting(name, last[name].date if name in last else None) for name in names]
    resting = [one for one in found if one.last is None or one.last < since]
    return tuple(sorted(resting, key=lambda one: (one.last or "", one.name)))


def rows_of(made: Coverage) -> Sequence[Sequence[str]]:
    """Return every exercise of every class as a row of text under its headings, oldest first."""
    headings = (
        "Date", "Date from", "Class", "Folder", "Exercise", "Family", "Minutes", "Practice time (seconds)",
        "Asked in class", "Asked for home", "Shown",
    )  # fmt: skip
    rows = [
        (
            one.date, one.dated_by, one.lesson, one.folder, one.exercise, one.family, f"{one.minutes:.2f}",
            "" if one.practice_s is None else f"{one.practice_s:g}", one.asked_class, one.asked_home, one.shown,
        )
        for one in made.taught
    ]  # fmt: skip
    return [headings, *rows]
