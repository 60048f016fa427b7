"""The plan of a class: what the clinician meant to do, one exercise a line. A hint, never a proof.

Read from plain text, a Markdown list or CSV (exercise, then dose). A line names an exercise in free words, with
a dose after a comma, colon, dash or in brackets if wanted::

    Lip trills, 5 times
    - Masako: 3 sets of 5
    effortful swallow (10)

What was planned may have been left out, and what was done may not have been planned: both become notes.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from segmenter.errors import PlanError
from segmenter.lesson import Chapter, Check, Word
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.mentions import find_mentions, stems
from segmenter.understand.repair import repair

BONUS = 0.3
"""What a plan adds to the evidence for an exercise that it names."""
KIN_BONUS = 0.1
"""What it adds to exercises that share words with a line that names none."""
LONGEST = 120
"""Characters; a longer line is a note, not the name of an exercise."""
NAMED = 0.5
"""Strength of a mention from which on a line names an exercise."""

_MARK = re.compile(r"^\s*(?:[-*+•–]|\(?\d{1,3}[.)](?=\s)|\[[ xX]?\])\s*(?:\[[ xX]?\]\s*)?")
_DOSE = re.compile(
    r"\s*(?:\(([^)]*)\)$|[,:;–—]\s*(.+)$|\s-\s+(.+)$|\s((?:x\s*)?\d+\s*(?:x|×|times|reps|sets|seconds|s)?\b.*)$)"
)
_HEADINGS = frozenset({"exercise", "exercises", "name", "title", "what", "activity"})
_RULE = re.compile(r"^[-=*_\s]*$")


@dataclass(frozen=True)
class Planned:
    """One line of a plan: the words as written, the exercise of the catalogue they name (or None), the dose."""

    title: str
    exercise: str | None
    dose: str | None
    line: int

    @property
    def words(self) -> frozenset[str]:
        """The words of the title that carry meaning, without endings."""
        return frozenset(stems(self.title))


@dataclass(frozen=True)
class Plan:
    """What was planned, in order."""

    items: tuple[Planned, ...]

    @property
    def exercises(self) -> tuple[str, ...]:
        """The catalogue ids in the order expected."""
        return tuple(item.exercise for item in self.items if item.exercise is not None)


def read_plan(path: Path, catalogue: Catalogue) -> Plan:
    """Read a plan from a text, Markdown or CSV file.

    Raises
    ------
    PlanError
        If the file cannot be read, or lines have faults; all are named with their numbers.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise PlanError(
            f"the plan cannot be read ({error})", path, "Save it as a plain text file in UTF-8"
        ) from error
    rows = _csv_rows(text) if path.suffix.lower() in {".csv", ".tsv"} else _text_rows(text)
    items: list[Planned] = []
    faults: list[str] = []
    for line, title, dose in rows:
        fault = _fault(title)
        if fault:
            faults.append(f"line {line}: {fault}")
        else:
            items.append(Planned(title, _exercise(title, catalogue), dose or None, line))
    if faults:
        raise PlanError("; ".join(faults), path, "Write one exercise a line, then build again")
    if not items:
        raise PlanError("the plan names no exercise", path, "Write one exercise a line, then build again")
    return Plan(tuple(items))


def _text_rows(text: str) -> Iterator[tuple[int, str, str]]:
    for number, raw in enumerate(text.splitlines(), 1):
        if _RULE.match(raw) or raw.lstrip().startswith("#"):
            continue
        line = _MARK.sub("", raw, count=1).strip().strip("*_").strip()
        found = _DOSE.search(line)
        title = line[: found.start()].strip() if found and found.start() else line
        dose = next((part for part in found.groups() if part), "").strip() if found and found.start() else ""
        # "pucker, smile" has a comma of its own: without a number it is no dose.
        yield (
            (number, title, dose)
            if re.search(r"\d|\b(?:once|twice|times|each|minute|couple|few)\b", dose)
            else (
                number,
                line,
                "",
            )
        )


def _csv_rows(text: str) -> Iterator[tuple[int, str, str]]:
    sample = text[:2_000]
    mark = max("\t;,", key=sample.count)
    reader = csv.reader(text.splitlines(), delimiter=mark)
    for row in reader:
        cells = [cell.strip() for cell in row]
        if not any(cells) or (reader.line_num == 1 and cells[0].lower() in _HEADINGS):
            continue
        yield reader.line_num, cells[0], " ".join(filter(None, cells[1:]))


def _fault(title: str) -> str | None:
    shown = title if len(title) <= 40 else f"{title[:39]}…"
    if not title:
        return "the name of the exercise is missing"
    if not re.search(r"[^\W\d_]{2}", title):
        return f"“{shown}” names no exercise"
    if len(title) > LONGEST:
        return f"“{shown}” is longer than {LONGEST} characters"
    return None


def _exercise(title: str, catalogue: Catalogue) -> str | None:
    """The exercise that a title names beyond doubt; slips of spelling are mended as mis-hearings are."""
    written = tuple(Word(text=word, start_ms=at, end_ms=at + 1) for at, word in enumerate(title.split()))
    for words in (written, repair(written, catalogue).words):
        mentions = [mention for mention in find_mentions(words, catalogue) if mention.strength >= NAMED]
        best = max(mentions, key=lambda m: (m.last - m.first, m.strength), default=None)
        if best is not None:
            return best.exercise
    return None


def plan_support(plan: Plan, catalogue: Catalogue) -> Mapping[str, float]:
    """Return a small bonus for each exercise that the plan speaks for, by id; others are missing."""
    support: dict[str, float] = {}
    for item in plan.items:
        if item.exercise is None:
            for exercise in catalogue.exercises:
                own = {stem for text in (exercise.name, exercise.plain, *exercise.says) for stem in stems(text)}
                if item.words and item.words <= own:
                    support.setdefault(exercise.id, KIN_BONUS)
    return support | dict.fromkeys(plan.exercises, BONUS)


def plan_checks(plan: Plan, chapters: Sequence[Chapter], words: Sequence[Word]) -> tuple[Check, ...]:
    """Return a note for each planned exercise that was not found, and each found one that was not planned.

    Parameters
    ----------
    plan : Plan
        What was meant.
    chapters : sequence of Chapter
        What was found.
    words : sequence of Word
        What was said; a free title counts as found where a chapter's title or a run of words has it.
    """
    found = {chapter.exercise for chapter in chapters if chapter.exercise is not None}
    said = [stem for word in words for stem in stems(word.text)]
    missing = [
        Check(
            code="planned-not-found",
            level="note",
            message=f"“{item.title}” is in the plan (line {item.line}), but was not found in the recording.",
        )
        for item in plan.items
        if (item.exercise not in found if item.exercise else not _heard(item, chapters, said))
    ]
    free = [item.words for item in plan.items if item.exercise is None]
    extra = [
        Check(
            code="found-not-planned",
            level="note",
            message=f"“{chapter.title}” was found, but is not in the plan.",
            start_ms=chapter.start_ms,
            end_ms=chapter.end_ms,
        )
        for chapter in chapters
        if chapter.kind == "exercise"
        and chapter.exercise is not None
        and chapter.exercise not in plan.exercises
        and not any(words and words <= frozenset(stems(chapter.title)) for words in free)
    ]
    return (*missing, *extra)


def _heard(item: Planned, chapters: Sequence[Chapter], said: Sequence[str]) -> bool:
    if any(item.words and item.words <= frozenset(stems(chapter.title)) for chapter in chapters):
        return True
    wanted = stems(item.title)
    size = len(wanted)
    return size > 0 and any(list(said[at : at + size]) == wanted for at in range(len(said) - size + 1))
