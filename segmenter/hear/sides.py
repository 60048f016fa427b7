"""Stretches in which one of two channels is silent while the other one sounds: a loose plug, a muted microphone."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from segmenter.intervals import Interval, length
from segmenter.lesson import Check
from segmenter.times import clock, spoken_length

SIDES: tuple[Literal["left"], Literal["right"]] = ("left", "right")
SILENT_DB = 30.0
"""A channel this far under the other carries no voice."""
QUIET_DB = 20.0
"""Seconds this far under the mean second are pauses: they do not tell which channel is alive."""
LEAST_S = 5
"""A shorter silence on one side is a knock or a word spoken aside (common practice, no source)."""

Power = NDArray[np.float64]


@dataclass(frozen=True)
class OneSided:
    """A stretch with one silent channel: 0 is left, 1 is right."""

    silent: Literal[0, 1]
    span: Interval


def one_sided(power: Power) -> list[OneSided]:
    """Return where one channel is silent for a while.

    Parameters
    ----------
    power : array, shape (seconds, 2)
        Energy of each channel, second by second.

    Returns
    -------
    list of OneSided
        In order, apart from one another, on whole seconds; pauses inside and around belong to a stretch, up to the
        next second in which both channels sound.
    """
    loud = power.max(axis=1, initial=0.0)
    heard = loud > loud.mean() / 10 ** (QUIET_DB / 10) if len(loud) else np.zeros(0, bool)
    dead = power * 10 ** (SILENT_DB / 10) < loud[:, None]
    known = [(at, _silent(dead[at])) for at in np.flatnonzero(heard).tolist()]
    found: list[OneSided] = []
    first = 0
    while first < len(known):
        last = first
        while last + 1 < len(known) and known[last + 1][1] == known[first][1]:
            last += 1
        silent = known[first][1]
        start = known[first - 1][0] + 1 if first else 0
        end = known[last + 1][0] if last + 1 < len(known) else len(power)
        if silent is not None and known[last][0] + 1 - known[first][0] >= LEAST_S:
            # Where the sides change over in a pause, the later stretch has the pause.
            found.append(
                OneSided(silent, (max(start, found[-1].span[1] // 1000 if found else 0) * 1000, end * 1000))
            )
        first = last + 1
    return found


def _silent(dead: NDArray[np.bool_]) -> Literal[0, 1] | None:
    return None if not dead.any() else 0 if dead[0] else 1


def told(stretches: list[OneSided]) -> list[Check]:
    """Return a check for each side that is silent for a part of the time."""
    checks = []
    for side, name in enumerate(SIDES):
        spans = [stretch.span for stretch in stretches if stretch.silent == side]
        if not spans:
            continue
        at = f"from {clock(spans[0][0])} to {clock(spans[0][1])}"
        if len(spans) > 1:
            at = f"for {spoken_length(sum(map(length, spans)))} in all, first {at}"
        message = (
            f"The {name} channel is silent {at}; the other one was used there. Some people may hear one side only."
        )
        checks.append(
            Check(code="channel-silent", level="look", message=message, start_ms=spans[0][0], end_ms=spans[-1][1])
        )
    return checks
