"""What a participant says is never read as an instruction, and is not lost either."""

from __future__ import annotations

import pytest

from segmenter.heard import Heard
from segmenter.lesson import Recording, Speaker, Word
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.timeline import Understood, understand

REMARKS = (
    "Shall I do ten?",
    "Hold it for twenty seconds.",
    "Pause the video here and do ten more.",
    "One, two, three, four, five, six, seven, eight.",
    "Do not do this if you feel dizzy.",
)
CLASS = (
    "Now we come to the effortful swallow.",
    "Swallow as hard as you can.",
    "We do three of them together.",
)


def understood(remark: str, speaker: Speaker | None) -> Understood:
    words: list[Word] = []
    for text, who in [
        *((line, "presenter") for line in CLASS),
        (remark, speaker),
        ("Well done, and rest.", "presenter"),
    ]:
        start = words[-1].end_ms + 900 if words else 0
        for n, piece in enumerate(text.split()):
            at = start + n * 350
            words.append(Word(text=piece, start_ms=at, end_ms=at + 320, speaker=who))
    end = words[-1].end_ms + 2000
    heard = Heard(
        start_ms=0, end_ms=end, recording=Recording(path=None, sha256=None, seconds=end / 1000),
        language="en", speech_model=None, words=tuple(words),
    )  # fmt: skip
    return understand(heard, load_catalogue())


def instructions(found: Understood) -> list[object]:
    return [
        item
        for chapter in found.chapters
        for item in (
            *chapter.asked,
            *chapter.practice,
            *(caution for caution in chapter.cautions if caution.source == "spoken"),
            *chapter.shown.counts,
        )
    ]


@pytest.mark.parametrize("remark", REMARKS)
def test_a_participant_gives_no_instruction(remark: str) -> None:
    quiet = understood("It is a nice day.", "other")
    found = understood(remark, "other")
    assert len(instructions(found)) == len(instructions(quiet))
    assert "ten" not in str(instructions(found))
    # The words themselves stay.
    assert remark.rsplit(maxsplit=1)[-1] in [word.text for word in found.words]


@pytest.mark.parametrize("remark", REMARKS[1:4])
def test_the_presenter_and_an_unsure_voice_do(remark: str) -> None:
    quiet = understood("It is a nice day.", "other")
    for speaker in ("presenter", None):
        assert str(instructions(understood(remark, speaker))) != str(instructions(quiet))
