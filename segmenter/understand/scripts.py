"""Annotated classes: made-up classes as plain text, with what a careful listener would write down.

The rules of this format stand in ``models/training/README.md``. It serves to train
(``segmenter.understand.train``) and to score (``tests.evaluation``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, get_args

from segmenter.lesson import CountKind, Family, Kind, Side
from segmenter.understand.numbers import read_numbers

Role = Literal[
    "greet", "turn", "why", "how", "show", "ask", "rest", "praise", "caution", "stop", "return", "clue", "answer",
    "story", "news", "bye",
]  # fmt: skip
"""What a sentence is for."""
SpanLabel = Literal["mention", "reps", "sets", "hold", "rest", "side", "often", "breathing", "effort", "count"]
"""What some words in a sentence are."""
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
class Labelled:
    """Characters ``first`` to ``last`` (exclusive) of a sentence, and what they are."""

    first: int
    last: int
    label: SpanLabel


@dataclass(frozen=True)
class Said:
    """One spoken sentence with its marks; `roles` and `spans` where they were annotated."""

    text: str
    doses: tuple[Dose, ...] = ()
    marks: frozenset[str] = frozenset()
    roles: frozenset[Role] = frozenset()
    spans: tuple[Labelled, ...] = ()


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
    """One class, or an excerpt of one, as written; `group` is the folder it stands in."""

    name: str
    group: str
    head: dict[str, str]
    items: tuple[Item, ...]

    @property
    def talk_only(self) -> bool:
        """Whether it is a recording without any exercise."""
        return not any(isinstance(item, Opens) and item.kind in {"exercise", "quiz"} for item in self.items)


def read_scripts(folder: Path) -> list[Script]:
    """Read every class in a folder, in order of name; a file of excerpts gives one script an excerpt."""
    return [script for path in sorted(folder.glob("*.txt")) for script in _scripts(path)]


def read_script(path: Path) -> Script:
    """Read one class.

    Raises
    ------
    ValueError
        With file and line, where the text breaks the rules above.
    """
    return next(_scripts(path))


def _scripts(path: Path) -> Iterator[Script]:
    head: dict[str, str] = {}
    items: list[Item] = []
    name, excerpt = path.stem, 0
    for number, raw in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        line = raw.strip()
        if not line or line.startswith("#"):
            continue
        try:
            if line == "---":
                excerpt += 1
                yield Script(f"{name} {excerpt}", path.parent.name, head, tuple(items))
                items = []
            elif not items and not line.startswith("=="):
                key, _, value = line.partition(":")
                head[key.strip()] = value.strip()
            else:
                items.append(_item(line))
        except (ValueError, IndexError) as error:
            raise ValueError(f"{path.name}, line {number}: {error}") from error
    if items or not excerpt:
        yield Script(f"{name} {excerpt + 1}" if excerpt else name, path.parent.name, head, tuple(items))


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
    roles, text = _roles(text.strip())
    plain, spans = _spans(text)
    if not plain:
        raise ValueError("a sentence has no words")
    return Said(plain, tuple(doses), frozenset(names), roles, spans)


def _roles(text: str) -> tuple[frozenset[Role], str]:
    """Split "how+caution: Sit tall." into its roles and its words; most texts have no roles."""
    before, colon, after = text.partition(":")
    names = set(before.split("+"))
    known = {role for role in get_args(Role) if role in names}
    if not colon or known != names:
        return frozenset(), text
    return frozenset(known), after.strip()


def _spans(text: str) -> tuple[str, tuple[Labelled, ...]]:
    """Take the braces out of a sentence; return its words and where the labelled ones stand."""
    plain, spans = "", []
    for before, label, words in re.findall(r"([^{}]*)(?:\{(\w+) ([^{}]+)\})?", text):
        plain += before
        if label:
            name = next((known for known in get_args(SpanLabel) if known == label), None)
            if name is None:
                raise ValueError(f"no span is called {label!r}")
            spans.append(Labelled(len(plain), len(plain) + len(words), name))
            plain += words
    if len(plain) != len(re.sub(r"\{\w+ |\}", "", text)):
        raise ValueError(f"braces do not pair up: {text!r}")
    return plain, tuple(spans)


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
