"""Word times follow the sound."""

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.hear.samples import RATE
from segmenter.hear.wordtimes import Level, counted, in_order, parted, refined
from segmenter.lesson import Word

BEATS = [1000, 2000, 3000, 4000]


def counting() -> Level:
    """Four bursts of 300 ms, a second apart, over faint noise."""
    signal = np.random.default_rng(3).normal(0, 0.0005, 6 * RATE)
    for at in BEATS:
        first = at * RATE // 1000
        signal[first : first + 3 * RATE // 10] += 0.2 * np.sin(np.arange(3 * RATE // 10) * 0.08)
    return Level.of(signal.astype(np.float32), 0)


def word(text: str, start: int, end: int) -> Word:
    return Word(text=text, start_ms=start, end_ms=end)


def test_early_starts_move_to_the_rise_of_the_level() -> None:
    early = [word("one", 700, 1250), word("two", 1250, 2200), word("three", 2200, 3250), word("four", 3250, 4300)]
    found = refined(early, counting())
    assert [w.text for w in found] == ["one", "two", "three", "four"]
    assert max(abs(w.start_ms - at) for w, at in zip(found, BEATS, strict=True)) <= 30


def test_late_starts_move_back() -> None:
    found = refined([word("one", 1080, 1300)], counting())
    assert abs(found[0].start_ms - 1000) <= 30


def test_a_word_in_silence_keeps_its_times() -> None:
    assert refined([word("hm", 5200, 5400)], counting()) == [word("hm", 5200, 5400)]


@pytest.mark.parametrize("text", ["2-3-4-5", "2345", "2,3,4,5", "5, 4, 3, 2."])
def test_a_count_in_one_word_becomes_one_word_a_number(text: str) -> None:
    parts = parted(word(text, 900, 4400), counting())
    assert [p.text.strip("., ") for p in parts] == [c for c in text if c.isdigit()]
    assert max(abs(p.start_ms - at) for p, at in zip(parts, BEATS, strict=True)) <= 30


@pytest.mark.parametrize(
    "text", ["10-15", "2-3", "1,000,000", "2024", "3.5", "12", "follow-up", "999", "1-800-555"]
)
def test_what_is_no_count_stays_one_word(text: str) -> None:
    assert counted(text) is None


@given(st.lists(st.tuples(st.integers(0, 6000), st.integers(0, 3000)), max_size=20))
def test_times_never_run_backwards(spans: list[tuple[int, int]]) -> None:
    words = [word(str(i), start, start + more) for i, (start, more) in enumerate(sorted(spans))]
    found = refined(in_order(words), counting())
    assert [w.text for w in found] == [w.text for w in words]
    assert all(a.end_ms <= b.start_ms for a, b in itertools.pairwise(found))
    assert all(w.start_ms <= w.end_ms for w in found)


def test_a_word_starts_after_the_held_sound_it_was_stretched_over() -> None:
    signal = np.random.default_rng(5).normal(0, 0.0005, 4 * RATE)
    signal[RATE : 2 * RATE] += 0.2 * np.sin(np.arange(RATE) * 0.08)
    signal[3 * RATE : 3 * RATE + RATE // 2] += 0.2 * np.sin(np.arange(RATE // 2) * 0.08)
    level = Level.of(signal.astype(np.float32), 0, [(990, 2010)])
    (found,) = refined([word("again", 1000, 3500)], level)
    assert found.start_ms == pytest.approx(3000, abs=20)
    assert found.end_ms == pytest.approx(3500, abs=20)


def test_the_tail_of_the_word_before_is_no_start_though_the_word_ends_early() -> None:
    level = counting()
    before, found = refined([word("one", 1000, 1180), word("two", 1180, 2143)], level)
    assert before.end_ms == pytest.approx(1300, abs=20)
    assert found.start_ms == pytest.approx(2000, abs=20)


def before_a_hold(scrap_ms: int) -> Level:
    """A word of 0.3 s at one second, then a held sound eight seconds long and 20 dB louder, then its last scrap."""
    signal = np.random.default_rng(7).normal(0, 0.0005, 12 * RATE)
    tone = np.sin(np.arange(12 * RATE) * 0.08)
    for start, end, loud in ((1000, 1300, 0.05), (1400, 9400, 0.5), (9400, 9400 + scrap_ms, 0.1)):
        part = slice(start * RATE // 1000, end * RATE // 1000)
        signal[part] += loud * tone[part]
    return Level.of(signal.astype(np.float32), 0, [(1400, 9400)])


@pytest.mark.parametrize("scrap_ms", [0, 120, 250])
def test_a_word_before_a_held_sound_ends_where_it_is_said(scrap_ms: int) -> None:
    (found,) = refined([word("aah", 980, 9900)], before_a_hold(scrap_ms))
    assert found.start_ms == pytest.approx(1000, abs=20)
    assert found.end_ms == pytest.approx(1300, abs=20)


def test_a_word_is_not_stretched_over_a_long_silence() -> None:
    level = counting()
    (found,) = refined([word("one", 1000, 2120)], level)  # 0.12 s of the next one
    assert found.end_ms == pytest.approx(1300, abs=20)


@pytest.mark.parametrize(("text", "parts"), [("F5,", ["F", "5,"]), ("Up", ["Up"]), ("five", ["five"])])
def test_letters_and_a_number_with_a_pause_between_are_two_words(text: str, parts: list[str]) -> None:
    found = parted(word(text, 1000, 2290), counting())
    assert [w.text for w in found] == parts
    assert found[-1].start_ms == pytest.approx(2000 if len(parts) > 1 else 1000, abs=20)


def test_letters_and_a_number_without_a_pause_stay_one_word() -> None:
    assert parted(word("B12", 1000, 1290), counting()) == [word("B12", 1000, 1290)]


def test_a_number_gives_the_end_of_the_word_before_back() -> None:
    """ "Squeeze" ends 0.25 s late by the recogniser's times, then a pause, then "one"."""
    signal = np.random.default_rng(3).normal(0, 0.0005, 4 * RATE)
    for start, end in ((1000, 1530), (1860, 2190)):
        part = slice(start * RATE // 1000, end * RATE // 1000)
        signal[part] += 0.2 * np.sin(np.arange(part.stop - part.start) * 0.08)
    level = Level.of(signal.astype(np.float32), 0)
    # "one" may end early as well, where no word follows at once that has the better claim to its end.
    for ends, following in ((2180, 3000), (2080, 3000), (2080, 2500)):
        said = [word("squeeze", 1000, 1280), word("one,", 1280, ends), word("two,", following, 3300)]
        squeeze, one, _ = refined(said, level)
        assert [squeeze.start_ms, squeeze.end_ms] == pytest.approx([1000, 1530], abs=20)
        assert [one.start_ms, one.end_ms] == pytest.approx([1860, 2190], abs=20)
    said = [word("squeeze", 1000, 1280), word("it,", 1280, 2080), word("one,", 2080, 3300)]
    assert refined(said, level)[1].start_ms == 1280
