"""How well the reader does with voices it has not met: a short report beside the weights."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from segmenter.understand.alike import FAMILIES, Directions
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.caution_words import CAUTION
from segmenter.understand.dose_verdicts import measure_of
from segmenter.understand.naming import Evidence, named_by
from segmenter.understand.reader import ROLES, SUBJECTS, Readings
from segmenter.understand.stretches import best_stretches
from segmenter.understand.train_doses import Case as DoseCase
from segmenter.understand.train_doses import fit_doses
from segmenter.understand.train_naming import Case, fit_naming
from segmenter.understand.train_reader import Lesson
from segmenter.understand.train_spans import Passage, scores_of

_LIKELY = 0.5


def dose_scores(cases: Sequence[Sequence[DoseCase]], folds: Sequence[Sequence[int]]) -> str:
    """Weigh the numbers of each part with weights fitted to the other parts; return rows of Markdown."""
    truth: list[int] = []
    ruled: list[int] = []
    weighed: list[int] = []
    places: list[bool] = []
    for fold in folds:
        apart = set(fold)
        own = fit_doses([case for at, some in enumerate(cases) if at not in apart for case in some])
        for case in (case for at in fold for case in cases[at]):
            measures, home = own.weigh(case.features)
            truth.append(case.measure)
            ruled.append(case.rule)
            weighed.append(measure_of(case.rule, measures))
            if case.home is not None:
                places.append((home >= 0.5) == case.home)
    rows = (("by the rules alone", np.array(ruled)), ("weighed", np.array(weighed)))
    true = np.array(truth)
    lines = [
        "",
        "| numbers that ask for something, and what they measure | recall | precision |",
        "| --- | --- | --- |",
        *(
            _row(what, int(((true == said) & (true > 0)).sum()), int((true > 0).sum()), int((said > 0).sum()))
            for what, said in rows
        ),
        "",
        f"Class or home: {np.mean(places):.1%} of {len(places)} right.",
        "",
    ]
    return "\n".join(lines)


def caution_scores(chances: NDArray[np.float32], truth: NDArray[np.bool_]) -> str:
    """Return rows about cautions, read by words and reader together, at the chance from which one is kept."""
    rows = ["", "| cautions, by their words and in their place | recall | precision |", "| --- | --- | --- |"]
    for least in (CAUTION, _LIKELY):
        found = chances >= least
        row = _row(f"from a chance of {least}", int((truth & found).sum()), int(truth.sum()), int(found.sum()))
        rows.append(row)
    return "\n".join([*rows, ""])


def scores(
    lessons: Sequence[Lesson],
    readings: Sequence[Readings],
    named: Sequence[Sequence[Case]],
    seen: Sequence[Sequence[Evidence]],
    catalogue: Catalogue,
    known: Directions,
    folds: Sequence[Sequence[int]],
) -> str:
    """Return a report in Markdown; `readings` come from networks that had not met the voice."""
    rows = [
        f"Scores on {len(lessons)} classes as written or heard, each read by a network that had met none of its",
        f"voice (`python -m segmenter.understand.train`; {len(folds)} parts).",
        "",
        "| what | recall | precision |",
        "| --- | --- | --- |",
        _row("a chapter starts with this sentence", *_starts(lessons, readings, 0)),
        _row("the same, a sentence early or late allowed", *_starts(lessons, readings, 1)),
    ]
    truth = np.concatenate([lesson.example.roles for lesson in lessons])
    found = np.concatenate([reading.roles for reading in readings]) >= _LIKELY
    for at, role in enumerate(ROLES):
        both = int((truth[:, at] & found[:, at]).sum())
        rows.append(_row(f"role: {role}", both, int(truth[:, at].sum()), int(found[:, at].sum())))
    subjects = np.concatenate([lesson.example.subjects for lesson in lessons])
    likely = np.concatenate([reading.subjects.argmax(axis=1) for reading in readings])
    rows += ["", "| what | right |", "| --- | --- |"]
    rows.append(f"| subject of a sentence, one of {len(SUBJECTS)} | {np.mean(subjects == likely):.1%} |")
    return "\n".join([*rows, *_names(named, seen, folds, catalogue, known), ""])


def _row(what: str, right: int, wanted: int, found: int) -> str:
    return f"| {what} | {right / max(1, wanted):.2f} ({right} of {wanted}) | {right / max(1, found):.2f} |"


def _starts(lessons: Sequence[Lesson], readings: Sequence[Readings], slack: int) -> tuple[int, int, int]:
    right = wanted = found = 0
    for lesson, reading in zip(lessons, readings, strict=True):
        true = np.flatnonzero(lesson.example.starts)
        times = [line.sentence.start_ms for line in lesson.example.lines]
        ours = np.array([stretch.first for stretch in best_stretches(reading, times)[1:]])
        right += _paired(true, ours, slack)
        wanted, found = wanted + len(true), found + len(ours)
    return right, wanted, found


def _paired(true: NDArray[np.int64], ours: NDArray[np.int64], slack: int) -> int:
    left, right = set(ours.tolist()), 0
    for at in true.tolist():
        near = min((one for one in left if abs(one - at) <= slack), key=lambda one: abs(one - at), default=None)
        if near is not None:
            left.remove(near)
            right += 1
    return right


def _names(
    named: Sequence[Sequence[Case]],
    seen: Sequence[Sequence[Evidence]],
    folds: Sequence[Sequence[int]],
    catalogue: Catalogue,
    known: Directions,
) -> list[str]:
    """Name the exercises of each part with weights fitted to the other parts."""
    family = exercise = wanted = given = total = 0
    for fold in folds:
        apart = set(fold)
        rest = [at for at in range(len(named)) if at not in apart]
        own = fit_naming([named[at] for at in rest], [seen[at] for at in rest], catalogue, known)
        names = ((named[at], named_by(own, seen[at], catalogue, known)) for at in fold)
        for case, found in (pair for cases, them in names for pair in zip(cases, them, strict=True)):
            total += 1
            family += found.family == FAMILIES[case.family]
            wanted += case.exercise is not None
            given += found.exercise is not None
            exercise += case.exercise is not None and found.exercise == known.ids[case.exercise]
    return [
        f"| family of an exercise whose sentences are known | {family / total:.1%} of {total} |",
        f"| exercise of the catalogue | {exercise / wanted:.1%} of {wanted} named right, {given} names given |",
    ]


def span_scores(passages: Sequence[Passage], found: Sequence[Sequence[tuple[int, int, str]]], classes: int) -> str:
    """Return how well spans are found in passages by recognisers that had not met the voice, in Markdown."""
    rows = [
        f"Scores of spaCy's scorer on {classes} classes, each read by a recogniser that had met no class of its",
        "voice (`python -m segmenter.understand.train`).",
        "",
        "| label | recall | precision |",
        "| --- | --- | --- |",
    ]
    rows += [f"| {label} | {r:.2f} | {p:.2f} |" for label, (r, p) in scores_of(passages, found).items()]
    return "\n".join([*rows, ""])
