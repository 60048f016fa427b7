"""What is taken from which lesson, and where it comes to lie."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Final

from segmenter.errors import FolderError, SettingError
from segmenter.intervals import Interval
from segmenter.lesson import Chapter, Lesson, lesson_from_json
from segmenter.library.dates import date_of
from segmenter.publish.chapters import chapter_title, one_line
from segmenter.publish.follow.time_map import TimeMap, laid_out
from segmenter.publish.viewers import for_viewers

WHOLE_MS: Final = Fraction(1000)
"""Without a picture, pieces are cut at whole milliseconds."""


@dataclass(frozen=True)
class Source:
    """A lesson to take from: its folder, the lesson as viewers get it, and how it is named in credits."""

    folder: Path
    lesson: Lesson
    credit: str


@dataclass(frozen=True)
class Piece:
    """One chapter of a source: its frames `first` up to `last` lie in the new lesson from frame `at` on.

    `map` tells where each moment of the source stands in the new lesson.
    """

    source: Source
    chapter: Chapter
    first: int
    last: int
    at: int
    map: TimeMap

    @property
    def span(self) -> Interval:
        """Where it lies in the new lesson; pieces touch."""
        return self.map.ms(self.at), self.map.ms(self.at + self.last - self.first)

    @property
    def later_ms(self) -> int:
        """How much later everything in it comes than in its source; negative when earlier."""
        return self.span[0] - self.map.ms(self.first)


def take(folder: Path, wanted: str = "") -> tuple[Source, list[Chapter]]:
    """Read a lesson, and choose chapters of it.

    Parameters
    ----------
    folder : Path
        A finished lesson folder. The person's edits count: it is the lesson that is read, not the draft.
    wanted : str
        Numbers of chapters in the order wanted, such as ``5,2``, as the list of chapters counts them; nothing takes
        all exercises.

    Raises
    ------
    FolderError, LessonError
        If there is no lesson, or it cannot be read.
    SettingError
        If a number stands for no chapter, or for one that is hidden from viewers.
    """
    file = folder / "lesson.json"
    if not file.is_file():
        raise FolderError("this is no finished lesson folder", folder, "Name a folder that segmenter build made")
    lesson = lesson_from_json(file.read_bytes(), str(file))
    day, _ = date_of(lesson, folder.name, file.stat().st_mtime)
    source = Source(folder, for_viewers(lesson), f"“{one_line(lesson.title)}”, {day}")
    if not wanted.strip():
        chosen = [chapter for chapter in lesson.exercises() if not chapter.hidden]
        if not chosen:
            raise SettingError("there are no exercises in this lesson", folder, "Name chapters by their numbers")
        return source, chosen
    return source, [_numbered(lesson, number, folder) for number in re.split(r"[,\s]+", wanted.strip())]


def _numbered(lesson: Lesson, number: str, folder: Path) -> Chapter:
    if not number.isdecimal() or not 1 <= int(number) <= len(lesson.chapters):
        raise SettingError(
            f"“{number}” is no chapter of this lesson",
            folder,
            f"Its chapters have the numbers 1 to {len(lesson.chapters)}",
        )
    chapter = lesson.chapters[int(number) - 1]
    if chapter.hidden:
        raise SettingError(
            f"chapter {number}, “{chapter_title(chapter)}”, is hidden from viewers",
            folder,
            "Show it at the desk first",
        )
    return chapter


def lay_out(chosen: Sequence[tuple[Source, Sequence[Chapter]]], rate: Fraction = WHOLE_MS) -> tuple[Piece, ...]:
    """Lay chapters end to end at `rate` frames a second; ones shorter than a frame fall out."""
    pieces: list[Piece] = []
    at = 0
    for source, chapters in chosen:
        for chapter in chapters:
            first, last = (round(ms * rate / 1000) for ms in chapter.span)
            if last > first:
                where = laid_out(rate, [(None, at), (first, last - first)])
                pieces.append(Piece(source, chapter, first, last, at, where))
                at += last - first
    return tuple(pieces)
