"""One search over the whole class: which reading of every sentence together fits best.

Every sentence is read as the opening, talk, a quiz, the closing, a named exercise, or an
exercise of some family. A reading collects the evidence for it; going over to another
reading costs, less where the speaker turns to something new. The cheapest path through
all sentences is found exactly (Viterbi 1967), so that one stray word moves nothing.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from segmenter.lesson import Family, Kind
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.evidence import Line

CHANGE = 2.2
"""What going over to another reading costs without any sign of a turn."""
MOST_EXERCISES = 80
"""Named exercises that take part in the search: those with the most evidence."""
_SOUNDING = frozenset({"voice", "pitch", "speech"})
"""Families whose exercises are heard as held sounds."""


@dataclass(frozen=True)
class Reading:
    """What a stretch of the class may be."""

    kind: Kind
    family: Family | None = None
    exercise: str | None = None


@dataclass(frozen=True)
class Stretch:
    """Sentences ``first`` to ``last`` (exclusive) with one reading, and the evidence it collected."""

    first: int
    last: int
    reading: Reading
    score: float


def best_stretches(lines: Sequence[Line], catalogue: Catalogue) -> list[Stretch]:
    """Return the class as stretches in order; every sentence is in exactly one."""
    if not lines:
        return []
    readings = _readings(lines, catalogue)
    fits = np.array([[_fit(line, reading, catalogue) for reading in readings] for line in lines])
    path = _best_path(fits, np.array([change_cost(lines, i) for i in range(len(lines))]), readings)
    stretches: list[Stretch] = []
    first = 0
    for at in range(1, len(lines) + 1):
        if at < len(lines) and path[at] == path[at - 1] and not _starts_anew(lines, first, at, readings[path[at]]):
            continue
        reading = readings[path[first]]
        stretches.append(Stretch(first, at, reading, float(fits[first:at, path[first]].sum())))
        first = at
    return stretches


def change_cost(lines: Sequence[Line], at: int) -> float:
    """Return what it costs to start something new with sentence `at`."""
    line = lines[at]
    cost = CHANGE - 0.9 * min(1.5, line.roles.get("turn", 0.0)) - 0.3 * (line.pause_before_ms >= 900)
    if at:
        cost -= 0.5 * (lines[at - 1].home_ask or lines[at - 1].returned)
        cost += 3.0 * (lines[at - 1].waiting and not line.returned)
    return max(0.4, cost + 3.0 * line.returned)


def _readings(lines: Sequence[Line], catalogue: Catalogue) -> list[Reading]:
    total: dict[str, float] = defaultdict(float)
    for line in lines:
        for name, strength in line.named.items():
            total[name] += strength
    named = sorted((name for name in total if total[name] >= 0.5), key=lambda name: -total[name])[:MOST_EXERCISES]
    families = sorted({family for line in lines for family in line.families} - {"thinking"})
    readings = [Reading("opening"), Reading("talk"), Reading("quiz", "thinking"), Reading("closing")]
    for name in named:
        exercise = catalogue.by_id(name)
        kind: Kind = "quiz" if exercise.held == "answer" and exercise.family == "thinking" else "exercise"
        readings.append(Reading(kind, exercise.family, name))
    return readings + [Reading("exercise", family) for family in families]


def _fit(line: Line, reading: Reading, catalogue: Catalogue) -> float:
    roles, activity = line.roles, line.activity
    match reading.kind:
        case "opening":
            return 0.8 * roles.get("opening", 0.0) - 0.25 * activity
        case "closing":
            # Nothing may follow a goodbye, so a stray "see you" in mid-class cannot use this.
            return 1.6 * roles.get("closing", 0.0) - 0.3 * roles.get("news", 0.0) - 0.25 * activity
        case "talk":
            return 0.8 * roles.get("news", 0.0) + 0.4 * roles.get("story", 0.0) - 0.25 * activity
    aside = 0.4 * roles.get("news", 0.0) + 0.3 * roles.get("opening", 0.0) + 0.4 * roles.get("closing", 0.0)
    own = line.named.get(reading.exercise, 0.0) if reading.exercise else 0.0
    other = max((s for name, s in line.named.items() if name != reading.exercise), default=0.0)
    named = 2.0 * own - 1.2 * max(0.0, other - own)
    if reading.kind == "quiz":
        return 0.9 * roles.get("quiz", 0.0) + 1.2 * line.answers + named - aside - 0.3 * activity
    family = line.families.get(reading.family, 0.0) if reading.family else 0.0
    quiz = 0.6 * roles.get("quiz", 0.0) + 1.2 * line.answers
    held = 0.0
    if line.efforts:
        sounding = catalogue.by_id(reading.exercise).held in {"voiced", "glide"} if reading.exercise else None
        held = 0.5 if sounding or (sounding is None and reading.family in _SOUNDING) else -0.5
    # A family alone explains less than an exercise that was named.
    return 0.3 * activity + 0.45 * family + named + held - aside - quiz - 0.1 * (reading.exercise is None)


def _best_path(fits: np.ndarray, costs: np.ndarray, readings: Sequence[Reading]) -> list[int]:
    count, width = fits.shape
    opening = [i for i, reading in enumerate(readings) if reading.kind == "opening"]
    closing = [i for i, reading in enumerate(readings) if reading.kind == "closing"]
    best, back = fits[0].copy(), np.zeros((count, width), dtype=np.int32)
    for at in range(1, count):
        leaving = best.copy()
        leaving[closing] = -np.inf  # nothing follows the goodbye
        source = int(np.argmax(leaving))
        moved = np.full(width, leaving[source] - costs[at])
        moved[opening] = -np.inf  # the greeting comes first or not at all
        stay = best >= moved
        back[at] = np.where(stay, np.arange(width), source)
        best = np.where(stay, best, moved) + fits[at]
    path = [int(np.argmax(best))]
    for at in range(count - 1, 0, -1):
        path.append(int(back[at, path[-1]]))
    return path[::-1]


def _starts_anew(lines: Sequence[Line], first: int, at: int, reading: Reading) -> bool:
    """Tell whether another exercise of the same reading starts here.

    It does where the speaker turns to something new after the one before was rounded off (a dose
    for home, a return from practice), unless the same exercise is named again.
    """
    if reading.kind != "exercise" or lines[at].roles.get("turn", 0.0) < 0.8 or lines[at].waiting:
        return False
    if reading.exercise and lines[at].named.get(reading.exercise, 0.0) >= 0.8:
        return False
    rounded_off = any(line.home_ask or line.returned for line in lines[first:at])
    goes_on = any(line.activity >= 1.0 for line in lines[at : at + 6])
    return rounded_off and goes_on
