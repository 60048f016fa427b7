"""A channel that is silent for a part of the time is told with its times, and no voice gets weaker there."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.hear.media import decode
from segmenter.hear.samples import RATE
from segmenter.hear.sides import one_sided
from tests.hear.test_media import pauses, write_wav


@pytest.mark.parametrize("dead", [0, 1])
def test_a_channel_that_dies_on_the_way_is_left_out_from_there(dead: int, tmp_path: Path) -> None:
    wave = np.stack([pauses(40), pauses(40)], axis=1)
    wave[12 * RATE : 31 * RATE, dead] = 0
    decoded = decode(write_wav(tmp_path / "a.wav", wave, RATE), tmp_path / "sound.raw")
    (check,) = decoded.checks
    assert (check.code, check.start_ms, check.end_ms) == ("channel-silent", 12_000, 31_000)
    assert check.message.startswith(f"The {('left', 'right')[dead]} channel is silent from 0:12 to 0:31;")
    assert decoded.audio.silent_channel is None
    assert np.abs(decoded.samples.read() - wave[:, 1 - dead]).max() < 0.001


def test_two_people_on_a_channel_each_are_both_heard(tmp_path: Path) -> None:
    wave = np.stack([pauses(60), pauses(60)], axis=1)
    talks = np.arange(60 * RATE) // (10 * RATE) % 2  # ten seconds each, one after the other
    wave *= np.stack([talks == 0, talks == 1], axis=1)
    decoded = decode(write_wav(tmp_path / "a.wav", wave, RATE), tmp_path / "sound.raw")
    assert [check.code for check in decoded.checks] == ["channel-silent"] * 2
    assert all("for 30 seconds in all" in check.message for check in decoded.checks)
    assert np.abs(decoded.samples.read() - wave.sum(axis=1)).max() < 0.001


def test_a_word_aside_on_one_channel_is_no_fault(tmp_path: Path) -> None:
    wave = np.stack([pauses(20), pauses(20)], axis=1)
    wave[8 * RATE : 11 * RATE, 0] = 0
    assert decode(write_wav(tmp_path / "a.wav", wave, RATE), tmp_path / "sound.raw").checks == ()


@given(st.lists(st.sampled_from("bLRq"), max_size=60))
def test_stretches_lie_apart_and_hold_nothing_of_the_other_side(seconds: list[str]) -> None:
    level = {"b": (1.0, 0.5), "L": (1.0, 1e-5), "R": (1e-5, 1.0), "q": (1e-7, 1e-7)}
    found = one_sided(np.array([level[kind] for kind in seconds]).reshape(-1, 2))
    for stretch in found:
        inside = seconds[stretch.span[0] // 1000 : stretch.span[1] // 1000]
        assert set(inside) <= {"LR"[1 - stretch.silent], "q"}
    assert all(a.span[1] <= b.span[0] for a, b in itertools.pairwise(found))
    longest = max((len(list(run)) for kind, run in itertools.groupby(seconds) if kind in "LR"), default=0)
    assert found or longest < 5
