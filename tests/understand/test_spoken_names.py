"""Names of people are listed with their times; days, places, trade terms and common words are not."""

from __future__ import annotations

import pytest

from segmenter.lesson import Word
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.spoken_names import names_spoken

CATALOGUE = load_catalogue()


def told(text: str, speaker: str = "presenter") -> str:
    words = [
        Word(text=word, start_ms=n * 1000, end_ms=n * 1000 + 900, speaker=speaker)  # type: ignore[arg-type]
        for n, word in enumerate(text.split())
    ]
    checks = names_spoken(words, CATALOGUE)
    return checks[0].message if checks else ""


@pytest.mark.parametrize(
    ("text", "name"),
    [
        ("Well done Rosalind, and rest.", "Rosalind (0:02)"),
        ("Not your teeth, Rosalind.", "Rosalind (0:03)"),
        ("Good morning Rosalind.", "Rosalind (0:02)"),
        ("We thank Mrs. Okonkwo for the cake.", "Okonkwo (0:03)"),
        ("And Rosalind says it helps.", "Rosalind (0:01)"),
        ("If you see Rosalind, wave.", "Rosalind (0:03)"),
        ("That was about Rosalind's knee.", "Rosalind (0:03)"),
        ("Hello Pat.", "Pat (0:01)"),
        ("Lift it, O'Brien, slowly.", "O'Brien (0:02)"),
    ],
)
def test_people_are_named_with_their_time(text: str, name: str) -> None:
    assert f"spoken: {name}." in told(text)


def test_every_mention_is_found_once_a_name_is_known() -> None:
    text = "Rosalind sat down. Well done Rosalind. We give Rosalind a hand."
    assert "Rosalind (0:00, 0:05, 0:08)" in told(text)


@pytest.mark.parametrize(
    "text",
    [
        "Okay, now we go on.",
        "Put a finger on your Adam's apple.",
        "Well, see you on Friday.",
        "Hello everyone, welcome back.",
        "I saw it in Galway, on Monday.",
        "We go on with the Masako.",
        "Cork, Dublin, Paris, Galway.",
        "Mind yourselves, please God.",
        "We take the train to Perth.",
        "well done rosalind and rest",
        "Pat the skin dry.",
        "I'm Rosalind and I am your therapist.",
        "My name is Rosalind.",
    ],
)
def test_nobody_is_named(text: str) -> None:
    assert told(text) == ""


def test_a_participant_who_gives_a_name_is_named() -> None:
    assert "Rosalind" in told("Yes hello, this is for Rosalind.", "other")


def test_a_long_list_is_kept_short() -> None:
    names = ["Ann" + chr(97 + n) for n in range(15)]
    message = told(" ".join(f"Well done {name}." for name in names))
    assert "and 3 more names" in message
    assert told("Well done Anna. " * 7).count("0:") == 4
