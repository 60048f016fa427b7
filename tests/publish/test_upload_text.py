"""The text under the upload."""

from __future__ import annotations

from segmenter.publish.upload_text import needed, summary, upload_text
from segmenter.publish.wording import DEFER
from tests.lessons import lesson_of, rich_lesson, spoken


def test_only_things_said_aloud_are_needed() -> None:
    assert needed(rich_lesson()) == ("a chair", "water")
    assert needed(lesson_of(spoken("Armchairs and waterfalls are lovely", 0))) == ()


def test_the_summary_is_two_sentences_of_facts() -> None:
    assert summary(rich_lesson()) == (
        "A class of 1 minute 20 seconds with 1 exercise and 1 quiz. "
        "It covers voice and thinking and asks you to practise on your own 1 time."
    )


def test_the_text_holds_times_doses_and_cautions() -> None:
    text = upload_text(rich_lesson())
    assert text.startswith("Voice & breath\n")
    assert "Steady ah (in class): 5 times, hold 10 seconds" in text
    assert "- Stop if it hurts.\n" in text
    assert "- Rest when hoarse. (usual advice, not said in class)" in text
    assert DEFER in text
    assert "Times\n0:00 Hello\n0:10 Steady ah\n1:05 Capitals\n" in text


def test_a_lesson_without_anything_still_defers() -> None:
    text = upload_text(lesson_of((), seconds=30))
    assert DEFER in text
    assert "in class)" not in text
