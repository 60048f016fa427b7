"""Remarks that age: found in other people's ways of saying them, and not in words that only look alike."""

from __future__ import annotations

import pytest

from segmenter.understand.ageing import ageing_remarks
from tests.lessons import spoken


def codes(text: str) -> set[str]:
    return {remark.code for remark in ageing_remarks(spoken(text, 1_000))}


@pytest.mark.parametrize(
    ("code", "text"),
    [
        ("month", "We start again in September."),
        ("month", "The next class is on May the third."),
        ("month", "Since March we meet upstairs."),
        ("day", "See you next Tuesday, everyone."),
        ("day", "The hall is closed tomorrow."),
        ("weather", "It is so sunny today, what a treat."),
        ("weather", "I know it is cold outside."),
        ("season", "Merry Christmas to all of you."),
        ("time", "We finish at ten o'clock as always."),
        ("time", "The bus goes at half past eleven."),
        ("time", "Be there by 3 pm please."),
        ("price", "A straw costs you ten pence at most."),
        ("price", "It is £5 at the door."),
        ("address", "Look at our page, example dot org."),
        ("address", "You can find it on www something."),
        ("address", "Write to hello@example.org if you like."),
    ],
)
def test_found(code: str, text: str) -> None:
    assert code in codes(text)


@pytest.mark.parametrize(
    "text",
    [
        "You may feel a stretch and then march on the spot.",
        "Do this ten times in the morning.",
        "Breathe in for four and out for six.",
        "If you have a cold, rest your voice.",
        "I am so glad that you came.",
        "Spring up from the chair, then fall back softly.",
        "Lift a two pound weight if you have one.",
        "Connect the dots, and come back to me.",
        "Three seconds, and let go.",
    ],
)
def test_left_alone(text: str) -> None:
    assert codes(text) == set()


def test_a_remark_is_the_whole_sentence_with_its_moment() -> None:
    (remark,) = ageing_remarks(spoken("Sit tall. It is raining outside again. Breathe in.", 1_000))
    assert "This speaks of the weather: “It is raining outside again.”" in remark.message
    assert remark.start_ms == 1_700
    assert remark.level == "note"


def test_a_long_sentence_is_quoted_in_part() -> None:
    (remark,) = ageing_remarks(spoken("It is raining outside " + "and so on " * 30, 0, each_ms=100))
    assert len(remark.message) < 240
    assert "so …”" in remark.message
