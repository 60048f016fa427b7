"""What each kind of evidence adds: ``python -m tests.evaluation.adds [--write]``.

The reader is trained anew without the sentence encoder, and without what rules find, on four fifths of the voices
in ``models/training``, and scored on the last fifth; so are the numbers of doses. Takes a quarter of an hour.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from segmenter.files import write_whole
from segmenter.resources import shipped
from segmenter.understand.alike import directions
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.dose_verdicts import measure_of
from segmenter.understand.reader import ROLES, Readings, readings_of
from segmenter.understand.reader_features import ENCODED, PLACES
from segmenter.understand.stretches import best_stretches
from segmenter.understand.train import SEEDS, Texts, folds_of, texts_of
from segmenter.understand.train_doses import Case, cases_of, fit_doses
from segmenter.understand.train_reader import Lesson, fit
from tests.evaluation.score import Hits

Blind = Callable[[NDArray[np.float32]], None]


def _without_encoder(rows: NDArray[np.float32]) -> None:
    rows[:, :ENCODED] = 0.0


def _without_rules(rows: NDArray[np.float32]) -> None:
    rows[:, ENCODED:-PLACES] = 0.0


def _all(rows: NDArray[np.float32]) -> None:
    del rows


VIEWS: dict[str, Blind] = {
    "rules and encoder": _all,
    "rules alone": _without_encoder,
    "encoder alone": _without_rules,
}


def _blinded(lessons: Sequence[Lesson], blind: Blind) -> list[Lesson]:
    made = []
    for lesson in lessons:
        rows = lesson.rows.copy()
        blind(rows)
        made.append(replace(lesson, rows=rows))
    return made


def _read(name: str, texts: Texts, fold: Sequence[int]) -> list[Readings]:
    model = fit(_blinded(texts.without(fold), VIEWS[name]), SEEDS[0])
    held = _blinded([texts.classes[at] for at in fold], VIEWS[name])
    return [readings_of(one.meaning, np.asarray(model.predict([one.rows])[0])) for one in held]


def _starts(lessons: Sequence[Lesson], readings: Sequence[Readings]) -> float:
    hits = Hits()
    for lesson, reading in zip(lessons, readings, strict=True):
        times = [line.sentence.start_ms for line in lesson.example.lines]
        ours = {stretch.first for stretch in best_stretches(reading, times)[1:]}
        true = set(np.flatnonzero(lesson.example.starts).tolist())
        hits += Hits(len(true & ours), len(true), len(ours))
    return hits.f1


def _roles(lessons: Sequence[Lesson], readings: Sequence[Readings]) -> float:
    """F1 over all roles together."""
    truth = np.concatenate([lesson.example.roles for lesson in lessons])
    found = np.concatenate([reading.roles for reading in readings]) >= 0.5
    assert truth.shape[1] == len(ROLES)
    return Hits(int((truth & found).sum()), int(truth.sum()), int(found.sum())).f1


def _subjects(lessons: Sequence[Lesson], readings: Sequence[Readings]) -> float:
    pairs = zip(lessons, readings, strict=True)
    return float(np.mean(np.concatenate([r.subjects.argmax(axis=1) == x.example.subjects for x, r in pairs])))


def _doses(own: Sequence[Case], others: Sequence[Case], leave_out: str | None) -> float:
    def bare(case: Case) -> Case:
        kept = {n: v for n, v in case.features.items() if leave_out is None or not n.startswith(leave_out)}
        return replace(case, features=kept)

    weights = fit_doses([bare(case) for case in others])
    found = [measure_of(case.rule, weights.weigh(bare(case).features)[0]) for case in own]
    return _f1([case.measure for case in own], found)


def _f1(truth: Sequence[int], found: Sequence[int]) -> float:
    right = sum(t == f != 0 for t, f in zip(truth, found, strict=True))
    return Hits(right, sum(t != 0 for t in truth), sum(f != 0 for f in found)).f1


def main() -> None:
    """Train, score, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation.adds", description=__doc__)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--write", action="store_true", help="keep the table in models/reader/adds.md")
    chosen = parser.parse_args()
    catalogue = load_catalogue()
    texts = texts_of(shipped("training"), catalogue, directions(catalogue))
    fold, other = folds_of(texts.classes)[:2]
    held = [texts.classes[at] for at in fold]
    with ProcessPoolExecutor(chosen.workers) as pool:
        jobs = {name: pool.submit(_read, name, texts, fold) for name in VIEWS}
        # Numbers learn from readings of classes that the reader had not met.
        beside = pool.submit(_read, "rules and encoder", texts, other)
        readings = {name: job.result() for name, job in jobs.items()}
        lines = [
            f"Scores on {len(held)} classes by voices not trained on (`python -m tests.evaluation.adds --write`).",
            "",
            "| the reader sees | F1 of chapter starts | F1 of roles | subject right |",
            "| --- | --- | --- | --- |",
            *(
                f"| {name} | {_starts(held, own):.3f} | {_roles(held, own):.3f} | {_subjects(held, own):.1%} |"
                for name, own in readings.items()
            ),
        ]
        both = zip(held, readings["rules and encoder"], strict=True)
        own = [case for lesson, reading in both for case in cases_of(lesson.example, reading, ())]
        more = zip([texts.classes[at] for at in other], beside.result(), strict=True)
        others = [case for lesson, reading in more for case in cases_of(lesson.example, reading, ())]
    ruled = _f1([case.measure for case in own], [case.rule for case in own])
    lines += [
        "",
        f"| what a number measures, learned from {len(other)} classes | F1 |",
        "| --- | --- |",
        f"| by the rules | {ruled:.3f} |",
        f"| weighed, without what the reader takes the sentence for | {_doses(own, others, 'role '):.3f} |",
        f"| weighed | {_doses(own, others, None):.3f} |",
    ]
    text = "\n".join([*lines, ""])
    print(text)
    if chosen.write:
        write_whole(shipped("reader") / "adds.md", text)


if __name__ == "__main__":
    main()
