"""Train what reads a class, from the text in ``models/training``: ``python -m segmenter.understand.train``.

Writes ``models/ner`` (spans of words) and ``models/reader`` (what sentences are, which exercise, what numbers
measure): the weights, and ``scores.md`` beside them, measured on voices that had no part in the training scored.
What learns from what others found learns from what they found with voices they had not met. The same text gives
the same weights on one machine.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path

import click
import numpy as np

from segmenter.files import write_whole
from segmenter.resources import shipped
from segmenter.understand.alike import Directions, centres, directions, keep
from segmenter.understand.catalogue import Catalogue, load_catalogue
from segmenter.understand.caution_words import chances_of, reader_odds
from segmenter.understand.examples import example_of, roughened
from segmenter.understand.naming import Evidence
from segmenter.understand.reader import Readings, Rows, readings_of
from segmenter.understand.reader_features import PLACES
from segmenter.understand.scripts import Said, Script, read_scripts
from segmenter.understand.spans import Span, spans_by
from segmenter.understand.train_cautions import fit_both, fit_words, odds_of, truth_of
from segmenter.understand.train_doses import cases_of as dose_cases
from segmenter.understand.train_doses import fit_doses
from segmenter.understand.train_heard import as_heard
from segmenter.understand.train_naming import Case, cases_of, fit_naming
from segmenter.understand.train_reader import Lesson, fit, lesson_of
from segmenter.understand.train_scores import caution_scores, dose_scores, scores, span_scores
from segmenter.understand.train_spans import Passage, fit_spans, found_in, passages_of
from segmenter.understand.train_telling import Told, fit_telling, told_alone, told_by_name, told_in_cases

SEEDS = (1, 2)
"""Networks whose answers are averaged."""
FOLDS = 5


@dataclass(frozen=True)
class Found:
    """Spans of one class: among its words, and in each of its passages (first token, last exclusive, label)."""

    spans: list[Span]
    passages: list[list[tuple[int, int, str]]]


@dataclass(frozen=True)
class Texts:
    """What is learned from: whole classes as written and as heard, of those not spoken copies as a recogniser may
    write them, and excerpts.
    """

    written: tuple[Lesson, ...]
    heard: tuple[Lesson, ...]
    copies: Mapping[int, Lesson]
    excerpts: tuple[Lesson, ...]

    @property
    def classes(self) -> tuple[Lesson, ...]:
        """Whole classes, first those as written."""
        return self.written + self.heard

    def without(self, held_out: Iterable[int]) -> list[Lesson]:
        """Return all lessons but those of some classes."""
        apart = set(held_out)
        copies = [copy for at, copy in self.copies.items() if at not in apart]
        return [*(own for at, own in enumerate(self.classes) if at not in apart), *copies, *self.excerpts]


def tellings(folder: Path) -> dict[str, list[str]]:
    """Return the sentences that tell each exercise, by its id."""
    told: dict[str, list[str]] = {}
    for script in read_scripts(folder):
        exercise: str | None = None
        for item in script.items:
            if isinstance(item, Said) and exercise is not None:
                told.setdefault(exercise, []).append(item.text)
            elif not isinstance(item, Said):
                exercise = getattr(item, "exercise", exercise)
    return told


def texts_of(folder: Path, catalogue: Catalogue, known: Directions, *, heard: bool = True) -> Texts:
    """Read and encode all text, or all but what was `heard`; takes minutes."""
    scripts = read_scripts(folder / "classes")

    def lessons(own: Iterable[Script]) -> tuple[Lesson, ...]:
        return tuple(lesson_of(example_of(script, catalogue), catalogue, known) for script in own)

    spoken = [as_heard(script, folder / "heard") if heard else None for script in scripts]
    unheard = [at for at, script in enumerate(spoken) if script is None]
    copies = lessons(roughened(scripts[at], 1) for at in unheard)
    return Texts(
        lessons(scripts),
        lessons(script for script in spoken if script is not None),
        dict(zip(unheard, copies, strict=True)),
        tuple(map(_nowhere, lessons(read_scripts(folder / "excerpts")))),
    )


def _nowhere(lesson: Lesson) -> Lesson:
    """Take the place in the class off an excerpt: it was cut out somewhere."""
    rows = lesson.rows.copy()
    rows[:, -PLACES:] = 0.0
    return replace(lesson, rows=rows)


def folds_of(classes: Sequence[Lesson], folds: int = FOLDS) -> list[list[int]]:
    """Part the classes so that no voice is in two parts."""
    voices = list(dict.fromkeys(lesson.example.script.head["voice"] for lesson in classes))
    return [
        [
            at
            for at, lesson in enumerate(classes)
            if voices.index(lesson.example.script.head["voice"]) % folds == fold
        ]
        for fold in range(folds)
    ]


def held_out(texts: Texts, workers: int) -> list[Readings]:
    """Return what a network makes of each class that has met none of its voice's."""
    folds = folds_of(texts.classes)
    made: dict[int, Readings] = {}
    with ProcessPoolExecutor(workers) as pool:
        jobs = [pool.submit(_out, texts, fold) for fold in folds]
        for fold, job in zip(folds, jobs, strict=True):
            for at, out in zip(fold, job.result(), strict=True):
                made[at] = readings_of(texts.classes[at].meaning, out)
    return [made[at] for at in range(len(texts.classes))]


def _out(texts: Texts, fold: Sequence[int]) -> list[Rows]:
    model = fit(texts.without(fold), SEEDS[0])
    return [np.asarray(model.predict([texts.classes[at].rows])[0]) for at in fold]


def _bytes(texts: Texts, seed: int) -> bytes:
    return fit(texts.without(()), seed).to_bytes()


def held_out_spans(texts: Texts, rest: Sequence[Script], workers: int) -> list[Found]:
    """Return the spans of each class as written, found by a recogniser that has met none of its voice's."""
    folds = folds_of(texts.written)
    made: dict[int, Found] = {}
    with ProcessPoolExecutor(workers) as pool:
        jobs = [pool.submit(_spans_out, texts, rest, fold) for fold in folds]
        for fold, job in zip(folds, jobs, strict=True):
            made |= dict(zip(fold, job.result(), strict=True))
    return [made[at] for at in range(len(texts.written))]


def _spans_out(texts: Texts, rest: Sequence[Script], fold: Sequence[int]) -> list[Found]:
    apart = set(fold)
    own = [lesson.example.script for at, lesson in enumerate(texts.written) if at not in apart]
    model = fit_spans(_passages([*own, *rest]))
    examples = [texts.written[at].example for at in fold]
    return [
        Found(spans_by(model, example.facts.words), found_in(model, _passages([example.script])))
        for example in examples
    ]


def held_out_cautions(texts: Texts) -> list[float]:
    """Return what words say for a caution in each sentence as written, to what has not met its voice."""
    made: dict[int, list[float]] = {}
    for fold in folds_of(texts.written):
        apart = set(fold)
        own = fit_words([*(lesson for at, lesson in enumerate(texts.written) if at not in apart), *texts.excerpts])
        made |= {at: odds_of(own, texts.written[at]) for at in fold}
    return [odds for at in range(len(texts.written)) for odds in made[at]]


def held_out_evidence(
    named: Sequence[Sequence[Case]], folds: Sequence[Sequence[int]], alone: Sequence[Told], known: Directions
) -> list[list[Evidence]]:
    """Return what is known of each exercise of each class, its telling to what has not met its voice."""
    made: dict[int, list[Evidence]] = {}
    for fold in folds:
        apart = set(fold)
        rest = (case for at, cases in enumerate(named) if at not in apart for case in cases)
        own = fit_telling([*told_in_cases(rest, known.ids), *alone])
        made |= {at: [case.evidence(known, own) for case in named[at]] for at in fold}
    return [made[at] for at in range(len(named))]


def _passages(scripts: Iterable[Script]) -> list[Passage]:
    return [passage for script in scripts for passage in passages_of(script)]


def train(workers: int) -> None:
    """Train and write everything; takes an hour of processor time."""
    catalogue = load_catalogue()
    reader, ner, folder = _target("reader"), _target("ner"), shipped("training")
    keep(reader, catalogue.exercises, centres(catalogue.exercises, tellings(folder / "tellings")))
    known = directions(catalogue)
    click.echo("reading and encoding the text")
    texts = texts_of(folder, catalogue, known)
    rest = [*read_scripts(folder / "tellings"), *read_scripts(folder / "excerpts")]
    folds = folds_of(texts.classes)
    click.echo(f"{len(texts.classes)} classes; training with voices held out")
    found = held_out_spans(texts, rest, workers)
    readings = held_out(texts, workers)
    named = [cases_of(lesson, read, known) for lesson, read in zip(texts.classes, readings, strict=True)]
    # Words that were mis-heard say little of numbers and cautions: those are learned from what is written.
    written = readings[: len(texts.written)]
    numbers = [
        dose_cases(lesson.example, read, own.spans)
        for lesson, read, own in zip(texts.written, written, found, strict=True)
    ]
    alone = [*told_alone(read_scripts(folder / "tellings")), *told_by_name(catalogue)]
    seen = held_out_evidence(named, folds, alone, known)
    odds, truth = held_out_cautions(texts), truth_of(texts.written)
    reader_said = np.concatenate([reader_odds(own) for own in written])
    both = fit_both(odds, reader_said, truth)
    report = scores(texts.classes, readings, named, seen, catalogue, known, folds)
    report += dose_scores(numbers, folds_of(texts.written))
    report += caution_scores(chances_of(odds, reader_said, both), truth)
    # Spans are marked in what is written alone.
    scripts = [lesson.example.script for lesson in texts.written]
    spotted = [spans for own in found for spans in own.passages]
    spans = span_scores(_passages(scripts), spotted, len(scripts))
    click.echo("training on all of it")
    fit_naming(named, seen, catalogue, known).keep(reader)
    fit_telling([*told_in_cases(chain(*named), known.ids), *alone]).keep(reader)
    fit_doses([case for cases in numbers for case in cases]).keep(reader)
    replace(fit_words([*texts.written, *texts.excerpts]), both=both).keep(reader)
    with ProcessPoolExecutor(workers) as pool:
        for seed, weights in zip(SEEDS, pool.map(_bytes, [texts] * len(SEEDS), SEEDS), strict=True):
            write_whole(reader / f"reader-{seed}.bin", weights)
    fit_spans(_passages([*scripts, *rest])).to_disk(ner)
    for target, text in ((reader, report), (ner, spans)):
        write_whole(target / "scores.md", text)
        click.echo(text)


def _target(name: str) -> Path:
    target = shipped("training").parent / name
    target.mkdir(exist_ok=True)
    return target


@click.command(help=__doc__)
@click.option(
    "--workers", default=os.cpu_count() or 1, show_default=True, help="Processes that train side by side."
)
def main(workers: int) -> None:
    """Read the text, train, score, write."""
    train(workers)


if __name__ == "__main__":
    main()
