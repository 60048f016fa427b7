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


@contextlib.contextmanager
def opened(folder: Path) -> Iterator[sqlite3.Connection]:
    """Open the index of a folder of lessons; what is changed inside is kept together, or not at all.

    Raises
    ------
    FolderError
        If there is no such folder, or the index can neither be read nor made anew.
    """
    if not folder.is_dir():
        raise FolderError("there is no such folder", folder, "Name the folder in which your lessons lie")
    file = index_file(folder)
    try:
        connection = _usable(file)
        try:
            with connection:
                yield connection
        finally:
            connection.close()
    except sqlite3.Error as error:
        raise FolderError(
            f"the index of this library cannot be used ({error})", file, "Delete that file; it is made anew"
        ) from error


def _usable(file: Path) -> sqlite3.Connection:
    """Connect; an index that is damaged, or of another version, is replaced by an empty one."""
    connection = _connected(file)
    try:
        (version,) = connection.execute("PRAGMA user_version").fetchone()
        if version == _VERSION and connection.execute("PRAGMA quick_check(1)").fetchone() == ("ok",):
            return connection
    except sqlite3.DatabaseError as error:
        if isinstance(error, sqlite3.OperationalError):  # in use by another program, or out of reach
            connection.close()
            raise
    connection.close()
    for part in ("", "-journal", "-wal", "-shm"):
        file.with_name(file.name + part).unlink(missing_ok=True)
    connection = _connected(file)
    connection.executescript(f"{_TABLES}PRAGMA user_version = {_VERSION};")
    return connection


def _connected(file: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(file, timeout=30)
    connection.execute("PRAGMA foreign_keys = ON")
    return connection
