"""Doses and lengths in the page's languages."""

from __future__ import annotations

from segmenter.lesson import Ask
from segmenter.publish.page.texts import Texts, fill, many
from segmenter.publish.wording import Range, number

_BREATH = ("breath_in", "breath_hold", "breath_out", "breath_hold")


def dose(ask: Ask, table: Texts) -> str:
    """Return a dose in plain words; empty when no amount was said. In English as `wording.dose_text`."""
    said: list[str] = []
    if ask.reps:
        said.append(amount(ask.reps, "times", table))
    if ask.pattern:
        said += [fill(table, key, n=_number(n, table)) for key, n in zip(_BREATH, ask.pattern, strict=True) if n]
    if ask.hold_s:
        said.append(fill(table, "dose_hold", span=amount(ask.hold_s, "seconds", table)))
    if ask.sets:
        said.append(amount(ask.sets, "rounds", table))
    if ask.rest_s:
        said.append(fill(table, "dose_rest", span=amount(ask.rest_s, "seconds", table)))
    if ask.side:
        said.append(table[f"side_{ask.side}"])
    if ask.effort:
        said.append(fill(table, "dose_effort", words=" ".join(ask.effort.split())))
    if ask.per_day:
        said.append(amount(ask.per_day, "per_day", table))
    if ask.days_per_week:
        every_day = ask.days_per_week == (7, 7)
        said.append(table["every_day"] if every_day else amount(ask.days_per_week, "per_week", table))
    return ", ".join(said)


def amount(span: Range, unit: str, table: Texts) -> str:
    """Return a range with its unit, the key of a text with the forms ``_one`` and ``_many``."""
    lo, hi = span
    if lo is not None and hi is not None and lo != hi:
        shown = fill(table, "range", lo=_number(lo, table), hi=_number(hi, table))
    elif lo is not None and hi is None:
        shown = fill(table, "at_least", n=_number(lo, table))
    elif lo is None:
        shown = fill(table, "at_most", n=_number(hi or 0, table))
    else:
        shown = _number(lo, table)
    return many(table, unit, (hi if hi is not None else lo) or 0, shown)


def length(ms: float, table: Texts) -> str:
    """Return a length in words, to the second. In English as `segmenter.times.spoken_length`."""
    minutes, rest = divmod(round(ms / 1000), 60)
    parts = [many(table, "minutes", minutes, str(minutes))] if minutes else []
    if rest or not minutes:
        parts.append(many(table, "seconds", rest, str(rest)))
    return " ".join(parts)


def _number(value: float, table: Texts) -> str:
    return number(value).replace(".", table["decimal"])
