from itertools import chain, combinations, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.understand.encoder import SIZE
from segmenter.understand.reader import ROLES, SUBJECTS, Readings
from segmenter.understand.stretches import EXACT, LEANING, LEAST, NEAR_MS, SHARE, best_stretches, chances, chosen

USED = [SUBJECTS.index(name) for name in ("opening", "voice", "closing")]


def readings(fits: np.ndarray, starts: np.ndarray) -> Readings:
    """Readings in which three subjects differ; all others fit as badly as can be."""
    subjects = np.full((len(fits), len(SUBJECTS)), -50.0, dtype=np.float32)
    subjects[:, USED] = fits
    return Readings(
        np.zeros((len(fits), SIZE), dtype=np.float32),
        subjects,
        starts.astype(np.float32),
        np.zeros((len(fits), len(ROLES)), dtype=np.float32),
    )


@settings(max_examples=25)
@given(st.lists(st.tuples(*[st.floats(-6, 0)] * 3, st.floats(-3, 3)), min_size=2, max_size=3))
def test_chances_are_those_of_all_ways_to_read_the_class(rows: list[tuple[float, float, float, float]]) -> None:
    """Against adding up every way one by one."""
    table = np.array(rows)
    of = readings(table[:, :3], table[:, 3])
    count, total = len(rows), 0.0
    started = np.zeros(count)
    everything = product(range(len(SUBJECTS)), (False, True))
    for path in product(list(everything), repeat=count):
        worth = _worth(path, of)
        if worth is not None:
            total += np.exp(worth)
            started += np.exp(worth) * np.array([fresh for _, fresh in path])
    assert chances(of) == pytest.approx(started / total, abs=1e-6)


def _worth(path: tuple[tuple[int, bool], ...], of: Readings) -> float | None:
    """The log weight of one way to read a class, from the description; None where it breaks a rule."""
    total = 0.0
    for at, (subject, fresh) in enumerate(path):
        total += SHARE * max(float(of.subjects[at, subject]), LEAST)
        if (at == 0 and fresh) or (at and not fresh and subject != path[at - 1][0]):
            return None
        if fresh:
            if subject == USED[0] or path[at - 1][0] == USED[2]:
                return None
            total += float(of.starts[at]) + LEANING - np.log(len(SUBJECTS))
    return total


@settings(max_examples=80)
@given(st.lists(st.tuples(st.floats(0, 1), st.integers(500, 6_000)), min_size=1, max_size=8))
def test_no_other_choice_of_starts_is_better(rows: list[tuple[float, int]]) -> None:
    """Against trying every choice."""
    chance = np.array([c for c, _ in rows])
    chance[0] = 0.0
    times = np.cumsum([gap for _, gap in rows])

    def worth(starts: tuple[int, ...]) -> float:
        near = np.array([any(abs(t - times[at]) <= NEAR_MS for at in starts) for t in times])
        return float(chance[near].sum()) - 0.45 * len(starts) + EXACT * float(chance[list(starts)].sum())

    every = chain.from_iterable(combinations(range(1, len(times)), size) for size in range(len(times)))
    assert worth(tuple(chosen(chance, times, cost=0.45))) == pytest.approx(max(map(worth, every)))


def test_two_sentences_that_share_a_start_make_one() -> None:
    starts = np.full(12, -6.0)
    starts[5:7] = 0.2
    fits = np.tile([-5.0, -0.1, -5.0], (12, 1))
    of = readings(fits, starts)
    assert 0.3 < chances(of)[5] < 0.5
    found = best_stretches(of, [3_000 * at for at in range(12)])
    assert len(found) == 2
    assert found[1].first in {5, 6}


def test_stretches_touch_and_cover_all() -> None:
    chance = np.random.default_rng(3)
    of = readings(chance.uniform(-5, 0, (40, 3)), chance.normal(0, 2, 40))
    stretches = best_stretches(of, [4_000 * at for at in range(40)])
    assert [s.first for s in stretches] == [0, *(s.last for s in stretches[:-1])]
    assert stretches[-1].last == 40
    assert len(stretches) > 3
    assert all(s.subject != "opening" for s in stretches[1:])
    assert all(s.subject != "closing" for s in stretches[:-1])


def test_nothing_was_said() -> None:
    assert best_stretches(readings(np.zeros((0, 3)), np.zeros(0)), []) == []
