"""Put a measured table between its two marks in README.md."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from segmenter.files import write_whole


def put(readme: Path, name: str, table: str) -> None:
    """Replace what stands between ``<!-- NAME -->`` and ``<!-- /NAME -->``.

    Raises
    ------
    ValueError
        If the marks are not there.
    """
    text = readme.read_text(encoding="utf-8")
    begin, end = f"<!-- {name} -->", f"<!-- /{name} -->"
    first, last = text.index(begin) + len(begin), text.index(end)
    write_whole(readme, f"{text[:first]}\n{table}\n{text[last:]}")


def show(name: str, heading: str, rows: Sequence[tuple[str, str]], *, write: bool) -> None:
    """Print a table of two columns, and put it between the marks of the project's README if `write` says so."""
    table = "\n".join(
        [f"| {heading} | result |", "| --- | --- |", *(f"| {what} | {result} |" for what, result in rows)]
    )
    print(table)
    if write:
        put(Path(__file__).parents[2] / "README.md", name, table)
