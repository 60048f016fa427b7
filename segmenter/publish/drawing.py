"""Pictures as SVG: one look, legible in grey, and every picture with its words."""

from __future__ import annotations

import io
import re
import xml.etree.ElementTree as ET
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any, Final

import matplotlib as mpl
from matplotlib.figure import Figure
from matplotlib.font_manager import fontManager

from segmenter.publish.typeface import FAMILY, font_file

INK: Final = "#1d1b18"
SOFT: Final = "#4b4741"
LINE: Final = "#79736a"
PAPER: Final = "#fdfbf5"
DO: Final = "#0b4a5c"
"""Always and only: do this now."""
_SVG: Final = "http://www.w3.org/2000/svg"


@contextmanager
def look() -> Iterator[None]:
    """Draw in the project's type and ink while the block runs; other users of the library are left alone."""
    if FAMILY not in fontManager.get_font_names():
        for face in ("Regular", "Bold"):
            fontManager.addfont(font_file(face))
    rules: dict[Any, Any] = {
        "font.family": FAMILY, "font.size": 13, "text.color": INK, "axes.labelcolor": INK, "axes.edgecolor": LINE,
        "xtick.color": SOFT, "ytick.color": INK, "axes.facecolor": PAPER, "figure.facecolor": PAPER,
        "axes.spines.top": False, "axes.spines.right": False, "svg.fonttype": "path", "svg.hashsalt": "lesson",
        "hatch.linewidth": 0.8, "hatch.color": INK, "axes.unicode_minus": False, "text.parse_math": False,
    }  # fmt: skip
    with mpl.rc_context(rules):
        yield


def svg(figure: Figure, title: str, words: str, named: Mapping[str, str]) -> str:
    """Return a figure as SVG with text alternatives (W3C SVG Accessibility API Mappings, title and desc).

    Parameters
    ----------
    figure : Figure
        What was drawn.
    title, words : str
        What the picture is, and what it shows, in full.
    named : mapping
        What each part with a group id (``gid``) shows: a pointer that rests on it is told.
    """
    return with_words(bare_svg(figure), title, words, named)


def bare_svg(figure: Figure) -> bytes:
    """Return a figure as SVG that says nothing yet; `with_words` must follow."""
    out = io.BytesIO()
    figure.savefig(out, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    return out.getvalue()


def with_words(bare: bytes, title: str, words: str, named: Mapping[str, str]) -> str:
    """Return what `bare_svg` drew with its text alternatives, as `svg` does."""
    ET.register_namespace("", _SVG)
    ET.register_namespace("xlink", "http://www.w3.org/1999/xlink")
    root = ET.fromstring(bare)  # noqa: S314 - written by `bare_svg`
    for group in root.iter(f"{{{_SVG}}}g"):
        said = named.get(group.get("id", ""))
        if said is not None:
            group.insert(0, _words("title", said))
    for number, (tag, text) in enumerate((("title", title), ("desc", words))):
        element = _words(tag, text)
        element.set("id", f"what-{tag}")
        root.insert(number, element)
    root.set("role", "img")
    root.set("aria-labelledby", "what-title what-desc")
    return ET.tostring(root, encoding="unicode") + "\n"


def png(figure: Figure) -> bytes:
    """Return a figure as a picture of points, for files that take no SVG; its words must stand beside it."""
    out = io.BytesIO()
    figure.savefig(out, format="png", dpi=110, metadata={"Software": None})
    return out.getvalue()


def _words(tag: str, text: str) -> ET.Element:
    element = ET.Element(f"{{{_SVG}}}{tag}")
    # XML has no place for control characters (W3C XML 1.0, "Char").
    element.text = re.sub(r"[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]", " ", text)
    return element
