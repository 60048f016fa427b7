"""Bring the index of a folder up to date: read the lessons that are new or changed, forget those that are gone."""

from __future__ import annotations

import os
import sqlite3
import stat
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from segmenter.errors import SegmenterError
from segmenter.folder import WORK, refuse_lesson
from segmenter.lesson import FAMILY_NAMES, Chapter, Word, lesson_from_json
from segmenter.library.dates import date_of
from segmenter.library.store import DamagedError, opened
from segmenter.publish.chapters import chapter_title, one_line
from segmenter.publish.hand_on import FOLDER as FOR_VIEWERS
from segmenter.publish.rows import asked_text, shown_text, sides_text
from segmenter.publish.transcript import shared_out
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.sentences import split_sentences

LESSON = "lesson.json"
DEEPEST = 6
"""Folders within folders that are looked into."""


@dataclass
class Refreshed:
    """What bringing the index up to date changed: folders of lessons, relative to the library."""

    total: int = 0
    added: list[str] = field(default_factory=list)
    changed: list[str] = field(default_factory=list)
    gone: list[str] = field(default_factory=list)
    unreadable: dict[str, str] = field(default_factory=dict)
    """Every lesson that cannot be read, with the reason; these are not searched."""


def lessons_below(folder: Path) -> Iterator[tuple[str, str]]:
    """Find the lessons in a folder, in order of name; links are not followed, so nothing is met twice.

    Gives where each lies, relative to the folder, and a stamp of its file that changes when the file does.
    """
    return _below(os.fspath(folder), "", DEEPEST)


def refresh(folder: Path, catalogue: Catalogue) -> Refreshed:
    """Bring the index of `folder` up to date.

    A lesson whose file has the same size and time as before is not read again. One that moved is read again where
    it lies now.

    Parameters
    ----------
    folder : Path
        Folder in which lesson folders lie, also within other folders.
    catalogue : Catalogue
        The names and ways of saying by which exercises can be found.

    Raises
    ------
    FolderError
        If there is no such folder, it is a lesson itself, or its index is in use or out of reach. A damaged one is
        made anew.
    """
    refuse_lesson(folder)
    try:
        return _refreshed(folder, catalogue)
    except DamagedError:
        return _refreshed(folder, catalogue)


def _refreshed(folder: Path, catalogue: Catalogue) -> Refreshed:
    told = Refreshed()
    with opened(folder) as index:
        known = {row[0]: row[1:] for row in index.execute("SELECT folder, stamp, problem FROM lessons")}
        here = dict(lessons_below(folder))
        told.gone = sorted(set(known) - set(here))
        for name in told.gone:
            _forget(index, name)
        for name, stamp in here.items():
            told.total += 1
            if name in known and known[name][0] == stamp:
                if known[name][1]:
                    told.unreadable[name] = known[name][1]
                continue
            problem = _read(index, name, folder / name, stamp, catalogue)
            if problem is not None:
                told.unreadable[name] = problem
            (told.changed if name in known else told.added).append(name)
    return told


def _below(folder: str, within: str, deep: int) -> Iterator[tuple[str, str]]:
    try:
        with os.scandir(folder) as found:
            entries = sorted(found, key=lambda entry: entry.name)
    except OSError:
        return
    for entry in entries:
        if entry.name.startswith(".") or entry.name == FOR_VIEWERS or not entry.is_dir(follow_symlinks=False):
            continue
        name = f"{within}{entry.name}"
        stamp = _stamp(Path(entry.path, LESSON))
        if stamp is not None:
            yield name, stamp
        elif deep > 1 and not Path(entry.path, WORK).is_dir():
            yield from _below(entry.path, f"{name}/", deep - 1)


def _stamp(file: Path) -> str | None:
    """Return a file's time and size, or None if there is no such file."""
    try:
        facts = file.stat()
    except OSError:
        return None
    return f"{facts.st_mtime_ns}:{facts.st_size}" if stat.S_ISREG(facts.st_mode) else None


def _read(index: sqlite3.Connection, name: str, path: Path, stamp: str, catalogue: Catalogue) -> str | None:
    """Put a lesson into the index in the place of what was known of it; return why it cannot be read, if so."""
    _forget(index, name)
    try:
        lesson = lesson_from_json((path / LESSON).read_bytes())
        day, dated_by = date_of(lesson, name, (path / LESSON).stat().st_mtime)
    except SegmenterError as error:
        problem = error.problem
    except OSError as error:
        problem = f"it cannot be read ({error.strerror or error})"
    else:
        row = (
            name, stamp, one_line(lesson.title), day, dated_by, lesson.recording.seconds, lesson.recording.sha256,
            lesson.language,
        )  # fmt: skip
        made = index.execute(
            "INSERT INTO lessons (folder, stamp, title, date, dated_by, seconds, content, language)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            row,
        )
        for number, (chapter, words) in enumerate(shared_out(lesson), 1):
            _add(index, made.lastrowid or 0, number, chapter, words, catalogue)
        return None
    index.execute("INSERT INTO lessons (folder, stamp, problem) VALUES (?, ?, ?)", (name, stamp, problem))
    return problem


def _add(
    index: sqlite3.Connection, at: int, number: int, chapter: Chapter, words: Sequence[Word], catalogue: Catalogue
) -> None:
    asked = [asked_text(chapter, where) for where in ("class", "home")]
    shown, title = shown_text(chapter), chapter_title(chapter)
    about = about_chapter(chapter, catalogue)
    practice = [stop.seconds for stop in chapter.practice if stop.seconds is not None]
    row = (
        at, number, chapter.id, title, chapter.kind, chapter.family, chapter.exercise, *chapter.span, sum(practice),
        len(chapter.practice), *asked, shown, chapter.hidden, about,
    )  # fmt: skip
    made = index.execute(
        "INSERT INTO chapters (lesson, number, name, title, kind, family, exercise, start_ms, end_ms, practice_s,"
        " practice_stops, asked_class, asked_home, shown, hidden, about) VALUES"
        " (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        row,
    )
    key = made.lastrowid or 0
    # The names stand among the words of the chapter itself too: they alone are reason enough to show it.
    facts = " ".join(dict.fromkeys([title, *asked, shown, sides_text(chapter), about]))
    moments: list[tuple[int, str, str]] = [(chapter.start_ms, "chapter", facts)]
    warned = [(c.start_ms, c.end_ms) for c in chapter.cautions if c.start_ms is not None and c.end_ms is not None]
    for sentence in split_sentences(words):
        middle = (sentence.start_ms + sentence.end_ms) // 2
        caution = any(start <= middle <= end for start, end in warned)
        moments.append((sentence.start_ms, "caution" if caution else "said", sentence.text))
    usual = [c for c in chapter.cautions if c.start_ms is None]
    moments += [(chapter.start_ms, "caution", caution.text) for caution in usual]
    for moment in moments:
        entry = index.execute(
            "INSERT INTO moments (chapter, at_ms, kind, said) VALUES (?, ?, ?, ?)", (key, *moment)
        )
        index.execute(
            "INSERT INTO words (rowid, said, about) VALUES (?, ?, ?)", (entry.lastrowid, moment[2], about)
        )
    index.executemany(
        "INSERT INTO quiz (chapter, at_ms, clue, answer) VALUES (?, ?, ?, ?)",
        [
            (key, item.clue.start_ms, one_line(item.clue.text), item.answer and one_line(item.answer.text))
            for item in chapter.quiz
        ],
    )


def about_chapter(chapter: Chapter, catalogue: Catalogue) -> str:
    """Return the words by which a chapter can be found besides what is said in it: its names in the catalogue."""
    exercise = chapter.exercise or ""
    known = catalogue.by_id(exercise) if exercise in catalogue else None
    names = [chapter_title(chapter), FAMILY_NAMES[chapter.family] if chapter.family else ""]
    if known is not None:
        names += [known.name, known.plain, *known.says]
    else:
        names.append(exercise.replace("-", " "))
    return "; ".join(dict.fromkeys(name for name in names if name))


def _forget(index: sqlite3.Connection, name: str) -> None:
    """Take a lesson out. An index beside its text must be told the old words (SQLite, FTS5, external content)."""
    rows = index.execute(
        "SELECT moments.id, moments.said, chapters.about FROM lessons"
        " JOIN chapters ON chapters.lesson = lessons.id JOIN moments ON moments.chapter = chapters.id"
        " WHERE lessons.folder = ?",
        (name,),
    ).fetchall()
    index.executemany("INSERT INTO words (words, rowid, said, about) VALUES ('delete', ?, ?, ?)", rows)
    index.execute("DELETE FROM lessons WHERE folder = ?", (name,))
