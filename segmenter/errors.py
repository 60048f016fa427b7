"""Every error the project raises on purpose.

::

    SegmenterError
    ├── MediaError        a recording cannot be read, or not enough of it
    ├── TranscriptError   captions or a timed transcript cannot be read
    ├── CatalogueError    a catalogue or pattern file has faults
    ├── PlanError         the plan of a class has faults
    ├── ModelError        speech weights are missing or damaged
    ├── ProgramError      ffmpeg failed
    ├── SettingError      a choice cannot be followed
    ├── FolderError       the output folder cannot be used
    └── LessonError       a lesson file cannot be read

Each says what was wrong, where, and what to do next. All survive pickling, so
that a worker process can hand them back.
"""

from __future__ import annotations

from pathlib import Path


class SegmenterError(Exception):
    """Root of all errors raised on purpose.

    Parameters
    ----------
    problem : str
        What was wrong, one sentence without a full stop.
    where : str or Path or None
        The file, line or time concerned.
    advice : str or None
        What to do next, one sentence.
    """

    def __init__(self, problem: str, where: str | Path | None = None, advice: str | None = None) -> None:
        super().__init__(problem, where, advice)
        self.problem = problem
        self.where = where
        self.advice = advice

    def __str__(self) -> str:
        text = self.problem if self.where is None else f"{self.where}: {self.problem}"
        return text if self.advice is None else f"{text}. {self.advice}"


class MediaError(SegmenterError):
    """A recording cannot be read, or not enough of it."""


class TranscriptError(SegmenterError):
    """Captions or a timed transcript cannot be read."""


class CatalogueError(SegmenterError):
    """A catalogue or pattern file has faults; `problem` lists all of them."""


class PlanError(SegmenterError):
    """The plan of a class has faults; `problem` lists all of them."""


class ModelError(SegmenterError):
    """Speech weights are missing or damaged."""


class ProgramError(SegmenterError):
    """An outside program failed."""


class SettingError(SegmenterError):
    """A choice, such as an address, cannot be followed."""


class FolderError(SegmenterError):
    """The output folder cannot be used."""


class LessonError(SegmenterError):
    """A lesson file cannot be read."""
