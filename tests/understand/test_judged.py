"""What the reader takes a sentence for, against what a rule finds in it."""

import numpy as np

from segmenter.lesson import Word
from segmenter.understand.dose import find_asks
from segmenter.understand.encoder import SIZE
from segmenter.understand.evidence import Line
from segmenter.understand.judged import judged_asks, judged_prompts
from segmenter.understand.prompts import find_prompts
from segmenter.understand.reader import ROLES, SUBJECTS, Readings, Sign
from segmenter.understand.sentences import split_sentences


def spoken(*texts: str) -> tuple[tuple[Word, ...], list[Line]]:
    """A word takes 0.3 s, a sentence is followed by a second."""
    words: list[Word] = []
    at = 0
    for text in texts:
        for token in text.split():
            words.append(Word(text=token, start_ms=at, end_ms=at + 280))
            at += 300
        at += 1_000
    lines = [Line(s, s.end_ms + 1_000, 1_000, {}, {}) for s in split_sentences(words)]
    return tuple(words), lines


def reads(lines: list[Line], *roles: dict[Sign, float]) -> Readings:
    table = np.zeros((len(lines), len(ROLES)), dtype=np.float32)
    for at, own in enumerate(roles):
        for role, chance in own.items():
            table[at, ROLES.index(role)] = chance
    empty = np.zeros((len(lines), len(SUBJECTS)), dtype=np.float32)
    return Readings(np.zeros((len(lines), SIZE), np.float32), empty, np.zeros(len(lines), np.float32), table)


def test_a_number_in_talk_is_no_dose() -> None:
    words, lines = spoken("Do ten of these.", "My brother did ten of these.")
    asks = find_asks(words[:4])
    assert len(judged_asks(asks, lines, reads(lines, {"ask": 0.9}))) == 1
    assert judged_asks(asks, lines, reads(lines, {"story": 0.9, "ask": 0.005})) == ()


def test_a_request_no_rule_knows_is_added_with_its_dose() -> None:
    words, lines = spoken("You may arrest the film here and make five more.", "We go on.")
    assert find_prompts(words) == []
    pause, back = judged_prompts([], lines, reads(lines, {"stop": 0.9}, {"return": 0.9}), words, ())
    assert (pause.kind, back.kind) == ("pause", "return")
    assert pause.end_ms == lines[0].sentence.end_ms
    assert pause.ask is not None
    assert pause.ask.reps == (5, 5)
    assert pause.ask.where == "home"


def test_a_request_that_reads_as_something_else_is_dropped() -> None:
    words, lines = spoken("Stop there, and practise six more at home.")
    prompts = find_prompts(words)
    assert len(judged_prompts(prompts, lines, reads(lines, {"stop": 0.5}), words, ())) == 1
    assert judged_prompts(prompts, lines, reads(lines, {"story": 0.9}), words, ()) == ()


def test_a_plain_request_is_kept_whatever_the_reader_says() -> None:
    words, lines = spoken("Pause me here and do four more.")
    assert len(judged_prompts(find_prompts(words), lines, reads(lines, {"story": 0.9}), words, ())) == 1


def test_a_request_that_rule_and_reader_find_is_one() -> None:
    words, lines = spoken("Pause me here and do four more.")
    prompts = judged_prompts(find_prompts(words), lines, reads(lines, {"stop": 0.9}), words, ())
    assert [prompt.kind for prompt in prompts] == ["pause"]
