"""The workbook, read back by openpyxl, which shares no code with the library that wrote it."""

from __future__ import annotations

import csv
import html
import io
import re
import shutil
import subprocess
import zipfile
from datetime import time, timedelta
from pathlib import Path
from typing import Any, cast

import numpy as np
import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.utils import get_column_letter
from openpyxl.workbook import Workbook

from segmenter.heard import Curve
from segmenter.lesson import Lesson
from segmenter.publish.hold_traces import hold_traces
from segmenter.publish.sheet_book import DAY_MS, sheet_xlsx, tables
from tests.lessons import AWKWARD, rich_lesson, titled


def opened(lesson: Lesson) -> Workbook:
    return openpyxl.load_workbook(io.BytesIO(sheet_xlsx(lesson)))


def _plain(value: object) -> object:
    if isinstance(value, timedelta):
        return round(value.total_seconds() * 1000) / DAY_MS
    if isinstance(value, time):
        return (
            value.hour * 3600 + value.minute * 60 + value.second
        ) * 1000 / DAY_MS + value.microsecond / 1e3 / DAY_MS
    return value


def test_every_value_reads_back() -> None:
    book = opened(rich_lesson())
    assert book.sheetnames == ["Exercises", "Holds and counts", "Checks", "Asked and shown"]
    for table in tables(rich_lesson()):
        rows = list(book[table.name].iter_rows(values_only=True))
        assert list(rows[0]) == [column.heading for column in table.columns]
        for wanted, row in zip(table.rows, rows[1:], strict=False):
            for one, other in zip(wanted, row, strict=True):
                if isinstance(one, float):
                    found = _plain(other)
                    assert isinstance(found, int | float)
                    assert abs(found - one) < 1e-9
                else:
                    assert other == (one or None)


def test_cells_are_typed_and_times_can_be_added() -> None:
    sheet = opened(rich_lesson())["Exercises"]
    head = {cell.value: get_column_letter(cell.column or 0) for cell in sheet[1]}
    assert sheet[f"{head['Starts']}2"].value == timedelta(seconds=10)
    assert sheet[f"{head['Practice time']}2"].value == timedelta(seconds=70)
    assert sheet[f"{head['Times asked, most']}2"].value == 5
    assert sheet[f"{head['Longest hold shown (seconds)']}2"].data_type == "n"
    assert (
        sheet[f"{head['Practice time']}5"].value
        == f"=SUBTOTAL(109,{head['Practice time']}2:{head['Practice time']}3)"
    )
    cached = openpyxl.load_workbook(io.BytesIO(sheet_xlsx(rich_lesson())), data_only=True)["Exercises"]
    assert cached[f"{head['Practice time']}5"].value == timedelta(seconds=70)


def test_headings_stay_and_filter() -> None:
    for table in tables(rich_lesson()):
        sheet = opened(rich_lesson())[table.name]
        assert sheet.freeze_panes == "A2"
        assert sheet.auto_filter.ref == f"A1:{chr(64 + len(table.columns))}{len(table.rows) + 1}"
        assert sheet.column_dimensions["A"].width >= 9


def test_the_chart_shows_asked_against_shown() -> None:
    with zipfile.ZipFile(io.BytesIO(sheet_xlsx(rich_lesson()))) as parts:
        chart = parts.read("xl/charts/chart1.xml").decode()
        assert "asked in class" in chart
        assert "Exercises!$J$2:$J$3" in chart
        assert "descr=" in parts.read("xl/drawings/drawing1.xml").decode()
    assert "Asked and shown" not in opened(titled(["Hum"])).sheetnames


@settings(max_examples=20)
@given(st.lists(st.text(max_size=30), min_size=1, max_size=4) | st.just(list(AWKWARD)))
def test_no_spoken_word_becomes_a_formula(texts: list[str]) -> None:
    sheet = opened(titled(texts))["Exercises"]
    formulas = [cell.value for row in sheet.iter_rows() for cell in row if cell.data_type == "f"]
    assert all(str(text).startswith("=SUBTOTAL(109,") for text in formulas)
    assert len(formulas) == 2
    for row in sheet.iter_rows(min_row=2, max_row=len(texts) + 1):
        for cell in row:
            if isinstance(cell.value, str) and cell.value[:1] in {*"=+-@"}:
                assert cell.quotePrefix


def test_the_same_lesson_gives_the_same_file() -> None:
    assert sheet_xlsx(rich_lesson()) == sheet_xlsx(rich_lesson())


CURVE = Curve.packed(50, -25.0, np.full(1_600, 196.0, np.float32), np.full(1_600, -22.0, np.float32))


def test_each_hold_is_drawn_in_its_row_and_told_in_words() -> None:
    lesson = rich_lesson()
    traces = hold_traces(lesson, CURVE)
    book = openpyxl.load_workbook(io.BytesIO(sheet_xlsx(lesson, traces)))
    sheet, (_, holds, _) = book["Holds and counts"], tables(lesson)
    images = cast(Any, sheet)._images
    column = holds.column("Pitch and level, drawn")
    lines = [n for n, row in enumerate(holds.rows, 1) if row[holds.column("What")] == "hold"]
    assert [(at.anchor._from.row, at.anchor._from.col) for at in images] == [(n, column) for n in lines]
    with zipfile.ZipFile(io.BytesIO(sheet_xlsx(lesson, traces))) as file:
        drawings = b"".join(file.read(name) for name in file.namelist() if "drawings/drawing" in name).decode()
    told = set(re.findall(r'descr="([^"]+)"', drawings))
    assert {html.escape(trace.words, quote=False) for trace in traces.values()} <= told
    assert any(words.startswith("Timeline: 0:00 Hello") for words in told)


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not on this machine")
def test_libreoffice_reads_the_same_and_adds_times_up(tmp_path: Path) -> None:
    lesson = titled(["=1+1", "Steady ah", "@SUM(A1)"])
    source = tmp_path / "sheet.xlsx"
    with zipfile.ZipFile(io.BytesIO(sheet_xlsx(lesson))) as old, zipfile.ZipFile(source, "w") as new:
        for name in old.namelist():
            # Without the results that were written with them, the sums are LibreOffice's own.
            new.writestr(name, re.sub(rb"</f><v>[^<]*</v>", b"</f>", old.read(name)))
    # Commas, UTF-8, English (1033), each cell as it is shown (LibreOffice help, "Filter Options for CSV").
    form = "csv:Text - txt - csv (StarCalc):44,34,76,1,,1033,false,true"
    # A home of its own: it neither finds nor leaves anything, and runs beside another one.
    home = f"-env:UserInstallation={(tmp_path / 'home').as_uri()}"
    command = ["soffice", home, "--headless", "--convert-to", form, "--outdir", str(tmp_path), str(source)]
    subprocess.run(command, check=True, capture_output=True, timeout=600)
    (made,) = tmp_path.glob("*.csv")
    with made.open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))
    assert rows[0] == [column.heading for column in tables(lesson)[0].columns]
    assert [row[3] for row in rows[1:4]] == ["=1+1", "Steady ah", "@SUM(A1)"]
    assert [row[:3] for row in rows[1:4]] == [
        ["0:00:00", "0:00:12", "0:00:12"],
        ["0:00:12", "0:00:24", "0:00:12"],
        ["0:00:24", "0:00:36", "0:00:12"],
    ]
    assert rows[5][2:4] == ["0:00:36", "Together"]
