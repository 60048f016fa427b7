"""The drawn shape of each family, shared by page, paper and pictures: told apart without colour."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

SHAPES: Final = MappingProxyType(
    {
        "breath": "M3 8h11a3 3 0 1 0-3-3M3 13h15a3 3 0 1 1-3 3M3 18h8",
        "voice": "M4 12h3M10 6v12M14 3v18M18 8v8M21 11v2",
        "pitch": "M3 20 21 4M21 4h-7M21 4v7",
        "speech": "M3 4h18v12H11l-5 5v-5H3z",
        "swallow": "M12 3c5 6 7 9 7 12a7 7 0 0 1-14 0c0-3 2-6 7-12z",
        "mouth": "M2 12c4-6 7-5 10-3 3-2 6-3 10 3-5 8-15 8-20 0zM2 12h20",
        "face": "M12 2a10 10 0 1 0 0 20 10 10 0 0 0 0-20zM8 9v1M16 9v1M8 15c2 3 6 3 8 0",
        "neck": "M8 3v8c0 4-5 4-5 10M16 3v8c0 4 5 4 5 10M6 7c4-5 8-5 12 0",
        "thinking": "M8 9a4 4 0 1 1 6 3.5c-2 1-2 2-2 3.5M12 20v1",
        "balance": "M12 4v16M3 8h18M7 20h10M3 8l3 6 3-6M15 8l3 6 3-6",
        "strength": "M3 9v6M6 6v12M6 12h12M18 6v12M21 9v6",
        "mobility": "M4 20 10 12 20 4M10 9a3 3 0 1 0 0 6 3 3 0 0 0 0-6z",
        "hand": "M6 21v-6l-3-4M6 13V6M10 12V3M14 12V4M18 14V7M18 14c0 4-2 5-2 7",
        "relax": "M3 10c3-4 6-4 9 0s6 4 9 0M3 17c3-4 6-4 9 0s6 4 9 0",
        "none": "M5 5h14v14H5z",
    }
)
"""SVG paths in a box of 24 by 24, drawn as lines."""


def shape_svg(family: str | None, ink: str = "#1d1b18") -> bytes:
    """Return the shape of a family as an SVG file."""
    path = SHAPES.get(family or "none", SHAPES["none"])
    drawn = f'fill="none" stroke="{ink}" stroke-width="1.75" stroke-linecap="round" stroke-linejoin="round"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 24 24"><path d="{path}" {drawn}/></svg>'.encode()
