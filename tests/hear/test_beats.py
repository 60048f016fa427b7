"""A second hearing of a count puts a number right only where it fits what was sure."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from segmenter.hear.beats import PROMPT, doubtful, passages, said, settled
from segmenter.hear.recogniser import Recognised, RecognisedWord
from segmenter.hear.replay import Replay
from segmenter.hear.samples import RATE, Samples, Signal
from segmenter.hear.speech import NoJournal, transcribe
from segmenter.heard import Speech
from segmenter.intervals import Interval
from segmenter.lesson import Word


def on_beat(text: str, beat_ms: int = 1000) -> list[list[Word]]:
    """A word a beat; "-" is an empty beat, "a+b" are two words on one."""
    return [
        [
            Word(text=word, start_ms=at * beat_ms, end_ms=at * beat_ms + 300)
            for word in beat.split("+")
            if word != "-"
        ]
        for at, beat in enumerate(text.split())
    ]


@pytest.mark.parametrize(
    ("heard", "expected"),
    [
        ("In tune three four hold two three four", {1: 2}),
        ("one two free four", {2: 3}),
        ("five for three two one", {1: 4}),
        ("In two three four hold two three four", {}),  # "one" is not missed before a two
        ("one two three four rest", {}),
        ("10 8 6 and 5", {}),
        ("one two - four", {}),
        ("one two the+three four", {}),
    ],
)
def test_where_a_number_belongs(heard: str, expected: dict[int, int]) -> None:
    assert doubtful(on_beat(heard)) == expected


@pytest.mark.parametrize(
    ("again", "right"),
    [
        ("In, two, three, four. Hold, two, three, four.", {1: "two,"}),
        ("In, 2, 3, 4, hold, 2, 3, 4", {1: "2,"}),
        ("In, tune, three, four. Hold, two, three, four.", {}),
        ("8 8 8 8 8 8 8 8", {}),
        ("two two two two two two two two", {}),
        ("- two three four - - - -", {}),
    ],
)
def test_what_a_second_hearing_may_change(again: str, right: dict[int, str]) -> None:
    heard = on_beat("In tune three four hold two three four")
    found = settled(heard, on_beat(again), doubtful(heard))
    assert {at: word.text for at, word in found.items()} == right
    assert all(word.span == heard[at][0].span for at, word in found.items())


def test_passages_are_short_even_and_long_enough() -> None:
    def talk(*starts: int, length: int = 300) -> list[Interval]:
        return [(at, at + length) for at in starts]

    count = talk(1000, 2000, 3000, 4100, 5000)
    assert passages(count) == [count]
    assert passages([(0, 5000), *talk(6000, 7000, 8000), (9000, 12_000)]) == []
    slower = talk(20_000, 22_500, 25_000, 27_500)
    assert passages([*count, *slower]) == [count, slower]
    assert passages(talk(0, 300, 600, 900)) == []
    assert passages(talk(1000, 3000, 5000, 7000, length=1500)) == []


def test_a_word_belongs_to_the_beat_that_holds_most_of_it() -> None:
    (word,) = on_beat("one")[0]
    assert said([word], [(0, 200), (250, 900)]) == [[word], []]


class Primed(Replay):
    """Answers differently when it is primed."""

    def __init__(self, first: Recognised, again: Recognised) -> None:
        super().__init__([first])
        self.again = again
        self.prompts: list[str] = []

    def recognise(self, signal: Signal, language: str | None, prompt: str | None = None) -> Recognised:
        if prompt is not None:
            self.prompts.append(prompt)
            return self.again
        return super().recognise(signal, language)


def counted(text: str, first_s: float) -> Recognised:
    return Recognised(
        tuple(
            RecognisedWord(f" {word}", at + first_s, at + first_s + 0.3, 0.9)
            for at, word in enumerate(text.split())
        ),
        "en",
        1.0,
    )


@pytest.mark.parametrize(("language", "second"), [("en", "two,"), ("de", "tune,")])
def test_a_count_is_heard_again_with_its_time_kept(language: str, second: str, tmp_path: Path) -> None:
    sound = np.zeros(6 * RATE, np.float32)
    spans = [(at, at + 300) for at in (1000, 2000, 3000, 4000)]
    for start, end in spans:
        places = np.arange(start * RATE // 1000, end * RATE // 1000)
        sound[places] = 0.2 * np.sin(2 * np.pi * 220 * places / RATE)
    samples = Samples.store(tmp_path / "sound", sound)
    recogniser = Primed(counted("Hold, tune, three, four.", 1.0), counted("Hold, two, three, four.", 0.5))
    speech = [Speech(start_ms=start, end_ms=end) for start, end in spans]
    words = transcribe(samples, [], speech, recogniser, language=language, journal=NoJournal()).words
    assert [word.text for word in words] == ["Hold,", second, "three,", "four."]
    assert words[1].start_ms == pytest.approx(2000, abs=20)
    assert recogniser.prompts == ([PROMPT] if language == "en" else [])
