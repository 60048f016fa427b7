"""Coverage as files: a page, a picture and a table for spreadsheets."""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from matplotlib.figure import Figure

from segmenter.files import folder_error, write_whole
from segmenter.library.coverage import Coverage, rows_of
from segmenter.publish.drawing import INK, LINE, look, svg
from segmenter.publish.sheet import safe_cell
from segmenter.publish.templating import render_page
from segmenter.times import counted

PAGE, TABLE, PICTURE = "coverage.html", "coverage.csv", "coverage.svg"
_MONTHS_SHOWN: Final = 24
"""Months in the picture, the last ones; the tables have all."""


def write_coverage(made: Coverage, folder: Path) -> list[Path]:
    """Write the page, the picture and the table into `folder`; return their paths.

    Raises
    ------
    FolderError
        If it cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise folder_error(error, folder) from error
    picture = coverage_svg(made)
    contents: dict[str, str | bytes] = {
        PAGE: coverage_html(made, picture),
        TABLE: coverage_csv(made),
        PICTURE: picture,
    }
    for name, data in contents.items():
        write_whole(folder / name, data)
    return [folder / name for name in contents]


def coverage_csv(made: Coverage) -> bytes:
    """Return every exercise of every class as CSV (RFC 4180), with cells that no spreadsheet runs."""
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerows([safe_cell(cell) for cell in row] for row in rows_of(made))
    return out.getvalue().encode("utf-8-sig")


def coverage_html(made: Coverage, picture: str) -> str:
    """Return the page."""
    return render_page(
        "coverage.html.j2",
        "What was covered",
        "en",
        "Library",
        made=made,
        months=made.months,
        families=_table(made.by_month("family"), made.months),
        exercises=_table(made.by_month("exercise"), made.months),
        doses=made.doses(),
        picture=picture.replace("<svg ", '<svg class="picture" ', 1),
    )


def coverage_svg(made: Coverage) -> str:
    """Return families by month as SVG: the larger the square, the more classes; the number stands inside."""
    table, months = made.by_month("family"), made.months[-_MONTHS_SHOWN:]
    words = {f"family-{row}": _said(name, cells) for row, (name, cells) in enumerate(table.items())}
    most = max((cell["classes"] for cells in table.values() for cell in cells.values()), default=1)
    with look():
        figure = Figure(
            figsize=(3.2 + 0.62 * max(4, len(months)), 1.3 + 0.62 * max(1, len(table))), layout="constrained"
        )
        axes = figure.add_subplot()
        for row, cells in enumerate(table.values()):
            for column, month in enumerate(months):
                classes = cells.get(month, Counter())["classes"]
                if classes:
                    points = 17 + 17 * (classes / most) ** 0.5
                    axes.plot(column, row, "s", ms=points, mfc="#e6e1d6", mec=INK, gid=f"family-{row}")
                    axes.text(column, row, str(classes), ha="center", va="center_baseline", weight="bold")
                else:
                    axes.plot(column, row, ".", ms=3, color=LINE)
        axes.set_xlim(-0.6, max(4, len(months)) - 0.4)
        axes.set_ylim(len(table) - 0.4, -0.6)
        axes.set_xticks(range(len(months)), months, rotation=60, ha="right", rotation_mode="anchor")
        axes.set_yticks(range(len(table)), list(table))
        axes.tick_params(length=0)
        axes.spines[["left", "bottom"]].set_visible(False)
        return svg(figure, "Classes with each family of exercises, by month", " ".join(words.values()), words)


def _said(name: str, cells: Mapping[str, Counter[str]]) -> str:
    told = ", ".join(f"{counted_classes(cell['classes'])} in {month}" for month, cell in sorted(cells.items()))
    return f"{name}: {told}."


def counted_classes(number: int) -> str:
    """Return a number with its noun.

    >>> counted_classes(1), counted_classes(3)
    ('1 class', '3 classes')
    """
    return counted(number, "class") if number == 1 else f"{number} classes"


def _table(table: Mapping[str, Mapping[str, Counter[str]]], months: tuple[str, ...]) -> list[dict[str, Any]]:
    return [
        {
            "name": name,
            "cells": [_cell(cells[month]) if month in cells else "" for month in months],
            "all": _cell(sum(cells.values(), Counter[str]())),
        }
        for name, cells in table.items()
    ]


def _cell(cell: Counter[str]) -> str:
    practice = f", {cell['practice'] / 60:.0f} min practice" if cell["practice"] >= 30 else ""
    minutes = cell["seconds"] / 60
    return f"{cell['classes']}×, {minutes:.{int(minutes < 10)}f} min{practice}"
