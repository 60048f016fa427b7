"""Exercises known by how they are told: against scikit-learn, and in words that nobody trained on."""

from __future__ import annotations

import numpy as np
import pytest

from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.encoder import SIZE, encode
from segmenter.understand.telling import row_of, stems_of, telling
from segmenter.understand.train_telling import Told, fit_telling, told_by_name

NEVER_NAMED = [
    (
        "thumb-opposition",
        "Bring your thumb over to meet the pointer, then the long finger, the ring finger, the little one. "
        "Make a neat little ring each time. Then walk it home again.",
    ),
    (
        "sit-to-stand",
        "Shuffle forward on the seat. Feet under the knees, nose over the toes, and up we get. "
        "Lower yourself down slowly, and no plonking.",
    ),
    (
        "chin-retraction",
        "Draw the head straight back as if somebody pushed your chin with one finger. "
        "You are making a double chin on purpose. Look ahead, not at the floor.",
    ),
    (
        "calf-stretch",
        "One foot goes well behind you with the heel on the ground. Bend the front knee and lean into the wall "
        "until the back of the lower leg pulls.",
    ),
]


@pytest.mark.parametrize(("exercise", "text"), NEVER_NAMED, ids=[name for name, _ in NEVER_NAMED])
def test_an_exercise_is_known_by_how_it_is_told(exercise: str, text: str) -> None:
    ids = [each.id for each in load_catalogue().exercises]
    texts = [f"{sentence}." for sentence in text.rstrip(".").split(". ")]
    found = telling().sounds_like(texts, encode(texts), ids)
    best = [ids[at] for at in np.argsort(found)[::-1][:3]]
    assert exercise in best


def test_every_exercise_of_the_catalogue_was_learned() -> None:
    assert set(telling().ids) == {exercise.id for exercise in load_catalogue().exercises}


def test_an_exercise_that_was_not_learned_is_as_likely_as_any() -> None:
    found = telling().sounds_like(["Roll your shoulders."], encode(["Roll your shoulders."]), ["one-of-our-own"])
    assert found == pytest.approx([-np.log(len(telling().ids))])


def test_probabilities_are_those_of_scikit_learn() -> None:
    """Reference: TfidfVectorizer with sublinear_tf, and LogisticRegression.predict_log_proba."""
    from sklearn.feature_extraction.text import TfidfVectorizer
    from sklearn.linear_model import LogisticRegression

    told = told_by_name(load_catalogue())[:12]
    own = fit_telling(told)
    words = TfidfVectorizer(analyzer=list, min_df=2, sublinear_tf=True).fit([one.stems for one in told])
    table = np.concatenate(
        [words.transform([one.stems for one in told]).toarray(), np.stack([_meanings(one) for one in told])], axis=1
    )
    reference = LogisticRegression(C=100.0, max_iter=150).fit(
        table.astype(np.float32), [one.exercise for one in told]
    )
    for one, row in zip(told, reference.predict_log_proba(table), strict=True):
        texts = [" ".join(one.stems)]
        if stems_of(texts) == one.stems:  # a stem that is a word of its own
            found = own.sounds_like(texts, one.meaning, list(reference.classes_))
            assert found == pytest.approx(row, abs=0.02)


def test_words_weigh_by_how_rare_they_are() -> None:
    places, rarity = {"chin": 0, "the": 1}, np.array([3.0, 1.0], dtype=np.float32)
    row = row_of(["chin", "the", "the", "never heard"], np.zeros((1, SIZE), dtype=np.float32), places, rarity)
    chin, the = 3.0, 1.0 + np.log(2)
    assert row[:2] == pytest.approx(np.array([chin, the]) / np.hypot(chin, the))
    assert row[-1] == 1.0


def _meanings(one: Told) -> np.ndarray:
    return np.concatenate([one.meaning.mean(axis=0), 0.7 * one.meaning[:4].mean(axis=0)])
