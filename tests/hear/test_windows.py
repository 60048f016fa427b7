"""Windows hold all speech, are never too long, and map times back."""

import itertools
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.hear.samples import RATE, Samples
from segmenter.hear.windows import LENGTH_MS, Window, cut, muted, quietest_point, sound_of
from segmenter.intervals import Interval, length, subtract

gaps_and_talk = st.lists(st.tuples(st.integers(1, 20_000), st.integers(1, 90_000)), max_size=25)


def laid_out(steps: list[tuple[int, int]]) -> tuple[list[Interval], int]:
    at, speech = 0, []
    for gap, talk in steps:
        speech.append((at + gap, at + gap + talk))
        at += gap + talk
    return speech, at + 100


def middle(span: Interval) -> int:
    return sum(span) // 2


@given(gaps_and_talk)
@settings(max_examples=60)
def test_no_speech_is_lost_and_no_window_is_too_long(steps: list[tuple[int, int]]) -> None:
    speech, duration = laid_out(steps)
    windows = cut(speech, duration, middle)
    pieces = [piece for window in windows for piece in window.pieces]
    assert subtract(speech, pieces) == []
    assert all(window.length_ms <= LENGTH_MS for window in windows)
    assert all(0 <= start < end <= duration for start, end in pieces)
    assert all(one[1] <= other[0] for one, other in itertools.pairwise(pieces))


@given(gaps_and_talk)
@settings(max_examples=40)
def test_times_map_back_in_order_and_into_the_pieces(steps: list[tuple[int, int]]) -> None:
    speech, duration = laid_out(steps)
    for window in cut(speech, duration, middle):
        ticks = range(0, window.length_ms + 1, 250)
        starts = [window.start_in_recording(at) for at in ticks]
        assert starts == sorted(starts)
        assert all(any(a <= start <= b for a, b in window.pieces) for start in starts)


def test_a_join_belongs_to_the_piece_that_asks() -> None:
    window = Window(((1000, 2000), (9000, 9500)))
    assert window.start_in_recording(1000) == 9000
    assert window.end_in_recording(1000) == 2000
    assert window.end_in_recording(5000) == 9500


def test_few_windows_for_much_talk() -> None:
    speech = [(at, at + 4000) for at in range(0, 600_000, 5000)]
    windows = cut(speech, 600_000, middle)
    assert len(windows) <= 1.5 * sum(map(length, speech)) / LENGTH_MS


def test_cuts_endless_talk_where_it_is_quietest(tmp_path: Path) -> None:
    signal = np.random.default_rng(2).normal(0, 0.1, 40 * RATE).astype(np.float32)
    signal[20 * RATE : 20 * RATE + RATE // 4] *= 0.01
    samples = Samples.store(tmp_path / "sound", signal)
    assert 20_000 <= quietest_point(samples, (14_000, 28_000)) <= 20_250
    windows = cut([(0, 40_000)], 40_000, lambda span: quietest_point(samples, span))
    assert 20_000 <= windows[0].span[1] <= 20_250


def test_effort_sounds_are_silent_and_talk_is_brought_to_level(tmp_path: Path) -> None:
    seconds = np.arange(6 * RATE) / RATE
    signal = (0.01 * np.sin(2 * np.pi * 200 * seconds)).astype(np.float32)
    samples = Samples.store(tmp_path / "sound", signal)
    mutes = muted([("hold", (2000, 4000)), ("hold", (100, 200)), ("train", (5000, 6000))])
    assert mutes == [(2000, 4000)]
    sound = sound_of(samples, Window(((0, 6000),)), mutes)
    assert len(sound) == 6 * RATE
    assert np.abs(sound[int(2.1 * RATE) : int(3.9 * RATE)]).max() == 0
    level = 20 * np.log10(np.sqrt((sound[RATE : int(1.9 * RATE)] ** 2).mean()))
    assert abs(level + 20) < 1
