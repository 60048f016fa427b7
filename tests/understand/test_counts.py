from __future__ import annotations

import json
import statistics
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.lesson import Word
from segmenter.understand.counts import find_counts
from tests.understand.speaking import spoken

TRUTH = Path(__file__).parents[2] / "examples" / "voice-and-swallow-class.truth.json"

COUNTED: list[tuple[str, str, int, tuple[int, ...], tuple[int, ...]]] = [
    ("Hold: one, two, three, four, five, and let go.", "seconds", 1000, (1, 2, 3, 4, 5), ()),
    ("And squeeze, one two three four.", "seconds", 900, (1, 2, 3, 4), ()),
    ("Keep it there, three, four, lovely, five, six.", "seconds", 1000, (3, 4, 5, 6), ()),
    ("Hold. One, two, three, well done everybody, four, five.", "seconds", 700, (1, 2, 3, 4, 5), ()),
    ("Ten, nine, eight, seven, rest.", "down", 1000, (10, 9, 8, 7), ()),
    ("Five four three two one and off.", "down", 800, (5, 4, 3, 2, 1), ()),
    ("Seven, eight, skip a few, ten.", "seconds", 700, (7, 8, 10), (9,)),
    ("That's one, that's two, that's three.", "reps", 1500, (1, 2, 3), ()),
    ("Lift one, lift two, lift three, lift four.", "reps", 700, (1, 2, 3, 4), ()),
    ("Quick ones: one two three four five.", "reps", 400, (1, 2, 3, 4, 5), ()),
    ("In, two, three, four.", "breath", 1000, (1, 2, 3, 4), ()),
    ("Breathe out, two, three, five, six.", "breath", 1000, (1, 2, 3, 5, 6), (4,)),
    ("Breathe in one two three four.", "breath", 1000, (1, 2, 3, 4), ()),
    ("Hold it, one two three for five six seven ate nine.", "seconds", 1000, (1, 2, 3, 4, 5, 6, 7, 8, 9), ()),
    ("Hold one thousand, two thousand, three thousand.", "seconds", 500, (1, 2, 3), ()),
    ("Hold one Mississippi two Mississippi three Mississippi.", "seconds", 500, (1, 2, 3), ()),
    ("I'll count in tens: ten, twenty, thirty.", "reps", 3000, (10, 20, 30), ()),
    ("Eighteen, nineteen, twenty, twenty-one.", "reps", 2500, (18, 19, 20, 21), ()),
    ("Up 1, end up 2, end up 3, end up 4. Last 1, 5.", "reps", 1200, (1, 2, 3, 4, 5), ()),
    ("Three, still holding, six, nearly, ten.", "seconds", 1500, (3, 6, 10), (4, 5, 7, 8, 9)),
]

NO_COUNT = [
    "On three: one, two, three.",
    "One or two of you asked.",
    "Do five to ten of these.",
    "Three sets of ten, twice a day.",
    "We'll do ten here; at home do twenty.",
    "One, two.",
    "In for four, hold for two, out for six.",
    "Number one is the tongue. Number two is the lip. Number three is the jaw.",
    "Ten, sorry, twelve.",
]


@pytest.mark.parametrize(("said", "kind", "step_ms", "numbers", "missing"), COUNTED)
def test_counting_is_found_as_it_was_said(
    said: str, kind: str, step_ms: int, numbers: tuple[int, ...], missing: tuple[int, ...]
) -> None:
    runs = find_counts(spoken(said, step_ms=step_ms))
    assert [(run.kind, run.numbers, run.missing) for run in runs] == [(kind, numbers, missing)]


@pytest.mark.parametrize("said", NO_COUNT)
def test_other_numbers_are_no_count(said: str) -> None:
    assert find_counts(spoken(said, step_ms=600)) == []


def test_breaths_in_and_out_are_counts_of_their_own() -> None:
    said = "In, two, three, four, out, two, three, five, six."
    runs = find_counts(spoken(said, step_ms=1000))
    assert [(run.kind, run.numbers, run.missing) for run in runs] == [
        ("breath", (1, 2, 3, 4), ()),
        ("breath", (1, 2, 3, 5, 6), (4,)),
    ]


def test_in_misheard_as_and_counts_beside_other_breaths_only() -> None:
    breaths = find_counts(spoken("and two three out two three for five six and two three", step_ms=1000))
    assert [run.numbers for run in breaths] == [(1, 2, 3), (1, 2, 3, 4, 5, 6), (1, 2, 3)]
    assert {run.kind for run in breaths} == {"breath"}
    alone = find_counts(spoken("squeeze and two three four", step_ms=1000))
    assert [(run.kind, run.numbers) for run in alone] == [("seconds", (2, 3, 4))]


def test_numbers_run_together_share_the_time_of_their_word() -> None:
    words = [Word(text="out", start_ms=0, end_ms=900), Word(text="2-3-4-5-6-7-8", start_ms=1000, end_ms=8000)]
    (run,) = find_counts(words)
    assert run.kind == "breath"
    assert run.numbers == (1, 2, 3, 4, 5, 6, 7, 8)
    assert run.beat_s == pytest.approx(1.0)
    assert (run.start_ms, run.end_ms) == (0, 8000)


def test_a_dose_after_a_count_does_not_join_it() -> None:
    (run,) = find_counts(spoken("Hold, one, two, three, four. Five more. Do six at home.", step_ms=900))
    assert run.numbers == (1, 2, 3, 4)


# The median and the standard deviation are those of Python's own statistics module over the starts.
@given(st.lists(st.integers(400, 2500), min_size=2, max_size=12))
def test_beat_is_the_median_distance_of_the_starts(gaps: list[int]) -> None:
    at, words = 0, [Word(text="hold", start_ms=0, end_ms=10)]
    for value, gap in enumerate([100, *gaps], 1):
        at += gap
        words.append(Word(text=str(value), start_ms=at, end_ms=at + 200))
    runs = find_counts(words)
    if len(runs) != 1 or len(runs[0].numbers) != len(gaps) + 1:
        return  # a gap four times the beat parts a count
    assert runs[0].beat_s == pytest.approx(statistics.median(gaps) / 1000, abs=0.001)
    assert runs[0].beat_spread_s == pytest.approx(statistics.pstdev(gaps) / 1000, abs=0.001)


def test_the_made_up_class_is_counted_as_its_script_says() -> None:
    truth = json.loads(TRUTH.read_text(encoding="utf-8"))
    heard = [
        Word(text=n["text"], start_ms=round(n["start"] * 1000), end_ms=round(n["end"] * 1000))
        for run in truth["counts"]
        for n in run["numbers"]
    ]
    runs = find_counts(heard)
    assert [(r.kind, list(r.numbers), list(r.missing)) for r in runs] == [
        (run["kind"], [n["value"] for n in run["numbers"]], run["missing"]) for run in truth["counts"]
    ]


_SOME = st.sampled_from("one two three four 5 6 7-8-9 in out and hold lovely ten thousand for to ate .".split())  # noqa: SIM905


@settings(max_examples=100)
@given(st.lists(st.one_of(_SOME, st.text(min_size=1, max_size=6)), max_size=40), st.integers(200, 3000))
def test_any_words_give_runs_in_order_that_do_not_overlap(tokens: list[str], step: int) -> None:
    words = [Word(text=t, start_ms=i * step, end_ms=i * step + step // 2) for i, t in enumerate(tokens)]
    runs = find_counts(words)
    for run in runs:
        assert len(run.numbers) >= (2 if run.kind == "breath" else 3)
        assert run.start_ms < run.end_ms <= words[-1].end_ms
        assert not set(run.missing) & set(run.numbers)
        assert run.beat_s is not None and run.beat_s > 0
    for a, b in pairwise(runs):
        assert a.end_ms <= b.start_ms


def test_short_breaths_are_counted_beside_longer_ones() -> None:
    runs = find_counts(spoken("In, two. Out, two, three, four. In, two. Out, two, three, four.", step_ms=1000))
    assert [run.numbers for run in runs] == [(1, 2), (1, 2, 3, 4)] * 2
    assert {run.kind for run in runs} == {"breath"}


def test_a_number_before_a_count_is_no_part_of_it() -> None:
    (run,) = find_counts(spoken("Hold for two. One, two, three, four.", step_ms=900))
    assert run.numbers == (1, 2, 3, 4)
    (run,) = find_counts(spoken("One, two, three, last one, four.", step_ms=900))
    assert run.numbers == (1, 2, 3, 4)
