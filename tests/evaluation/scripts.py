"""Scripted classes: made-up classes as plain text, with what a careful listener would write down.

One text file a class, in ``classes/tuned`` or ``classes/unseen``. The head gives ``name: value`` lines
(``persona``, ``about``, and ``pace`` in words a second); after it, one line is one of::

    == KIND [FAMILY [EXERCISE]]      a chapter starts (``-`` for a family that is not known)
    A sentence. | mark; mark         what is said, and what it means
    > hold SECONDS HZ                a sound: hold, hum, hiss, glide (from and to Hz), train (syllables a second)
    > silence SECONDS                nothing is said
    > count KIND @BEAT: a / b / c    one group of words a beat, with one number in each (in, out: one)

Marks: ``ask class|home FIELD=VALUE ...``, ``stop [FIELD=VALUE ...]`` (the ask that ends with this sentence),
``resume``, ``clue``, ``answer``, ``caution``. Values are ``5``, ``8-10``, ``8+`` (at least), ``-10`` (at most),
``3/0/6/0`` (breathing) or a side. ``(1.5)`` inside a sentence is a pause in seconds. ``#`` starts a remark.

Every class and every voice was invented for this purpose.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import get_args

from segmenter.lesson import CountKind, Family, Kind, Side
from segmenter.understand.numbers import read_numbers

CLASSES = Path(__file__).parent / "classes"
SOUNDS = ("hold", "hum", "hiss", "glide", "train", "silence")
RANGES = ("reps", "hold_s", "sets", "rest_s", "per_day", "days_per_week")

Value = tuple[float | None, ...] | Side
"""Of one field of a dose."""


@dataclass(frozen=True)
class Opens:
    """A chapter starts."""

    kind: Kind
    family: Family | None = None
    exercise: str | None = None


@dataclass(frozen=True)
class Dose:
    """What one sentence asks for; `where` is "stop" for what is asked of those who stop the recording."""

    where: str
    fields: tuple[tuple[str, Value], ...]


@dataclass(frozen=True)
class Said:
    """One spoken sentence with its marks."""

    text: str
    doses: tuple[Dose, ...] = ()
    marks: frozenset[str] = frozenset()


@dataclass(frozen=True)
class Made:
    """One sound; `numbers` are Hz, or syllables a second."""

    kind: str
    seconds: float
    numbers: tuple[float, ...] = ()


@dataclass(frozen=True)
class Counted:
    """Numbers counted on a beat: one group of words each, and what its number is."""

    kind: CountKind
    beat_s: float
    groups: tuple[str, ...]
    values: tuple[int, ...]


Item = Opens | Said | Made | Counted


@dataclass(frozen=True)
class Script:
    """One class as written."""

    name: str
    unseen: bool
    head: dict[str, str]
    items: tuple[Item, ...]

    @property
    def talk_only(self) -> bool:
        """Whether it is a recording without any exercise."""
        return not any(isinstance(item, Opens) and item.kind in {"exercise", "quiz"} for item in self.items)


def read_scripts() -> list[Script]:
    """Read every class, the tuned ones first, in order of name."""
    paths = [path for part in ("tuned", "unseen") for path in sorted((CLASSES / part).glob("*.txt"))]
    return [read_script(path) for path in paths]


def read_script(path: Path) -> Script:
    """Read one class.

    Raises
    ------
    ValueError
        With file and line, where the text breaks the rules above.
    """
    head: dict[str, str] = {}
    items: list[Item] = []
    for number, raw in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        line = raw.strip()
        if not line or line.startswith("#"):
            continue
        try:
            if not items and not line.startswith("=="):
                name, _, value = line.partition(":")
                head[name.strip()] = value.strip()
            else:
                items.append(_item(line))
        except (ValueError, IndexError) as error:
            raise ValueError(f"{path.name}, line {number}: {error}") from error
    return Script(path.stem, path.parent.name == "unseen", head, tuple(items))


def _item(line: str) -> Item:
    if line.startswith("=="):
        return _opens(line[2:].split())
    if line.startswith(">"):
        kind, *rest = line[1:].split(maxsplit=1)
        if kind == "count":
            return _counted(rest[0])
        if kind not in SOUNDS:
            raise ValueError(f"no sound is called {kind!r}")
        seconds, *numbers = (float(word) for word in rest[0].split())
        return Made(kind, seconds, tuple(numbers))
    text, _, marks = line.partition("|")
    doses: list[Dose] = []
    names: set[str] = set()
    for mark in filter(None, (part.strip() for part in marks.split(";"))):
        word, *fields = mark.split()
        if word == "ask":
            doses.append(Dose(fields[0], tuple(_fields(fields[1:]))))
            if fields[0] not in {"class", "home"}:
                raise ValueError(f"an ask is for class or home, not {fields[0]!r}")
        elif word in {"stop", "resume", "clue", "answer", "caution"}:
            names.add(word)
            if fields:
                doses.append(Dose(word, tuple(_fields(fields))))
        else:
            raise ValueError(f"no mark is called {word!r}")
    return Said(text.strip(), tuple(doses), frozenset(names))


def _opens(words: list[str]) -> Opens:
    kind, family, exercise = (*words, None, None)[:3]
    if kind not in get_args(Kind) or family not in (None, "-", *get_args(Family)):
        raise ValueError(f"no such kind or family: {words}")
    return Opens(
        next(k for k in get_args(Kind) if k == kind),
        next((f for f in get_args(Family) if f == family), None),
        exercise,
    )


def _fields(words: list[str]) -> Iterator[tuple[str, Value]]:
    for word in words:
        name, _, value = word.partition("=")
        if name == "side" and value in get_args(Side):
            yield name, next(side for side in get_args(Side) if side == value)
        elif name == "pattern":
            yield name, tuple(float(beat) for beat in value.split("/"))
        elif name in RANGES:
            yield name, _range(value)
        else:
            raise ValueError(f"no field reads {word!r}")


def _range(value: str) -> tuple[float | None, float | None]:
    if value.endswith("+"):
        return float(value[:-1]), None
    if value.startswith("-"):
        return None, float(value[1:])
    lo, _, hi = value.partition("-")
    return float(lo), float(hi or lo)


def _counted(text: str) -> Counted:
    found = re.fullmatch(r"(\w+) @([\d.]+): (.+)", text)
    if found is None or found[1] not in get_args(CountKind):
        raise ValueError(f"not a count: {text!r}")
    groups = tuple(group.strip() for group in found[3].split("/"))
    kind = next(kind for kind in get_args(CountKind) if kind == found[1])
    return Counted(kind, float(found[2]), groups, tuple(value_of(group)[0] for group in groups))


def value_of(group: str) -> tuple[int, int]:
    """Return the number in a group of words, and the place of its word; "in" and "out" alone are one."""
    words = group.split()
    for number in reversed(read_numbers(words)):  # "last one, five"
        if number.value is not None:
            return int(number.value), number.first
    for at, word in enumerate(words):
        if word.lower().strip(",.!") in {"in", "out", "hold"}:
            return 1, at
    raise ValueError(f"no number in {group!r}")
