"""The rep-timing sheet as CSV: exercises first, then every hold and count."""

from __future__ import annotations

import csv
import io

from segmenter.lesson import Lesson
from segmenter.publish.rows import EFFORT_HEADINGS, EXERCISE_HEADINGS, effort_rows, exercise_rows

FORMULA = ("=", "+", "-", "@", "\t", "\r", "\0", "＝", "＋", "－", "＠")
"""What a spreadsheet may take for the start of a formula."""


def safe_cell(text: str) -> str:
    """Return `text` so that a spreadsheet shows it and never runs it (OWASP ASVS 1.2.10).

    >>> safe_cell("=1+1"), safe_cell("5 times")
    ("'=1+1", '5 times')
    """
    return f"'{text}" if text.startswith(FORMULA) else text


def sheet_csv(lesson: Lesson) -> bytes:
    """Return two tables, an empty row between them, as CSV (RFC 4180: CRLF, quotes doubled).

    UTF-8 with a byte order mark: without it spreadsheets on Windows read the text in an
    old code page and break every accent (common practice, no source).
    """
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\r\n")
    exercises = [row.cells() for row in exercise_rows(lesson)]
    for row in (EXERCISE_HEADINGS, *exercises, (), EFFORT_HEADINGS, *effort_rows(lesson)):
        writer.writerow([safe_cell(cell) for cell in row])
    return out.getvalue().encode("utf-8-sig")
