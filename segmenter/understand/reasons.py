"""Why a chapter is what it is, in words for the clinician."""

from __future__ import annotations

from collections.abc import Sequence

from segmenter.understand.evidence import Line
from segmenter.understand.pieces import Piece

_TURN = 0.4
_NAMED = 0.5


def reasons_for(piece: Piece, own: Sequence[Line]) -> tuple[str, ...]:
    """Return the reasons for a piece, strongest first; `own` are its sentences."""
    reasons: list[str] = []
    named = [line for line in own if piece.exercise and line.named.get(piece.exercise, 0.0) >= _NAMED]
    if named:
        reasons.append(f"the exercise is named: “{_short(named[0].sentence.text)}”")
    elif piece.exercise:
        reasons.append("what is said sounds like the way this exercise is told")
    if own[0].cues.get("turn", 0.0) >= _TURN:
        reasons.append(f"the speaker turns to something new: “{_short(own[0].sentence.text)}”")
    signs = {
        "a sound is held": any(line.efforts for line in own),
        "numbers are counted": any(line.counted for line in own),
        "a dose is asked for": any(line.class_ask or line.home_ask for line in own),
        "viewers are asked to stop and practise": any(line.prompt for line in own),
        "clues are followed by time to think": any(line.answers for line in own),
        "dates or news are told": sum(line.cues.get("news", 0.0) > 0 for line in own) >= 2,
    }
    reasons += [sign for sign, there in signs.items() if there]
    if piece.family and not named and piece.kind == "exercise":
        reasons.append(f"its words belong to the family “{piece.family}”")
    return tuple(reasons or [f"it reads as {piece.kind}"])


def _short(text: str, most: int = 80) -> str:
    return text if len(text) <= most else text[: most - 1].rsplit(" ", 1)[0] + "…"
