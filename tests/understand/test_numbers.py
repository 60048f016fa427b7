from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.understand.numbers import counted_places, plain, read_numbers

Read = list[tuple[float | None, float | None]]

SAID: list[tuple[str, Read]] = [
    ("twelve", [(12, 12)]),
    ("twenty-five of those", [(25, 25)]),
    ("thirty five seconds", [(35, 35)]),
    ("Forty, two of them", [(40, 40), (2, 2)]),
    ("half a dozen", [(6, 6)]),
    ("a dozen swallows", [(12, 12)]),
    ("a hundred and ten", [(110, 110)]),
    ("five to ten", [(5, 10)]),
    ("two or three goes", [(2, 3)]),
    ("10-15 times", [(10, 15)]),
    ("ten–fifteen", [(10, 15)]),
    ("eight or maybe nine", [(8, 9)]),
    ("between six and eight", [(6, 8)]),
    ("six and eight", [(6, 6), (8, 8)]),
    ("at least eight", [(8, None)]),
    ("a minimum of four", [(4, None)]),
    ("five or more", [(5, None)]),
    ("up to ten", [(None, 10)]),
    ("no more than ten", [(None, 10)]),
    ("don’t go past twenty", [(None, 20)]),
    ("ten or fewer", [(None, 10)]),
    ("at least five, up to ten", [(5, 10)]),
    ("once", [(1, 1)]),
    ("once or twice", [(1, 2)]),
    ("half a minute", [(0.5, 0.5)]),
    ("a minute and a half", [(1.5, 1.5)]),
    ("two and a half minutes", [(2.5, 2.5)]),
    ("a ten-second squeeze", [(10, 10)]),
    ("2-3-4-5", [(2, 2), (3, 3), (4, 4), (5, 5)]),
    ("one-two-three", [(1, 1), (2, 2), (3, 3)]),
    ("ten to five", [(10, 10), (5, 5)]),
    ("ten, eleven", [(10, 10), (11, 11)]),
    ("1,200 people", [(1200, 1200)]),
]


@pytest.mark.parametrize(("said", "expected"), SAID)
def test_numbers_are_read_as_they_are_said(said: str, expected: Read) -> None:
    assert [(number.lo, number.hi) for number in read_numbers(said.split())] == expected


@pytest.mark.parametrize(
    "said",
    [
        "a couple of times", "a handful", "a few more", "several", "for you and for me", "go to bed", "who won",
        "we ate early",
        "too many", "at half past", "the tenth of the month", "10:30", "£5", "second to none", "more of the same",
    ],
)  # fmt: skip
def test_words_that_are_no_numbers_give_none(said: str) -> None:
    assert read_numbers(said.split()) == []


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        ("do that for more times", [4]),
        ("one two three for five", [1, 2, 3, 4, 5]),
        ("one, two, three, for", [1, 2, 3, 4]),
        ("six seven ate nine", [6, 7, 8, 9]),
        ("one to three four five", [1, 2, 3, 4, 5]),
        ("hold for five", [5]),
        ("three for me", [3]),
        ("one to three", [None]),
    ],
)
def test_sound_alikes_are_numbers_only_among_numbers(said: str, expected: list[float | None]) -> None:
    assert [number.value for number in read_numbers(said.split())] == expected


def test_a_number_knows_its_words_and_its_unit() -> None:
    number = read_numbers(["please", "hold", "at", "least", "twenty", "five", "seconds"])[0]
    assert (number.first, number.last) == (2, 6)
    assert [n.unit for n in read_numbers(["twice", "a", "ten-second", "hold", "for", "half", "a", "minute"])] == [
        "times",
        "second",
        "minute",
    ]


def test_counting_is_told_from_asking() -> None:
    tokens = ["do", "eight", "of", "these", "one", "two", "three", "four"]
    assert counted_places(read_numbers(tokens)) == {4, 5, 6, 7}
    assert counted_places(read_numbers(["three", "sets", "of", "ten"])) == set()


# The order of the number words is that of spaCy's English vocabulary (spacy/lang/en/lex_attrs.py).
def test_number_words_stand_in_the_order_of_a_reference_vocabulary() -> None:
    lexicon = pytest.importorskip("spacy.lang.en.lex_attrs", reason="spaCy is not installed")
    listed = [word for word in lexicon._num_words if lexicon.like_num(word)]
    ours = [[n.value for n in read_numbers([word])] for word in listed[: listed.index("ninety") + 1]]
    assert ours == [[value] for value in [*range(20), *range(20, 100, 10)]]


@given(
    st.lists(
        st.one_of(
            st.text(max_size=12),
            st.sampled_from(["one", "two", "ten", "-", "to", "or", "at", "least", "10-15", "a", "dozen", "half"]),
        )
    )
)
def test_any_words_give_numbers_in_order_inside_the_words(tokens: list[str]) -> None:
    numbers = read_numbers(tokens)
    assert [n.first for n in numbers] == sorted(n.first for n in numbers)
    for number in numbers:
        assert 0 <= number.first < number.last <= len(tokens)
        assert number.lo is not None or number.hi is not None
        assert number.lo is None or number.hi is None or number.lo <= number.hi


@given(st.text(max_size=20))
def test_plain_is_stable(token: str) -> None:
    assert plain(plain(token)) == plain(token)
