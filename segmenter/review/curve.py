"""What was heard, for the time strip: level, stretches of speech, held sounds. Kept by the build in ``.work``."""

from __future__ import annotations

import base64
import json
from pathlib import Path
from typing import Any

from segmenter.folder import WORK
from segmenter.heard import LEVELS


def curve_of(folder: Path) -> bytes:
    """Return one byte for every tenth of a second: 0 silent, 255 full scale; empty where it was not kept."""
    row = _newest(folder, LEVELS) or {}
    try:
        return base64.b64decode(row["levels"], validate=True)
    except (KeyError, ValueError, TypeError):
        return b""


def marks_of(folder: Path) -> dict[str, Any]:
    """Return stretches of speech and held sounds as ``[start, end]`` in milliseconds."""
    heard = _newest(folder, "heard")
    if heard is None:
        return {"speech": [], "sounds": []}
    held = {"hold", "hum", "glide", "hiss"}
    try:
        return {
            "speech": [_span(row) for row in heard.get("speech", [])],
            "sounds": [_span(row) for row in heard.get("sounds", []) if row["kind"] in held],
        }
    except (KeyError, TypeError, ValueError, OverflowError):  # damaged; the next build makes it anew
        return {"speech": [], "sounds": []}


def _span(row: dict[str, Any]) -> list[int]:
    return [round(row["start"] * 1000), round(row["end"] * 1000)]


def _newest(folder: Path, stage: str) -> dict[str, Any] | None:
    for path in (folder / WORK).glob(f"{stage}-*.json"):
        try:
            found = json.loads(path.read_text(encoding="utf-8"))
        except (OSError, ValueError):
            continue
        if isinstance(found, dict):
            return found
    return None
