"""Sentences: every word once, in order."""

from hypothesis import given
from hypothesis import strategies as st

from segmenter.lesson import Word
from segmenter.understand.sentences import split_sentences


def say(text: str, pause_after: dict[str, int] | None = None) -> list[Word]:
    at, words = 0, []
    for token in text.split():
        words.append(Word(text=token, start_ms=at, end_ms=at + 200))
        at += 200 + (pause_after or {}).get(token, 50)
    return words


def test_splits_at_punctuation_and_at_long_pauses() -> None:
    words = say('Sit tall. "Ready?" Now hold and relax', {"hold": 4000})
    assert [s.text for s in split_sentences(words)] == ["Sit tall.", '"Ready?"', "Now hold", "and relax"]


def test_a_capital_after_a_breath_starts_a_sentence_where_the_full_stop_was_lost() -> None:
    words = say("five days of the week Next come short calls with Anna", {"week": 300})
    assert [s.text for s in split_sentences(words)] == ["five days of the week", "Next come short calls with Anna"]


def test_an_answer_and_the_next_question_are_two_sentences() -> None:
    words = say("What color was it? Brown, and what street was it on?", {"it?": 5000})
    assert [s.text for s in split_sentences(words)] == [
        "What color was it?", "Brown,", "and what street was it on?",
    ]  # fmt: skip
    words = say("Good. If I say hot, what is the opposite?", {"Good.": 5000})
    assert len(split_sentences(words)) == 2, "a question of two clauses is one"
    words = say("Good. It was brown, what a colour.", {"Good.": 5000})
    assert len(split_sentences(words)) == 2, "nothing is asked"


@given(st.lists(st.tuples(st.sampled_from(["ah", "go.", "why?", "on"]), st.integers(0, 3000)), max_size=60))
def test_every_word_is_in_exactly_one_sentence(drawn: list[tuple[str, int]]) -> None:
    at, words = 0, []
    for text, pause in drawn:
        words.append(Word(text=text, start_ms=at, end_ms=at + 100))
        at += 100 + pause
    spans = [(s.first, s.last) for s in split_sentences(words)]
    assert [i for first, last in spans for i in range(first, last)] == list(range(len(words)))
