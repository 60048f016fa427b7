"""Annotated classes as the reader would meet them: laid out in time, evidence gathered, truth beside it."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from segmenter.understand.catalogue import Catalogue
from segmenter.understand.evidence import Facts, Line, gather, lines_of
from segmenter.understand.layout import Truth, laid_out
from segmenter.understand.reader import ROLES, SUBJECTS, Sign, Subject
from segmenter.understand.repair import repair
from segmenter.understand.scripts import Counted, Opens, Role, Said, Script

_ROLE_OF_MARK: dict[str, Role] = {
    "caution": "caution", "clue": "clue", "answer": "answer", "stop": "stop", "resume": "return",
}  # fmt: skip


@dataclass(frozen=True)
class Example:
    """One class: facts and lines; of each line its chapter, its subject, and its roles (n, len(ROLES))."""

    script: Script
    truth: Truth
    facts: Facts
    lines: list[Line]
    chapters: NDArray[np.int64]
    subjects: NDArray[np.int64]
    roles: NDArray[np.bool_]

    @property
    def starts(self) -> NDArray[np.bool_]:
        """Whether a chapter starts with each line; the first is no news."""
        return np.asarray(np.diff(self.chapters, prepend=self.chapters[:1]) != 0)


def example_of(script: Script, catalogue: Catalogue) -> Example:
    """Lay a class out, and say of every line what the annotation says of it."""
    heard, truth = laid_out(script)
    heard = heard.model_copy(update={"words": repair(heard.words, catalogue).words})
    facts = gather(heard, catalogue)
    lines = lines_of(facts)
    starts = [chapter.start_ms for chapter in truth.chapters]
    # A line belongs where its first words are: two sentences run into one by a recogniser may span a boundary.
    early = [(2 * line.sentence.start_ms + line.sentence.end_ms) // 3 for line in lines]
    chapters = np.searchsorted(starts, early, side="right") - 1
    subjects = [SUBJECTS.index(_subject(truth.chapters[at].opens)) for at in chapters]
    return Example(script, truth, facts, lines, chapters, np.array(subjects), _roles(script, truth, lines))


def roughened(script: Script, seed: int) -> Script:
    """Return a class as recognisers often write it: full stops and capitals missing here and there."""
    chance = random.Random(f"{script.name} {seed}")  # noqa: S311
    bare = chance.random() < 0.3
    return replace(
        script,
        items=tuple(_rough(item, chance, bare=bare) if isinstance(item, Said) else item for item in script.items),
    )


def _rough(said: Said, chance: random.Random, *, bare: bool) -> Said:
    text = said.text
    if bare:
        text = re.sub(r"[.,?!;:]( |$)", r"\1", text).lower()
    elif chance.random() < 0.35:
        text = re.sub(r"[.?!]$", "", text)
    elif chance.random() < 0.3:
        text = text[:1].lower() + text[1:]
    return replace(said, text=text, spans=())


def _subject(opens: Opens) -> Subject:
    if opens.kind == "exercise":
        return opens.family or "talk"
    return opens.kind


def _roles(script: Script, truth: Truth, lines: Sequence[Line]) -> NDArray[np.bool_]:
    said = [item for item in script.items if isinstance(item, Said | Counted)]
    table = np.zeros((len(lines), len(ROLES)), dtype=np.bool_)
    for at, line in enumerate(lines):
        start, end = line.sentence.start_ms, line.sentence.end_ms
        for item, (first, last, _) in zip(said, truth.sentences, strict=True):
            shared = min(last, end) - max(first, start)
            if shared > 0 and 2 * shared > min(last - first, end - start):
                table[at, [ROLES.index(role) for role in _of(item)]] = True
    return table


def _of(item: Said | Counted) -> Iterator[Sign]:
    if isinstance(item, Counted):
        yield "show"
        return
    yield from item.roles
    yield from (_ROLE_OF_MARK[mark] for mark in item.marks)
    for dose in item.doses:
        yield "class" if dose.where == "class" else "home"
