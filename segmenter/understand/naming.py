"""Which exercise a stretch of sentences is about, or at least which family it belongs to.

Three small linear models, trained by ``segmenter.understand.train``: the first weighs all that speaks for each
family over the whole stretch; the second weighs that against the other exercises of the class (``company``); the
third weighs, for each exercise of the catalogue, how it was named, how much the sentences sound like its tellings
(``telling``), and how likely its family is, against "none that the catalogue knows".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from segmenter.lesson import Family
from segmenter.resources import shipped
from segmenter.understand.alike import FAMILIES, Directions
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.company import Company, company_features
from segmenter.understand.evidence import Line
from segmenter.understand.reader import SUBJECTS, Readings, Rows
from segmenter.understand.telling import FIRST, Telling, telling

SURE, SURE_UNSPOKEN = 0.5, 0.6
"""Probability from which on an exercise is called by its name, and the same where nobody spoke that name."""
SPOKEN = 0.3
"""How strongly it must have been named to count as spoken."""
_FILE = "naming.npz"
_LEAST = -6.0
_UNHEARD_OF = -12.0
"""Log probability below which a telling says no more against an exercise."""
_COLUMNS = [SUBJECTS.index(family) for family in FAMILIES]
_THINKING, _QUIZ = FAMILIES.index("thinking"), SUBJECTS.index("quiz")


@dataclass(frozen=True)
class Weights:
    """One weight a feature, the same for all families (`families` of a stretch alone, `beside` of its company)
    and for all exercises.
    """

    families: Rows
    beside: Rows
    exercises: Rows
    company: Company

    def keep(self, folder: Path) -> None:
        """Write the weights to be shipped."""
        own = {name: getattr(self, name) for name in ("families", "beside", "exercises")}
        np.savez_compressed(folder / _FILE, **own, **asdict(self.company))


@dataclass(frozen=True)
class Named:
    """What a stretch is about: a family, with how likely it is, and the exercise where one is likely enough."""

    family: Family
    family_share: float
    exercise: str | None
    exercise_share: float


@dataclass(frozen=True)
class Evidence:
    """What is known of a stretch of n sentences.

    `lines` are those sentences; `meaning` (n, SIZE) what each means; `fits` (n, families) the reader's log
    probability of each family, riddles as thinking; `told` (exercises,) that of the stretch telling each exercise.
    """

    lines: Sequence[Line]
    meaning: Rows
    fits: Rows
    told: Rows


def evidence_of(
    first: int, last: int, readings: Readings, lines: Sequence[Line], known: Directions, learned: Telling
) -> Evidence:
    """Gather what is known of sentences `first` to `last` (exclusive) of a class."""
    own, meaning = lines[first:last], readings.meaning[first:last]
    told = learned.sounds_like((line.sentence.text for line in own), meaning, known.ids)
    fits = readings.subjects[first:last, _COLUMNS]
    fits[:, _THINKING] = np.logaddexp(fits[:, _THINKING], readings.subjects[first:last, _QUIZ])
    return Evidence(own, meaning, np.maximum(fits, _LEAST), told)


def name_stretches(
    stretches: Sequence[tuple[int, int]],
    readings: Readings,
    lines: Sequence[Line],
    catalogue: Catalogue,
    known: Directions,
) -> list[Named]:
    """Name the exercises of a class, each of sentences ``first`` to ``last`` (exclusive), in order."""
    seen = [evidence_of(first, last, readings, lines, known, telling()) for first, last in stretches]
    return named_by(weights(), seen, catalogue, known)


def named_by(own: Weights, seen: Sequence[Evidence], catalogue: Catalogue, known: Directions) -> list[Named]:
    """Name the exercises of one class with given weights."""
    alone = [log_softmax(family_features(one, catalogue, known) @ own.families) for one in seen]
    likely = [log_softmax(row @ own.beside) for row in company_features(alone, own.company)]
    return [_named_by(own, one, families, catalogue, known) for one, families in zip(seen, likely, strict=True)]


def _named_by(own: Weights, seen: Evidence, families: Rows, catalogue: Catalogue, known: Directions) -> Named:
    shares = np.exp(log_softmax(exercise_features(seen, families, catalogue, known) @ own.exercises))
    each, none = shares[:-1], shares[-1]
    total = np.exp(families) * none
    np.add.at(total, known.families, each)
    best = int(np.argmax(total))
    of_best = np.where(known.families == best, each, 0.0)
    at = int(np.argmax(of_best))
    spoken = max((line.named.get(known.ids[at], 0.0) for line in seen.lines), default=0.0)
    # A wrong name would bring the wrong cautions: what is not likely enough stays without.
    sure = of_best[at] >= (SURE if spoken >= SPOKEN else SURE_UNSPOKEN)
    return Named(
        FAMILIES[best],
        float(total[best]),
        known.ids[at] if sure else None,
        float(of_best[at] / max(total[best], 1e-9)),
    )


def family_features(seen: Evidence, catalogue: Catalogue, known: Directions) -> Rows:
    """Return one row a family: all that speaks for it over a stretch."""
    alike = known.per_family(seen.meaning)
    named = np.array([_named(line, catalogue) for line in seen.lines])
    words = np.array([[line.families.get(family, 0.0) for family in FAMILIES] for line in seen.lines])
    likely = np.zeros(len(FAMILIES))
    np.add.at(likely, known.families, np.exp(seen.told))
    columns = [
        np.maximum(np.log(likely + 1e-9), _UNHEARD_OF),
        _below_best(seen.fits.mean(axis=0)),
        _below_best(seen.fits[:FIRST].mean(axis=0)),
        5 * _below_best(alike.mean(axis=0)),
        5 * _below_best(alike.max(axis=0)),
        named.max(axis=0),
        np.log1p(named.sum(axis=0)),
        np.log1p(words.sum(axis=0)),
    ]
    return np.stack(columns, axis=1).astype(np.float32)


def exercise_features(seen: Evidence, families: Rows, catalogue: Catalogue, known: Directions) -> Rows:
    """Return one row an exercise of the catalogue and a last one for "none of them"."""
    place = {name: at for at, name in enumerate(known.ids)}
    count = len(known.ids)
    strongest, total, leading = np.zeros(count), np.zeros(count), np.zeros(count)
    for number, line in enumerate(seen.lines):
        for name, strength in line.named.items():
            strongest[place[name]] = max(strongest[place[name]], strength)
            total[place[name]] += strength
            leading[place[name]] = max(leading[place[name]], strength * (number < FIRST))
    alike = known.exercises(seen.meaning)
    few = np.sort(alike, axis=0)[-3:].mean(axis=0)
    mean = alike.mean(axis=0)
    efforts = any(line.efforts for line in seen.lines)
    sounding = np.array([catalogue.by_id(name).held in {"voiced", "glide"} for name in known.ids])
    columns = [
        strongest,
        np.log1p(total),
        leading,
        strongest >= max(0.5, float(strongest.max(initial=0.0))),
        8 * (few - few.mean()),
        8 * (few - few.max()),
        8 * (mean - mean.mean()),
        8 * (mean - mean.max()),
        families[known.families],
        np.maximum(seen.told, _UNHEARD_OF),
        sounding == efforts,
        np.zeros(count),
    ]
    rows = np.zeros((count + 1, len(columns)), dtype=np.float32)
    rows[:-1] = np.stack(columns, axis=1)
    rows[-1, -1] = 1.0
    return rows


def log_softmax(values: Rows) -> Rows:
    """Turn scores into log probabilities."""
    moved = values - values.max()
    return np.asarray(moved - np.log(np.exp(moved).sum()), dtype=np.float32)


@lru_cache(maxsize=1)
def weights() -> Weights:
    """Return the weights that ship."""
    with np.load(shipped("reader") / _FILE) as file:
        company = Company(file["usual"], file["together"], file["following"])
        return Weights(file["families"], file["beside"], file["exercises"], company)


def _below_best(values: Rows) -> Rows:
    return np.asarray(values - values.max(), dtype=np.float32)


def _named(line: Line, catalogue: Catalogue) -> NDArray[np.float64]:
    row = np.zeros(len(FAMILIES))
    for name, strength in line.named.items():
        at = FAMILIES.index(catalogue.by_id(name).family)
        row[at] = max(row[at], strength)
    return row
