"""Where lines and cues may end (DCMP Captioning Key, text)."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.publish.limits import LINE
from segmenter.publish.phrases import Token, Typesetter, may_part


@pytest.mark.parametrize(
    "text",
    [
        "hold for | twelve seconds",  # preposition and its phrase
        "hold for twelve | seconds",  # a number with its unit
        "do ten | times a day",
        "do five | to ten of them",  # a range
        "do five to | ten of them",
        "half | past two",
        "ask Doctor Mary | Brown first",  # first and last name
        "ask Dr. | Brown first",  # title and name
        "you should | rest now",  # helping verb and verb
        "a long | breath out",  # modifier and word
        "breathe in and | out again",  # no line ends on a conjunction
        "now wake | up the forehead",
        "keep it twenty | five seconds",
    ],
)
def test_some_words_stay_together(text: str) -> None:
    assert not may_part(text.replace("| ", "").split(), text.split().index("|"))


@pytest.mark.parametrize(
    "text",
    [
        "Sit up tall, | and breathe",
        "That was ten. | Well done",
        "hold for twelve seconds | and rest",
        "sit on your chair | with both feet down",
        "we meet on Friday | at the hall",
        "do all ten | of them",
    ],
)
def test_between_phrases_there_is_room(text: str) -> None:
    assert may_part(text.replace("| ", "").split(), text.split().index("|"))


def _tokens(text: str) -> list[Token]:
    return [Token(word, n * 400, n * 400 + 300) for n, word in enumerate(text.split())]


def test_the_lower_line_starts_a_phrase() -> None:
    tokens = _tokens("and keep the sound smooth for 12 seconds comfortable")
    assert Typesetter(tokens).lines(0, len(tokens)) == ("and keep the sound smooth", "for 12 seconds comfortable")


@settings(max_examples=80)
@given(st.lists(st.text("abcdefg", min_size=1, max_size=12), min_size=1, max_size=14))
def test_lines_hold_every_word_and_never_run_over(words: list[str]) -> None:
    tokens = _tokens(" ".join(words))
    setter = Typesetter(tokens)
    lines = setter.lines(0, len(tokens))
    assert " ".join(lines).split() == words
    if setter.break_of(0, len(tokens)) is None:
        assert len(" ".join(words)) > LINE
    else:
        assert len(lines) <= 2
        assert all(len(line) <= LINE for line in lines)
