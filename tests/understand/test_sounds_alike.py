"""Pronunciations and likeness of sound, checked against homophones and minimal pairs in print."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.understand.sounds_alike import distance, known, phones, phones_of

# Homophones of every dictionary (Oxford Advanced Learner's Dictionary, from memory).
HOMOPHONES = ["for four", "two too", "ate eight", "weight wait", "gait gate", "raise rays", "nose knows", "one won"]
# Minimal pairs as speech teaching uses them (common practice, no source): different words, one sound apart.
MINIMAL = ["pat bat", "tar car", "lip ship", "tongue tug", "hip lip", "chin thin"]


@pytest.mark.parametrize("pair", HOMOPHONES)
def test_homophones_sound_the_same(pair: str) -> None:
    one, other = pair.split()
    assert distance(phones(one), phones(other)) == 0


@pytest.mark.parametrize("pair", MINIMAL)
def test_minimal_pairs_do_not(pair: str) -> None:
    one, other = pair.split()
    assert distance(phones(one), phones(other)) > 0.05


def test_a_mishearing_is_nearer_than_another_term() -> None:
    heard = phones_of(["mental", "sin"])
    assert distance(heard, phones("mendelsohn")) < distance(heard, phones("masako"))
    assert distance(phones_of(["effort", "for"]), phones("effortful")) < 0.1


def test_words_of_no_dictionary_are_read_by_their_spelling() -> None:
    assert not known("phwashton")
    assert phones("phwashton").startswith("f")
    assert known("swallowing")
    assert known("you'd")


TEXTS = st.text("mæsækOhntiɛld", max_size=8)


@given(TEXTS, TEXTS)
def test_distance_is_symmetric_and_bounded(one: str, other: str) -> None:
    assert distance(one, other) == pytest.approx(distance(other, one))
    assert 0 <= distance(one, other) <= 1
    assert distance(one, one) == 0
