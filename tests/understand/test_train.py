"""Training on a few classes: that it learns, repeats itself, and keeps voices apart."""

from itertools import chain
from pathlib import Path

import numpy as np
import pytest

from segmenter.resources import shipped
from segmenter.understand.alike import FAMILIES, directions
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.examples import example_of, roughened
from segmenter.understand.naming import named_by
from segmenter.understand.reader import readings_of
from segmenter.understand.scripts import Said, read_script, read_scripts
from segmenter.understand.train import folds_of, tellings
from segmenter.understand.train_naming import cases_of, fit_naming
from segmenter.understand.train_reader import Lesson, fit, lesson_of
from segmenter.understand.train_spans import fit_spans, found_in, passages_of, scores_of
from segmenter.understand.train_telling import fit_telling, told_by_name, told_in_cases

TRAINING = shipped("training")
FEW = sorted((TRAINING / "classes").glob("d_0[1-4]*.txt"))


@pytest.fixture(scope="module")
def lessons() -> list[Lesson]:
    catalogue = load_catalogue()
    return [lesson_of(example_of(read_script(path), catalogue), catalogue, directions(catalogue)) for path in FEW]


@pytest.mark.slow
def test_the_reader_learns_what_it_is_shown_and_learns_it_again(lessons: list[Lesson]) -> None:
    one, again = fit(lessons, seed=5, epochs=120), fit(lessons, seed=5, epochs=120)
    assert one.to_bytes() == again.to_bytes()
    readings = [readings_of(lesson.meaning, np.asarray(one.predict([lesson.rows])[0])) for lesson in lessons]
    for lesson, reading in zip(lessons, readings, strict=True):
        assert np.mean(reading.subjects.argmax(axis=1) == lesson.example.subjects) > 0.9
        starts = lesson.example.starts
        assert reading.starts[starts].mean() > reading.starts[~starts].mean() + 2

    catalogue = load_catalogue()
    known = directions(catalogue)
    pairs = zip(lessons, readings, strict=True)
    named = [cases_of(lesson, reading, known) for lesson, reading in pairs]
    learned = fit_telling(2 * [*told_in_cases(chain(*named), known.ids), *told_by_name(catalogue)])
    seen = [[case.evidence(known, learned) for case in cases] for cases in named]
    weights = fit_naming(named, seen, catalogue, known)
    names = chain(*(named_by(weights, own, catalogue, known) for own in seen))
    right = [name.family == FAMILIES[case.family] for name, case in zip(names, chain(*named), strict=True)]
    assert np.mean(right) > 0.9


def test_no_voice_is_in_two_parts(lessons: list[Lesson]) -> None:
    folds = folds_of(lessons, folds=2)
    voices = [{lessons[at].example.script.head["voice"] for at in fold} for fold in folds]
    assert sorted(at for fold in folds for at in fold) == list(range(len(lessons)))
    assert not voices[0] & voices[1]


def test_every_exercise_of_the_catalogue_is_told() -> None:
    told = tellings(TRAINING / "tellings")
    for exercise in load_catalogue().exercises:
        assert len(told[exercise.id]) >= 8, exercise.id


def test_every_training_class_names_exercises_of_the_catalogue() -> None:
    known = {exercise.id for exercise in load_catalogue().exercises}
    for script in read_scripts(TRAINING / "classes"):
        used = {item.exercise for item in script.items if getattr(item, "exercise", None)}  # type: ignore[union-attr]
        assert used <= known, script.name


def test_copies_lose_stops_and_capitals_but_no_word() -> None:
    for script in read_scripts(TRAINING / "excerpts")[:40]:
        for before, after in zip(script.items, roughened(script, 1).items, strict=True):
            if isinstance(before, Said) and isinstance(after, Said):
                words = [text.lower().strip(".,?!;:") for text in (before.text, after.text)]
                assert [w.strip(".,?!;:") for w in words[0].split()] == [
                    w.strip(".,?!;:") for w in words[1].split()
                ]


@pytest.mark.slow
def test_spans_learn_what_they_are_shown() -> None:
    passages = list(passages_of(read_script(FEW[0])))
    model = fit_spans(passages, epochs=150)
    recall, precision = scores_of(passages, found_in(model, passages))["all"]
    assert recall > 0.6
    assert precision > 0.6


def test_passages_mark_words(tmp_path: Path) -> None:
    text = (
        "voice: x\n== exercise voice\nask: {reps Ten of those}, {side each side}. | ask class reps=10\nshow: Go.\n"
    )
    path = tmp_path / "one.txt"
    path.write_text(text, encoding="utf-8")
    (passage,) = passages_of(read_script(path))
    assert passage.words == ("Ten", "of", "those,", "each", "side.", "Go.")
    assert passage.spans == ((0, 3, "reps"), (3, 5, "side"))
