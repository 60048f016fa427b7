"""The time map: monotone, exact at joins, as long as its parts; for any pieces."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.publish.follow.time_map import Stretch, TimeMap, laid_out

RATES = [Fraction(24000, 1001), Fraction(24), Fraction(25), Fraction(30000, 1001), Fraction(30)]


@st.composite
def maps(draw: st.DrawFn) -> TimeMap:
    pieces: list[tuple[int | None, int]] = []
    at = 0
    for put_in, frames, cut in draw(
        st.lists(st.tuples(st.booleans(), st.integers(0, 5_000), st.integers(0, 500)), min_size=1, max_size=12)
    ):
        if put_in:
            pieces.append((None, frames))
        else:
            at += cut
            pieces.append((at, frames))
            at += frames
    return laid_out(draw(st.sampled_from(RATES)), pieces)


@given(maps())
def test_as_long_as_its_parts(made: TimeMap) -> None:
    assert made.frames == sum(stretch.frames for stretch in made.stretches)
    assert made.duration_ms == round(made.frames * 1000 / made.rate)
    for before, after in pairwise(made.stretches):
        assert before.at + before.frames == after.at


@given(maps(), st.lists(st.integers(0, 3_000_000), min_size=2, max_size=30))
def test_monotone(made: TimeMap, moments: list[int]) -> None:
    film = [made.film_ms(ms) for ms in sorted(moments)]
    assert film == sorted(film)
    assert all(0 <= ms <= made.duration_ms for ms in film)


@given(maps())
def test_exact_at_joins(made: TimeMap) -> None:
    for stretch in made.stretches:
        if stretch.source is not None:
            start, end = made.ms(stretch.source), made.ms(stretch.source + stretch.frames)
            # A frame border of the class is a frame border of the film, to the rounded millisecond.
            if end > start:
                assert made.film_ms(start) == made.ms(stretch.at)
                assert abs(made.film_ms(end - 1) - (made.ms(stretch.at + stretch.frames) - 1)) <= 1


@given(maps(), st.integers(0, 1_000_000), st.integers(1, 60_000))
def test_what_is_moved_keeps_its_length_and_order(made: TimeMap, start: int, length: int) -> None:
    parts = made.moved((start, start + length))
    assert parts == sorted(parts)
    assert all(before[1] <= after[0] for before, after in pairwise(parts))
    assert sum(end - begin for begin, end in parts) <= length + 2 * len(made.stretches)


def test_by_hand() -> None:
    # 25 frames a second: 10 s of class, 4 s put in, 1 s cut, then 5 s of class.
    made = laid_out(Fraction(25), [(0, 250), (None, 100), (275, 125), (None, 0)])
    assert made.duration_ms == 19_000
    assert [made.film_ms(ms) for ms in (0, 9_999, 10_000, 10_500, 11_000, 15_999, 16_000)] == [
        0, 9_999, 14_000, 14_000, 14_000, 18_999, 19_000,
    ]  # fmt: skip
    assert made.moved((9_000, 12_000)) == [(9_000, 10_000), (14_000, 15_000)]
    assert made.moved((10_100, 10_900)) == []


@pytest.mark.parametrize(
    "stretches",
    [
        (Stretch(0, 10, 0), Stretch(11, 5, None)),
        (Stretch(0, 10, 0), Stretch(10, 0, None)),
        (Stretch(0, 10, 5), Stretch(10, 5, 14)),
    ],
    ids=["gap", "empty", "backwards"],
)
def test_what_is_no_map_is_refused(stretches: tuple[Stretch, ...]) -> None:
    with pytest.raises(ValueError):
        TimeMap(Fraction(25), stretches)
