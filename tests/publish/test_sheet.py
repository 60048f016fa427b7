"""The sheet, read back by Python's csv module (RFC 4180)."""

from __future__ import annotations

import csv
import io

from hypothesis import given
from hypothesis import strategies as st

from segmenter.lesson import Lesson
from segmenter.publish.rows import EFFORT_HEADINGS, EXERCISE_HEADINGS, exercise_rows
from segmenter.publish.sheet import sheet_csv
from segmenter.publish.wording import dose_text
from tests.lessons import AWKWARD, rich_lesson, titled


def table(lesson: Lesson) -> list[list[str]]:
    return list(csv.reader(io.StringIO(sheet_csv(lesson).decode("utf-8-sig"), newline="")))


def test_asked_stands_beside_shown() -> None:
    row, quiz = exercise_rows(rich_lesson())
    assert row.asked_class == "5 times, hold 10 seconds"
    assert row.asked_home == "10 times, each side, 2 to 3 times a day"
    assert row.shown == "2 times, 2 holds of 8.0 seconds"
    assert row.difference == "3 fewer than asked, holds 2 seconds shorter than asked"
    assert row.practice_s == "70"
    assert (quiz.asked_class, quiz.shown, quiz.difference) == ("", "", "")


def test_the_sheet_holds_two_tables() -> None:
    rows = table(rich_lesson())
    gap = rows.index([])
    assert tuple(rows[0]) == EXERCISE_HEADINGS
    assert gap == 3
    assert tuple(rows[gap + 1]) == EFFORT_HEADINGS
    assert [row[4] for row in rows[gap + 2 :]] == ["hold", "hold", "count"]
    assert rows[-1][10:] == ["1 2 3 5", "4", "1.00"]
    assert sheet_csv(rich_lesson()).startswith(b"\xef\xbb\xbf")


@given(st.lists(st.text(max_size=30), min_size=1, max_size=4) | st.just(list(AWKWARD)))
def test_no_cell_can_run_as_a_formula(texts: list[str]) -> None:
    # OWASP ASVS 1.2.10: = + - @ tab and NUL (and carriage return) at the start of a cell.
    cells = [cell for row in table(titled(texts)) for cell in row]
    assert not [cell for cell in cells if cell[:1] in {*"=+-@", "\t", "\r", "\0"} and cell]


def test_what_was_not_said_is_not_in_the_dose() -> None:
    (asked, home) = rich_lesson().chapters[1].asked
    assert dose_text(asked.model_copy(update={"reps": None, "hold_s": None})) == ""
    assert dose_text(home.model_copy(update={"reps": (8, None)})).startswith("at least 8 times")
