"""The index of a folder of lessons: one SQLite file, made anew from the lessons whenever it cannot be used.

It holds nothing that is not in a ``lesson.json``; deleting it loses nothing.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Final

from platformdirs import user_cache_path

from segmenter.errors import FolderError

NAME: Final = ".library.sqlite"
_VERSION: Final = 1
"""Raise it when the tables change: an index of another version is made anew."""
_TABLES: Final = """
CREATE TABLE lessons (
    id INTEGER PRIMARY KEY, folder TEXT NOT NULL UNIQUE, stamp TEXT NOT NULL, problem TEXT,
    title TEXT, date TEXT, dated_by TEXT, seconds REAL, content TEXT, language TEXT);
CREATE TABLE chapters (
    id INTEGER PRIMARY KEY, lesson INTEGER NOT NULL REFERENCES lessons(id) ON DELETE CASCADE,
    number INTEGER, name TEXT, title TEXT, kind TEXT, family TEXT, exercise TEXT, start_ms INTEGER,
    end_ms INTEGER, practice_s REAL, practice_stops INTEGER, asked_class TEXT, asked_home TEXT, shown TEXT,
    hidden INTEGER, about TEXT);
CREATE INDEX chapters_of ON chapters(lesson);
CREATE TABLE moments (
    id INTEGER PRIMARY KEY, chapter INTEGER NOT NULL REFERENCES chapters(id) ON DELETE CASCADE,
    at_ms INTEGER, kind TEXT, said TEXT);
CREATE INDEX moments_of ON moments(chapter);
CREATE TABLE quiz (
    chapter INTEGER NOT NULL REFERENCES chapters(id) ON DELETE CASCADE, at_ms INTEGER, clue TEXT, answer TEXT);
CREATE INDEX quiz_of ON quiz(chapter);
CREATE VIEW readable AS
    SELECT moments.id AS id, moments.said AS said, chapters.about AS about
    FROM moments JOIN chapters ON chapters.id = moments.chapter;
CREATE VIRTUAL TABLE words USING fts5(
    said, about, content='readable', content_rowid='id', prefix='2 3',
    tokenize="porter unicode61 remove_diacritics 2");
"""


def index_file(folder: Path) -> Path:
    """Return where the index of a folder lies: inside it, or in the user's cache where it cannot be written."""
    folder = folder.resolve()
    if os.access(folder, os.W_OK):
        return folder / NAME
    name = hashlib.sha256(os.fsencode(folder)).hexdigest()[:16]
    return user_cache_path("segmenter", ensure_exists=True) / f"library-{name}.sqlite"


class DamagedError(FolderError):
    """The index was damaged; it is gone now, and bringing it up to date makes it anew."""


@contextlib.contextmanager
def opened(folder: Path) -> Iterator[sqlite3.Connection]:
    """Open the index of a folder of lessons; what is changed inside is kept together, or not at all.

    Raises
    ------
    DamagedError
        If the index turns out to be damaged.
    FolderError
        If there is no such folder, or the index is in use or out of reach.
    """
    if not folder.is_dir():
        raise FolderError("there is no such folder", folder, "Name the folder in which your lessons lie")
    file = index_file(folder)
    try:
        connection = _connected(file)
        try:
            with connection:
                _prepared(connection)
                yield connection
        finally:
            connection.close()
    except sqlite3.OperationalError as error:
        raise FolderError(f"the index of this library cannot be used ({error})", file, "Try again later") from error
    except sqlite3.DatabaseError as error:
        for part in ("", "-journal", "-wal", "-shm"):
            file.with_name(file.name + part).unlink(missing_ok=True)
        raise DamagedError(
            "the index of this library was damaged", file, "Do it once more: it is made anew"
        ) from error


def _prepared(connection: sqlite3.Connection) -> None:
    """Make the tables where there are none; an index of another version counts as damaged."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    if version == _VERSION:
        return
    if connection.execute("SELECT count(*) FROM sqlite_master").fetchone() != (0,):
        raise sqlite3.DatabaseError("another version")
    connection.executescript(f"{_TABLES}PRAGMA user_version = {_VERSION};")


def _connected(file: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(file, timeout=30)
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA cell_size_check = ON")  # notice torn pages when they are met
    return connection
