"""Cautions known by their words: against scikit-learn, and in sentences that nobody trained on."""

from __future__ import annotations

import numpy as np
import pytest

from segmenter.resources import shipped
from segmenter.understand.alike import directions
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.caution_words import (
    CAUTION,
    CAUTION_BY_WORD,
    caution_words,
    is_caution,
    pieces,
)
from segmenter.understand.encoder import encode
from segmenter.understand.examples import example_of
from segmenter.understand.scripts import read_script
from segmenter.understand.train_cautions import fit_words, truth_of
from segmenter.understand.train_reader import lesson_of


@pytest.mark.parametrize(
    ("caution", "talk"),
    [
        ("Stop straight away if you feel dizzy.", "Stop by the office if you feel like a coffee."),
        ("Don't hold your breath while you push.", "Don't forget the raffle while you are here."),
        ("If it hurts, make it smaller.", "If it rains, we meet in the hall."),
        ("Grab the chair the moment you wobble.", "Grab a biscuit the moment you arrive."),
    ],
)
def test_a_caution_sounds_more_like_one_than_talk_in_like_words(caution: str, talk: str) -> None:
    own = caution_words()
    warned, told = (
        own.by_words(text, meaning) for text, meaning in zip((caution, talk), encode([caution, talk]), strict=True)
    )
    assert warned > told + 1


@pytest.mark.parametrize(
    "text",
    [
        "Open your eyes when you are ready, and rise slowly.",
        "Move your toes and take your time before you sit up.",
        "Keep a hand on the kitchen worktop.",
        "Do it again, and don't force anything.",
    ],
)
def test_words_of_safety_need_less_to_be_kept(text: str) -> None:
    between = (CAUTION + CAUTION_BY_WORD) / 2
    assert is_caution(between, text, 0.0)
    assert not is_caution(between, "Open your eyes when the music stops.", 0.0)
    assert is_caution(between, "Open your eyes when the music stops.", 1.0)
    assert not is_caution(CAUTION_BY_WORD / 2, text, 1.0)


def test_log_odds_are_those_of_scikit_learn() -> None:
    """Reference: TfidfVectorizer with sublinear_tf, and LogisticRegression.decision_function."""
    from scipy import sparse
    from sklearn.feature_extraction.text import TfidfVectorizer
    from sklearn.linear_model import LogisticRegression

    catalogue = load_catalogue()
    paths = sorted((shipped("training") / "classes").glob("d_0[1-3]*.txt"))
    lessons = [
        lesson_of(example_of(read_script(path), catalogue), catalogue, directions(catalogue)) for path in paths
    ]
    own = fit_words(lessons)
    texts = [line.sentence.text for lesson in lessons for line in lesson.example.lines]
    meaning = np.concatenate([lesson.meaning for lesson in lessons])
    words = TfidfVectorizer(analyzer=pieces, min_df=2, sublinear_tf=True).fit(texts)
    table = sparse.hstack([words.transform(texts), sparse.csr_matrix(meaning)])
    reference = LogisticRegression(C=20.0, max_iter=100).fit(table, truth_of(lessons)).decision_function(table)
    odds = [own.by_words(text, row) for text, row in zip(texts, meaning, strict=True)]
    assert odds == pytest.approx(reference, abs=0.01)
    assert np.mean((np.array(odds) > 0) == truth_of(lessons)) > 0.95
