"""The class piece by piece: what each stretch is, which exercise, and how sure that is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import get_args

import numpy as np

from segmenter.lesson import Family, Kind
from segmenter.understand.alike import FAMILIES, directions
from segmenter.understand.announced import announcements
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.evidence import THINK_MS, Line
from segmenter.understand.naming import Named, name_stretches
from segmenter.understand.reader import SUBJECTS, Readings
from segmenter.understand.stretches import Stretch, best_stretches

SURELY = 0.85
"""How sure the name of an exercise must be to be no riddle."""
_EXERCISE = [SUBJECTS.index(family) for family in FAMILIES]


@dataclass(frozen=True)
class Piece:
    """Sentences ``first`` to ``last`` (exclusive) of a class; `confidence` from 0 to 1."""

    first: int
    last: int
    kind: Kind
    family: Family | None
    exercise: str | None
    confidence: float


def pieces_of(readings: Readings, lines: Sequence[Line], catalogue: Catalogue) -> list[Piece]:
    """Return the pieces of a class in order; every sentence is in exactly one."""
    pieces: list[Piece] = []
    readings = replace(readings, starts=readings.starts + announcements(lines))
    stretches = best_stretches(readings, [line.sentence.start_ms for line in lines])
    kinds = [_kind(stretch, lines) for stretch in stretches]
    led = [
        (stretch.first, stretch.last)
        for stretch, kind in zip(stretches, kinds, strict=True)
        if kind == "quiz" or (kind is None and _active(stretch, lines))
    ]
    names = dict(zip(led, name_stretches(led, readings, lines, catalogue, directions(catalogue)), strict=True))
    for stretch, kind in zip(stretches, kinds, strict=True):
        piece = _piece(stretch, kind, names.get((stretch.first, stretch.last)), readings, lines)
        if pieces and _same(pieces[-1], piece):
            pieces[-1] = replace(
                pieces[-1], last=piece.last, confidence=max(pieces[-1].confidence, piece.confidence)
            )
        else:
            pieces.append(piece)
    return pieces


def _kind(stretch: Stretch, lines: Sequence[Line]) -> Kind | None:
    """What a stretch is by its subject; None where that is a family."""
    own = lines[stretch.first : stretch.last]
    kind = next((kind for kind in get_args(Kind) if kind == stretch.subject), None)
    if kind == "quiz" and not any(line.cues.get("quiz") or line.pause_before_ms >= THINK_MS for line in own):
        return "talk"  # riddles leave time to think, or say that they are riddles
    return kind


def _active(stretch: Stretch, lines: Sequence[Line]) -> bool:
    return any(line.activity for line in lines[stretch.first : stretch.last])


def _same(one: Piece, following: Piece) -> bool:
    if one.kind != following.kind:
        return False
    if following.kind == "quiz":
        return None in (one.exercise, following.exercise) or one.exercise == following.exercise
    return following.kind != "exercise" or (one.exercise is not None and one.exercise == following.exercise)


def _piece(
    stretch: Stretch, kind: Kind | None, named: Named | None, readings: Readings, lines: Sequence[Line]
) -> Piece:
    shares = np.exp(readings.subjects[stretch.first : stretch.last]).mean(axis=0)
    if named is not None and (kind is None or (_active(stretch, lines) and _is_no_riddle(named))):
        share = named.family_share * (named.exercise_share if named.exercise else 1.0)
        likely = float(shares[_EXERCISE].sum()) if kind is None else 1.0
        return Piece(
            stretch.first, stretch.last, "exercise", named.family, named.exercise, round(likely * share, 2)
        )
    confidence = round(float(shares[SUBJECTS.index(stretch.subject)]) if kind else 0.3, 2)
    if named is None:
        return Piece(stretch.first, stretch.last, kind or "talk", None, None, confidence)
    exercise = named.exercise if named.family == "thinking" else None
    return Piece(stretch.first, stretch.last, "quiz", "thinking", exercise, confidence)


def _is_no_riddle(named: Named) -> bool:
    """Whether what sounds like riddles ("Umbrella." and a silence) is told like an exercise of another family."""
    return (
        named.family != "thinking"
        and named.exercise is not None
        and min(named.family_share, named.exercise_share) >= SURELY
    )
