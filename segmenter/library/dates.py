"""When a class was held, as well as its lesson tells."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import PurePath
from typing import Literal

from segmenter.errors import SettingError
from segmenter.lesson import Lesson

DatedBy = Literal["name", "recording", "file"]
_DATE = re.compile(r"(?<!\d)(20\d\d)([-_.]?)(0[1-9]|1[0-2])\2(0[1-9]|[12]\d|3[01])(?!\d)")


def date_in(name: str) -> str | None:
    """Return the first date written into a name, year first, as ISO 8601.

    >>> date_in("class 2026-03-04"), date_in("VID_20260304_101500.mp4"), date_in("room 12345678")
    ('2026-03-04', '2026-03-04', None)
    """
    for year, _, month, day in _DATE.findall(name):
        try:
            return dt.date(int(year), int(month), int(day)).isoformat()
        except ValueError:
            continue
    return None


def date_of(lesson: Lesson, folder_name: str, written_s: float) -> tuple[str, DatedBy]:
    """Return the date of a class (ISO 8601), and where it was read.

    A date in the name of the recording or of the lesson folder or in the title is what a person wrote, and counts
    first; then what the camera wrote into the recording; then when the lesson was made.

    Parameters
    ----------
    lesson : Lesson
        The lesson.
    folder_name : str
        Name of its folder.
    written_s : float
        When the lesson file was written, in seconds since 1970.
    """
    names = (PurePath(lesson.recording.path or "").name, folder_name, lesson.title)
    written = next((date for name in names if (date := date_in(name))), None)
    if written is not None:
        return written, "name"
    if lesson.recording.recorded is not None:
        return lesson.recording.recorded, "recording"
    return dt.datetime.fromtimestamp(written_s, tz=dt.UTC).date().isoformat(), "file"


def day_of(text: str) -> str:
    """Return a date that a person typed, year first, as ISO 8601.

    Raises
    ------
    SettingError
        If it is none.
    """
    try:
        return dt.date.fromisoformat(text.strip()).isoformat()
    except ValueError as error:
        raise SettingError(f"“{text}” is no date", None, "Write it like 2026-03-01") from error
