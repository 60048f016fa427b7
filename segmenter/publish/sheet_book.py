"""The rep-timing sheet as a workbook: exercises, every hold and count, the checks, and a chart."""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from textwrap import wrap
from typing import Any, Literal

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.worksheet import Worksheet

from segmenter.lesson import Ask, Chapter, Hold, Lesson
from segmenter.publish.chapters import chapter_title, one_line
from segmenter.publish.hold_traces import Traces
from segmenter.publish.rows import (
    COUNT_KINDS,
    HOLD_HOW,
    asked_text,
    difference_text,
    efforts,
    family_name,
    hold_target,
    sides_text,
)
from segmenter.publish.sheet import FORMULA
from segmenter.publish.timeline_picture import timeline_png
from segmenter.publish.wording import LEVELS, side_text
from segmenter.times import seconds

DAY_MS = 86_400_000
"""A time cell counts in days, so that times can be added up (ECMA-376 part 1, 18.17.4.1)."""
LONGEST_CELL = 32_767
"""Characters a cell holds (Excel specifications and limits); more makes the file unreadable."""
FONT = "Atkinson Hyperlegible"
TRACE_POINTS = 120
"""Height of a row with a picture."""
LINE_POINTS = 17
"""Height of a line of text of 12 points."""
WORDS = {"text_wrap": True, "align": "left", "indent": 1}
"""How words stand in a cell: not touching the number before them."""

Form = Literal["text", "time", "whole", "tenth"]
Cell = str | float | None


@dataclass(frozen=True)
class Column:
    """A column: heading, width in characters, and how its cells are shown."""

    heading: str
    width: int
    form: Form = "text"


@dataclass(frozen=True)
class Table:
    """A sheet of the workbook. Cells are text, numbers, or None where unknown; times are in days."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]

    def column(self, heading: str) -> int:
        """Number of a column."""
        return [column.heading for column in self.columns].index(heading)


EXERCISES = (
    Column("Starts", 9, "time"),
    Column("Ends", 9, "time"),
    Column("Lasts", 9, "time"),
    Column("Exercise", 34),
    Column("Family", 18),
    Column("Asked in class", 34),
    Column("Asked for home", 34),
    Column("Times asked, least", 10, "whole"),
    Column("Times asked, most", 10, "whole"),
    Column("Times shown", 10, "whole"),
    Column("Hold asked, least (seconds)", 12, "tenth"),
    Column("Hold asked, most (seconds)", 12, "tenth"),
    Column("Longest hold shown (seconds)", 12, "tenth"),
    Column("Difference", 34),
    Column("Side", 14),
    Column("Practice time", 11, "time"),
)
EFFORTS = (
    Column("Starts", 9, "time"),
    Column("Ends", 9, "time"),
    Column("Exercise", 34),
    Column("What", 9),
    Column("How", 18),
    Column("Length (seconds)", 11, "tenth"),
    Column("Asked, least (seconds)", 11, "tenth"),
    Column("Asked, most (seconds)", 11, "tenth"),
    Column("Pitch (Hz)", 9, "tenth"),
    Column("Pitch spread (semitones)", 12, "tenth"),
    Column("Glide from (Hz)", 9, "tenth"),
    Column("Glide to (Hz)", 9, "tenth"),
    Column("Level (dB)", 9, "tenth"),
    Column("Side", 14),
    Column("Numbers", 30),
    Column("Left out", 14),
    Column("Beat (seconds)", 10, "tenth"),
    Column("Pitch and level, drawn", 46),
)
CHECKS = (Column("Importance", 26), Column("Starts", 9, "time"), Column("Ends", 9, "time"), Column("What", 100))


def tables(lesson: Lesson) -> tuple[Table, Table, Table]:
    """Return exercises, holds and counts, and checks, as typed cells."""
    order = list(LEVELS)
    checks = sorted(lesson.checks, key=lambda c: (order.index(c.level), c.start_ms or 0))
    return (
        Table("Exercises", EXERCISES, tuple(_exercise(chapter) for chapter in lesson.exercises())),
        Table("Holds and counts", EFFORTS, tuple(_effort(part, chapter) for part, chapter in efforts(lesson))),
        Table(
            "Checks",
            CHECKS,
            tuple((LEVELS[c.level], _days(c.start_ms), _days(c.end_ms), one_line(c.message)) for c in checks),
        ),
    )


def sheet_xlsx(lesson: Lesson, traces: Traces | None = None) -> bytes:
    """Return the workbook: typed cells, frozen headings, filters, a sum of times, a chart, and pictures.

    Words are only ever written as strings, and what looks like a formula is marked as text besides, so that
    it stays text when a person edits the cell (OWASP ASVS 1.2.10). The same lesson gives the same bytes.
    """
    out = io.BytesIO()
    quiet = {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with xlsxwriter.Workbook(out, quiet) as book:
        # No date and no name: who built the sheet, and when, is nobody's business.
        book.set_properties({"title": one_line(lesson.title), "created": datetime(2000, 1, 1)})
        made = tables(lesson)
        for table in made:
            _write(book, table)
        _pictures(book, made, lesson, traces or {})
        _chart(book, made[0])
    return out.getvalue()


def _exercise(chapter: Chapter) -> tuple[Cell, ...]:
    ask = _only_class_ask(chapter)
    reps = ask.reps if ask and ask.reps else (None, None)
    hold = ask.hold_s if ask and ask.hold_s else (None, None)
    known = [p.seconds for p in chapter.practice if p.seconds is not None]
    return (
        _days(chapter.start_ms),
        _days(chapter.end_ms),
        _days(chapter.end_ms - chapter.start_ms),
        chapter_title(chapter),
        family_name(chapter),
        asked_text(chapter, "class"),
        asked_text(chapter, "home"),
        *reps,
        chapter.shown.reps,
        *hold,
        max((h.seconds for h in chapter.shown.holds), default=None),
        difference_text(chapter),
        sides_text(chapter),
        _days(round(sum(known) * 1000)) if known else None,
    )


def _only_class_ask(chapter: Chapter) -> Ask | None:
    asks = [ask for ask in chapter.asked if ask.where == "class"]
    # Of several it cannot be known which was shown: their words stand in the text column.
    return asks[0] if len(asks) == 1 else None


def _effort(part: Any, chapter: Chapter) -> tuple[Cell, ...]:
    when = (_days(part.start_ms), _days(part.end_ms), chapter_title(chapter))
    if isinstance(part, Hold):
        glide = part.glide_hz or (None, None)
        target = hold_target(chapter)
        asked = target.seconds if target else (None, None)
        measured = (part.seconds, *asked, part.pitch_hz, part.pitch_spread_st, *glide, part.level_db)
        return (*when, "hold", HOLD_HOW[part.how], *measured, side_text(part.side), "", "", None, None)
    numbers, missing = (" ".join(map(str, values)) for values in (part.numbers, part.missing))
    length = seconds(part.end_ms - part.start_ms)
    return (*when, "count", COUNT_KINDS[part.kind], length, *[None] * 7, "", numbers, missing, part.beat_s, None)


def _days(ms: int | None) -> float | None:
    return None if ms is None else ms / DAY_MS


def _forms(book: Any) -> dict[Form, Format]:
    shown = {"text": "@", "time": "[h]:mm:ss", "whole": "0", "tenth": "0.0"}
    common = {"font_name": FONT, "font_size": 12, "valign": "top"}
    return {
        form: book.add_format({**common, "num_format": look, **(WORDS if form == "text" else {})})  # type: ignore[misc]
        for form, look in shown.items()
    }


def _write(book: Any, table: Table) -> None:
    sheet: Worksheet = book.add_worksheet(table.name)
    head = book.add_format(
        {"font_name": FONT, "font_size": 12, "bold": True, "text_wrap": True, "valign": "bottom", "bottom": 2}
    )
    forms = _forms(book)
    guarded = book.add_format({"font_name": FONT, "font_size": 12, "valign": "top", **WORDS})
    guarded.set_quote_prefix()
    for at, column in enumerate(table.columns):
        sheet.set_column(at, at, column.width)
        sheet.write_string(0, at, column.heading, head)
    sheet.set_row(0, _height(table, [column.heading for column in table.columns]))
    for line, row in enumerate(table.rows, 1):
        sheet.set_row(line, _height(table, row))
        for at, (cell, column) in enumerate(zip(row, table.columns, strict=True)):
            if isinstance(cell, str):
                if cell:
                    form = guarded if cell.startswith(FORMULA) else forms["text"]
                    sheet.write_string(line, at, _fitting(cell), form)
            elif cell is not None:
                sheet.write_number(line, at, cell, forms[column.form])
    sheet.freeze_panes(1, 0)
    sheet.autofilter(0, 0, max(1, len(table.rows)), len(table.columns) - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)
    _sums(book, sheet, table)


def _height(table: Table, row: Sequence[Cell]) -> int:
    """Points that the longest cell of a row needs: not every program reckons that itself."""
    # A column is as wide as so many digits of 11 points; letters of 12 points, and bold ones, need more.
    rooms = (max(4, round(column.width / 1.2) - 1) for column in table.columns)
    lines = [len(wrap(cell, room)) for cell, room in zip(row, rooms, strict=True) if isinstance(cell, str)]
    return min(409, LINE_POINTS * max([1, *lines]))  # the most that a row can have


def _fitting(text: str) -> str:
    return text if len(text) <= LONGEST_CELL else text[: LONGEST_CELL - 1] + "…"


def _sums(book: Any, sheet: Worksheet, table: Table) -> None:
    """Under the exercises, how long they last and how long practice takes; hidden rows are left out."""
    if table.name != "Exercises" or not table.rows:
        return
    bold = {"font_name": FONT, "font_size": 12, "bold": True, "top": 1}
    # Nothing known adds up to nothing, and is not shown as no time at all.
    words, times = book.add_format(bold), book.add_format({**bold, "num_format": "[h]:mm:ss;;"})
    line = len(table.rows) + 2
    sheet.write_string(line, table.column("Exercise"), "Together", words)
    for heading in ("Lasts", "Practice time"):
        at = table.column(heading)
        total = sum(row[at] for row in table.rows if isinstance(row[at], float))  # type: ignore[misc]
        letter = chr(ord("A") + at)
        sheet.write_formula(line, at, f"=SUBTOTAL(109,{letter}2:{letter}{len(table.rows) + 1})", times, total)


def _pictures(book: Any, made: Sequence[Table], lesson: Lesson, traces: Traces) -> None:
    """Each hold drawn in its row, and the whole class under the exercises."""
    exercises, holds, _ = made
    sheet: Worksheet = book.get_worksheet_by_name(holds.name)
    at = holds.column("Pitch and level, drawn")
    for line, (part, chapter) in enumerate(efforts(lesson), 1):
        trace = traces.get((chapter.id, part.start_ms)) if isinstance(part, Hold) else None
        if trace is not None:
            sheet.set_row(line, max(TRACE_POINTS, _height(holds, holds.rows[line - 1])))
            # It moves and shrinks with its row, so that one that is filtered out takes it along. A picture
            # inside the cell is not known to other spreadsheet programs yet.
            look = {"image_data": io.BytesIO(trace.png), "description": trace.words, "object_position": 1}
            sheet.insert_image(line, at, trace.name, {**look, "x_scale": 0.72, "y_scale": 0.72, "x_offset": 4})
    if lesson.chapters:
        picture, words = timeline_png(lesson)
        sheet = book.get_worksheet_by_name(exercises.name)
        look = {"image_data": io.BytesIO(picture), "description": words, "x_scale": 0.7, "y_scale": 0.7}
        sheet.insert_image(len(exercises.rows) + 4, 0, "timeline.png", look)


def _chart(book: Any, table: Table) -> None:
    pairs = (
        ("How many times", "Times asked, least", "Times shown"),
        ("How many seconds held", "Hold asked, least (seconds)", "Longest hold shown (seconds)"),
    )
    drawn: list[Sequence[str]] = [pair for pair in pairs if _any_number(table, pair[1:])]
    if not drawn:
        return
    sheet: Worksheet = book.add_worksheet("Asked and shown")
    sheet.fit_to_pages(1, 0)
    for number, (title, asked, shown) in enumerate(drawn):
        chart = book.add_chart({"type": "bar"})
        for name, heading, fill in (("asked in class", asked, "#FFFFFF"), ("shown", shown, "#1D1B18")):
            at, last, titles = table.column(heading), len(table.rows), table.column("Exercise")
            chart.add_series(
                {
                    "name": name,
                    "categories": [table.name, 1, titles, last, titles],
                    "values": [table.name, 1, at, last, at],
                    "fill": {"color": fill},
                    "border": {"color": "#1D1B18"},
                    "data_labels": {"value": True, "num_format": "0.#;;"},
                }
            )
        chart.set_title({"name": title, "name_font": {"size": 14}})
        chart.set_y_axis({"reverse": True, "num_font": {"size": 11}})
        chart.set_x_axis({"min": 0, "major_gridlines": {"visible": False}, "visible": False})
        chart.set_legend({"position": "bottom", "font": {"size": 11}})
        chart.set_size({"width": 720, "height": 160 + 44 * len(table.rows)})
        words = (
            f"{title}: what was asked in class beside what was shown, an exercise a line. Same numbers: Exercises."
        )
        sheet.insert_chart(number * (12 + 3 * len(table.rows)), 0, chart, {"description": words})


def _any_number(table: Table, headings: Sequence[str]) -> bool:
    return any(row[table.column(heading)] is not None for row in table.rows for heading in headings)
