"""From what was asked for at a stop to the steps on the screen: get ready, hold, rest; or a calm wait."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Final, Literal

from segmenter.lesson import Ask, Side
from segmenter.publish.follow.settings import PACES, FollowSettings
from segmenter.publish.wording import dose_text

StepKind = Literal["ready", "hold", "rest", "breathe", "wait", "think", "card", "done"]
READY_S: Final = 5
"""Seconds to get ready: long enough to sit up and breathe in (own choice)."""
DONE_S: Final = 3
"""Seconds in which the end of practice stands on the screen."""
CARD_S, WORD_S = 6, 0.5
"""Seconds a card stands at least, and seconds a word of it: a slow 120 words a minute (own choice)."""
STRETCH_S: Final = 15.0
"""A hold this long with no number of repetitions is one stretch of practice, as where practice time is reckoned."""
LONGEST_S: Final = 1_800
"""More than half an hour at one stop is a slip of hearing, not practice: then it is an open wait."""
OPEN: Final = "As many as your own clinician advised"
_BREATH: Final = ("Breathe in", "Hold", "Breathe out", "Hold")
_SIDES: Final[dict[Side | None, tuple[str, ...]]] = {
    None: ("",), "left": ("left side",), "right": ("right side",), "both": ("one side", "other side"),
}  # fmt: skip


@dataclass(frozen=True)
class Step:
    """One thing to do, counted down.

    Parameters
    ----------
    kind : str
        What it is.
    label : str
        What to do, in a word or two.
    counts : int
        The number it starts from; it goes down by one each beat.
    beat_s : float
        Seconds a count.
    rep, of : int or None
        Which repetition of how many.
    note : str
        A line below: side, round, or that one may stop.
    enough : int
        From this many counts left on, the shorter end of the range is reached. 0: none.
    """

    kind: StepKind
    label: str
    counts: int
    beat_s: float = 1.0
    rep: int | None = None
    of: int | None = None
    note: str = ""
    enough: int = 0


def practice_steps(ask: Ask | None, settings: FollowSettings, beat_s: float | None = None) -> tuple[Step, ...]:
    """Return the steps of a practice stop.

    Where the time an ask needs can be known, every repetition is counted; where it cannot, there is an open wait
    without any number to do. The upper end of a range is given time, so that nobody is hurried; what lies
    above its lower end is marked as free.

    Parameters
    ----------
    ask : Ask or None
        What was asked for.
    settings : FollowSettings
        Choices.
    beat_s : float or None
        Seconds a count of breathing took in class; None counts seconds.
    """
    slow = PACES[settings.pace]
    ready = Step("ready", "Get ready", math.ceil(READY_S * max(1.0, slow)))
    done = Step("done", "Well done", DONE_S)
    counted = _counted(ask, settings, slow, beat_s) if ask is not None else []
    if not counted or sum(step.counts * step.beat_s for step in counted) > LONGEST_S:
        return (_open_wait(ask, settings, slow), done)
    return (ready, *counted, done)


def think_step(clue: str, seconds: float) -> Step:
    """Return the wait before a quiz answer."""
    return Step("think", "Take your time", max(1, math.ceil(seconds)), note=clue)


def _open_wait(ask: Ask | None, settings: FollowSettings, slow: float) -> Step:
    said = dose_text(ask) if ask is not None else ""
    known = ask is not None and ask.reps is not None
    note = said if known else (f"{said}. {OPEN}" if said else OPEN)
    return Step("wait", "Your turn", math.ceil(settings.wait_s * slow), note=note)


def _counted(ask: Ask, settings: FollowSettings, slow: float, beat_s: float | None) -> list[Step]:
    reps, hold, rounds = _ends(ask.reps), _ends(ask.hold_s), _ends(ask.sets)
    if ask.pattern and any(ask.pattern):
        efforts = _breath(ask.pattern, beat_s or 1.0)
    elif hold is not None:
        low, high = max(1, math.ceil(hold[0])), max(1, math.ceil(hold[1]))
        efforts = [Step("hold", "Hold", high, enough=high - low)]
    else:
        return []
    if reps is None:
        if ask.pattern or (rounds is None and (hold is None or hold[1] < STRETCH_S)):
            return []
        reps = (1, 1)
    number = round(reps[1]) if settings.reps is None else min(round(reps[1]), settings.reps)
    said = _ends(ask.rest_s)
    # A rest that was asked for may become longer, never shorter.
    rest = math.ceil(said[1] * max(1.0, slow)) if said else math.ceil(settings.rest_s * slow)
    pause = Step("rest", "Rest", rest) if rest and not ask.pattern else None
    total = range(1, round(rounds[1] if rounds else 1) + 1)
    steps: list[Step] = []
    for turn in total:
        for side in _SIDES[ask.side]:
            for rep in range(1, number + 1):
                free = "if you like" if rep > max(1, round(reps[0])) else ""
                place = ", ".join(t for t in (f"round {turn} of {total[-1]}" * (len(total) > 1), side, free) if t)
                steps += [replace(step, rep=rep, of=number, note=place) for step in efforts]
                if pause:
                    steps.append(replace(pause, rep=rep, of=number, note=place))
    if pause:
        steps.pop()  # after the last there is nothing to rest for
    return [_turning(step, after) for step, after in pairwise([*steps, steps[-1]])] if steps else []


def _turning(step: Step, after: Step) -> Step:
    """A rest tells what comes next, when the side or the round changes."""
    changed = step.kind == "rest" and step.note != after.note and after.note
    return replace(step, note=f"next: {after.note}") if changed else step


def _breath(pattern: Sequence[float | None], beat_s: float) -> list[Step]:
    return [
        Step("breathe", label, round(beats), beat_s)
        for label, beats in zip(_BREATH, pattern, strict=True)
        if beats and round(beats)
    ]


def _ends(span: tuple[float | None, float | None] | None) -> tuple[float, float] | None:
    """Lower and upper end; where one was not said, the other."""
    if span is None:
        return None
    lo, hi = span
    low = lo if lo is not None else hi or 0
    return low, hi if hi is not None else low
