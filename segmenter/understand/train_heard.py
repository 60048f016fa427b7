"""Annotated classes as the recogniser really wrote them when they were spoken aloud.

A file in ``models/training/heard`` has a line for every sentence of the class of its name that was heard:
``as written | as heard``. ``python -m tests.evaluation.heard`` makes them.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from pathlib import Path

from segmenter.understand.layout import plain
from segmenter.understand.scripts import Item, Said, Script

_MARK = " | "


def as_heard(script: Script, folder: Path) -> Script | None:
    """Return a class with its sentences as they were heard; None where it was not spoken.

    What was not heard, or was written otherwise since, stays as it is written.

    Raises
    ------
    ValueError
        With file and line, where a line has not two parts.
    """
    path = folder / f"{script.name}.txt"
    if not path.is_file():
        return None
    heard = defaultdict[str, list[str]](list)
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        written, mark, text = line.partition(_MARK)
        if not mark:
            raise ValueError(f"{path.name}, line {number}: not 'as written{_MARK}as heard': {line!r}")
        heard[written].append(text)

    def item_of(item: Item) -> Item:
        texts = heard[plain(item.text)] if isinstance(item, Said) else []
        return replace(item, text=texts.pop(0), spans=()) if isinstance(item, Said) and texts else item

    return replace(script, name=f"{script.name} as heard", items=tuple(map(item_of, script.items)))


def lines_of(heard: list[tuple[str, str]]) -> str:
    """Return the text of a file: pairs of what is written and what was heard."""
    return "".join(f"{written}{_MARK}{text}\n" for written, text in heard if text)
