"""The one typeface of paper, pictures and video, and which letters it has."""

from __future__ import annotations

import unicodedata
from functools import cache
from importlib.resources import as_file, files
from pathlib import Path
from typing import Final

from matplotlib.ft2font import FT2Font

FAMILY: Final = "Atkinson Hyperlegible"


@cache
def font_file(face: str = "Regular") -> Path:
    """Return the TrueType file of a face: ``Regular`` or ``Bold``."""
    with as_file(files("fontpkg_atkinson_hyperlegible") / "files" / f"AtkinsonHyperlegible-{face}.ttf") as path:
        return path


@cache
def letters() -> frozenset[int]:
    """Return the code points that both faces can show."""
    return frozenset.intersection(
        *(frozenset(FT2Font(font_file(face)).get_charmap()) for face in ("Regular", "Bold"))
    )


def showable(text: str) -> str:
    """Return `text` with what the typeface cannot show left out (symbols) or marked (letters of other scripts).

    >>> showable("Blow 🎈 softly – “ah”")
    'Blow softly – “ah”'
    """
    kept = []
    for letter in unicodedata.normalize("NFC", text):
        if ord(letter) in letters():
            kept.append(letter)
        elif letter.isspace():
            kept.append(" ")
        elif unicodedata.category(letter)[0] in {"L", "N"}:
            kept.append("?")
    return " ".join("".join(kept).split())


def all_showable(text: str) -> bool:
    """Whether every letter of `text` is in the typeface."""
    return "?" not in showable(text.replace("?", ""))
