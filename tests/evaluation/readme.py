"""Put a measured table between its two marks in README.md."""

from __future__ import annotations

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
