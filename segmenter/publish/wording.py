"""Doses, families and safety lines in plain words, shared by every text that people read."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

from segmenter.lesson import Ask, Caution, CheckLevel, Side

DEFER: Final = "Follow the plan from your own clinician. If it differs from this video, theirs wins."
STOP_FOR_HELP: Final = (
    "Stop and get urgent help for chest pain or pressure, trouble breathing that does not settle, fainting, "
    "sudden weakness, a drooping face, or choking that does not clear."
)
STOP_AND_REST: Final = (
    "Stop and rest if you feel dizzy, tingling, unusually out of breath or newly numb, "
    "if you have sharp pain, or if your voice sounds wet."
)
DO_NOT_START: Final = "Do not start if you feel unwell or feverish, or if your clinician told you not to."
WHEN_TO_STOP: Final = (STOP_FOR_HELP, STOP_AND_REST, DO_NOT_START)
"""From warnings common to exercise leaflets; an emergency number is never named, since it differs by place."""

LEVELS: Final = MappingProxyType[CheckLevel, str](
    {"stop": "Settle before it goes out", "look": "Please look at this", "note": "Good to know"}
)
_SIDES: Final = MappingProxyType[Side, str]({"left": "left side", "right": "right side", "both": "each side"})
_BREATH: Final = ("breathe in", "hold", "breathe out", "hold")

Range = tuple[float | None, float | None]


def number(value: float) -> str:
    """A number without needless decimals.

    >>> number(5.0), number(2.5)
    ('5', '2.5')
    """
    return f"{round(value, 2):g}" if value < 100_000 else f"{value:.0f}"


def range_text(span: Range, unit: str = "", many: str | None = None) -> str:
    """A range in words, with its unit.

    >>> range_text((5, 5), "time"), range_text((5, 10)), range_text((8, None)), range_text((None, 1), "second")
    ('5 times', '5 to 10', 'at least 8', 'at most 1 second')
    """
    lo, hi = span
    if lo is not None and hi is not None:
        text = number(lo) if lo == hi else f"{number(lo)} to {number(hi)}"
    elif lo is not None:
        text = f"at least {number(lo)}"
    else:
        text = f"at most {number(hi or 0)}"
    if not unit:
        return text
    last = hi if hi is not None else lo
    return f"{text} {unit if last == 1 else many or unit + 's'}"


def side_text(side: Side | None) -> str:
    """Left side, right side, each side, or nothing."""
    return "" if side is None else _SIDES[side]


def dose_text(ask: Ask) -> str:
    """Return a dose in plain words; empty when no amount was said.

    >>> dose_text(Ask(where="home", start_ms=0, end_ms=9, reps=(5, 5), hold_s=(10, 10), sets=(2, 2), side="both"))
    '5 times, hold 10 seconds, 2 rounds, each side'
    """
    said: list[str] = []
    if ask.reps:
        said.append(range_text(ask.reps, "time"))
    if ask.pattern:
        said += [f"{what} for {number(beats)}" for what, beats in zip(_BREATH, ask.pattern, strict=True) if beats]
    if ask.hold_s:
        said.append(f"hold {range_text(ask.hold_s, 'second')}")
    if ask.sets:
        said.append(range_text(ask.sets, "round"))
    if ask.rest_s:
        said.append(f"rest {range_text(ask.rest_s, 'second')} between")
    if ask.side:
        said.append(side_text(ask.side))
    if ask.effort:
        said.append(f"effort: {' '.join(ask.effort.split())}")
    if ask.per_day:
        said.append(range_text(ask.per_day, "time a day", "times a day"))
    if ask.days_per_week:
        every_day = ask.days_per_week == (7, 7)
        said.append("every day" if every_day else range_text(ask.days_per_week, "day a week", "days a week"))
    return ", ".join(said)


def caution_source(caution: Caution) -> str:
    """Say who warns: the clinician in class, or usual practice, which must look different."""
    if caution.source == "spoken":
        return "Said in class"
    return f"Usual advice, not said in class{f' ({caution.reference})' if caution.reference else ''}"
