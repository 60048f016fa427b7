"""What each kind of evidence adds: ``python -m tests.evaluation.adds [--write]``.

The reader is trained anew without the sentence encoder, without what rules find, and without what a recogniser
heard, on four fifths of the voices in ``models/training``, and scored on the last fifth; so are the numbers of
doses. Takes half an hour.
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
from segmenter.understand.train import SEEDS, folds_of, texts_of
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


FULL = "rules and encoder"
VIEWS: dict[str, Blind] = {
    FULL: _all,
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


def _read(name: str, learned: Sequence[Lesson], held: Sequence[Lesson]) -> list[Readings]:
    model = fit(_blinded(learned, VIEWS[name]), SEEDS[0])
    pairs = zip(held, _blinded(held, VIEWS[name]), strict=True)
    return [readings_of(one.meaning, np.asarray(model.predict([seen.rows])[0])) for one, seen in pairs]


def _row(name: str, lessons: Sequence[Lesson], own: Sequence[Readings]) -> str:
    return f"| {name} | {_starts(lessons, own):.3f} | {_roles(lessons, own):.3f} | {_subjects(lessons, own):.1%} |"


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
    unspoken = texts_of(shipped("training"), catalogue, directions(catalogue), heard=False)
    fold, other = folds_of(texts.classes)[:2]
    written = [at for at in fold if at < len(texts.written)]
    held, more = ([texts.classes[at] for at in own] for own in (fold, other))
    heard = held[len(written) :]
    with ProcessPoolExecutor(chosen.workers) as pool:
        jobs = {name: pool.submit(_read, name, texts.without(fold), held) for name in VIEWS}
        bare = pool.submit(_read, FULL, unspoken.without(written), heard)
        # Numbers learn from readings of classes that the reader had not met.
        beside = pool.submit(_read, FULL, texts.without(other), more)
        readings = {name: job.result() for name, job in jobs.items()}
        lines = [
            f"Scores on {len(held)} classes by voices not trained on (`python -m tests.evaluation.adds --write`).",
            "",
            "| the reader sees | F1 of chapter starts | F1 of roles | subject right |",
            "| --- | --- | --- | --- |",
            *(_row(name, held, own) for name, own in readings.items()),
            "",
            f"| what was heard of {len(heard)} of them, to a reader that learned from | starts | roles | subject |",
            "| --- | --- | --- | --- |",
            _row("what is written", heard, bare.result()),
            _row("what was heard too", heard, readings[FULL][len(written) :]),
        ]
        both = zip(held, readings[FULL], strict=True)
        own = [case for lesson, reading in both for case in cases_of(lesson.example, reading, ())]
        others = [
            case
            for lesson, reading in zip(more, beside.result(), strict=True)
            for case in cases_of(lesson.example, reading, ())
        ]
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
