"""Captions say when somebody other than the presenter speaks."""

from __future__ import annotations

from segmenter.lesson import Caption, Speaker, Word
from segmenter.publish.captions import compose
from tests.lessons import lesson_of, spoken


def said(text: str, start_ms: int, speaker: Speaker | None) -> tuple[Word, ...]:
    return tuple(word.model_copy(update={"speaker": speaker}) for word in spoken(text, start_ms))


def captions(*parts: tuple[Word, ...]) -> tuple[Caption, ...]:
    return compose(lesson_of([word for part in parts for word in part]))[0]


def test_a_remark_has_a_caption_of_its_own_with_a_label() -> None:
    found = captions(
        said("Swallow hard and rest.", 0, "presenter"),
        said("Shall I do ten?", 1500, "other"),
        said("Three are enough.", 3000, "presenter"),
    )
    texts = [" ".join(caption.text.split()) for caption in found]
    assert texts == ["Swallow hard and rest.", "- Shall I do ten?", "- Three are enough."]


def test_one_voice_and_unsure_voices_have_no_label() -> None:
    for speaker in ("presenter", None):
        words = said("Swallow hard and rest. Do it three times.", 0, speaker)
        assert captions(words) == captions(said("Swallow hard and rest. Do it three times.", 0, "presenter"))
        assert "participant" not in " ".join(caption.text for caption in captions(words))


def test_a_turn_starts_with_a_dash() -> None:
    found = captions(said("My neck hurts when I do that. Is that right? I did ten of them at home.", 0, "other"))
    assert found[0].text.startswith("- ")
    assert " ".join(caption.text for caption in found).count("- ") == 1
