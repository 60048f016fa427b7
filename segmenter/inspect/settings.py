"""Cue and region settings of WebVTT (W3C WebVTT, "cue settings" and "region settings")."""

from __future__ import annotations

import re
from collections.abc import Callable

Report = Callable[[str, str], None]

_PERCENT = r"(?:100(?:\.0+)?|\d{1,2}(?:\.\d+)?)%"
_CUE = {
    "vertical": re.compile(r"rl|lr"),
    "line": re.compile(rf"(?:-?\d+|{_PERCENT})(?:,(?:start|center|end))?"),
    "position": re.compile(rf"{_PERCENT}(?:,(?:line-left|center|line-right))?"),
    "size": re.compile(_PERCENT),
    "align": re.compile(r"start|center|end|left|right"),
    "region": re.compile(r"\S+"),
}
_REGION = {
    "id": re.compile(r"\S+"),
    "width": re.compile(_PERCENT),
    "lines": re.compile(r"\d+"),
    "regionanchor": re.compile(rf"{_PERCENT},{_PERCENT}"),
    "viewportanchor": re.compile(rf"{_PERCENT},{_PERCENT}"),
    "scroll": re.compile(r"up"),
}


def check_settings(text: str, report: Report) -> None:
    """Report every setting of a cue that is unknown, wrong, or given twice."""
    _check(text, _CUE, "settings", report)


def check_region(text: str, report: Report) -> None:
    """Report every setting of a region that is unknown, wrong, or given twice."""
    _check(text, _REGION, "region", report)
    if not re.search(r"(?:^|\s)id:\S", text):
        report("region", "a region needs an id")


def _check(text: str, known: dict[str, re.Pattern[str]], code: str, report: Report) -> None:
    seen: set[str] = set()
    for setting in text.split():
        name, colon, value = setting.partition(":")
        if not colon or name not in known:
            report(code, f"{setting!r} is no setting")
        elif not known[name].fullmatch(value):
            report(code, f"{value!r} is no value of {name}")
        elif name in seen:
            report(code, f"{name} is given twice")
        seen.add(name)
