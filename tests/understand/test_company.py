"""Families in company: what is learned from classes, and that a doubtful exercise leans to what is around it."""

import numpy as np
import pytest

from segmenter.understand.alike import FAMILIES
from segmenter.understand.company import company_features, company_of
from segmenter.understand.reader import Rows

VOICE, PITCH, HAND = (FAMILIES.index(name) for name in ("voice", "pitch", "hand"))
CLASSES = [[VOICE, PITCH, VOICE]] * 10 + [[HAND, HAND]] * 10 + [[]]


def _score(**likely: float) -> Rows:
    shares = np.full(len(FAMILIES), 1e-3)
    for name, share in likely.items():
        shares[FAMILIES.index(name)] = share
    return np.asarray(np.log(shares / shares.sum()), dtype=np.float32)


def test_rows_are_chances() -> None:
    company = company_of(CLASSES)
    for rows in (company.usual, company.together, company.following):
        assert rows.min() > 0
        assert rows.sum(axis=-1) == pytest.approx(1.0, abs=1e-5)


def test_what_stood_together_and_what_followed_is_learned() -> None:
    company = company_of(CLASSES)
    assert company.usual[VOICE] == pytest.approx(21 / (50 + len(FAMILIES)))
    assert company.together[PITCH].argmax() == VOICE
    assert company.together[HAND].argmax() == HAND
    assert company.following[PITCH].argmax() == VOICE
    assert company.following[PITCH, PITCH] < company.together[VOICE, PITCH]


def test_a_doubtful_exercise_leans_to_its_company() -> None:
    doubtful = _score(voice=0.45, hand=0.45)
    rows = company_features([_score(pitch=0.9), doubtful, _score(pitch=0.9)], company_of(CLASSES))
    assert rows[1].shape == (len(FAMILIES), 4)
    assert rows[1][:, 0] == pytest.approx(doubtful)
    assert (rows[1][VOICE, 1:] > rows[1][HAND, 1:] + 1).all()


def test_an_exercise_alone_is_as_usual() -> None:
    company = company_of(CLASSES)
    (row,) = company_features([_score(voice=0.5)], company)
    assert row[:, 1:] == pytest.approx(np.log(company.usual)[:, None].repeat(3, axis=1), abs=1e-6)
    assert company_features([], company) == []
