from itertools import product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.understand.encoder import SIZE
from segmenter.understand.reader import ROLES, SUBJECTS, Readings
from segmenter.understand.stretches import LEANING, LEAST, SHARE, best_stretches

USED = [SUBJECTS.index(name) for name in ("opening", "voice", "closing")]


def readings(fits: np.ndarray, starts: np.ndarray) -> Readings:
    """Readings in which only a few subjects are possible."""
    subjects = np.full((len(fits), len(SUBJECTS)), -50.0, dtype=np.float32)
    subjects[:, USED] = fits
    return Readings(
        np.zeros((len(fits), SIZE), dtype=np.float32),
        subjects,
        starts.astype(np.float32),
        np.zeros((len(fits), len(ROLES)), dtype=np.float32),
    )


def worth(path: tuple[tuple[int, bool], ...], of: Readings) -> float | None:
    """What a path collects; None where it breaks a rule. Written apart from the search, from its description."""
    total = 0.0
    for at, (used, fresh) in enumerate(path):
        total += SHARE * max(float(of.subjects[at, USED[used]]), LEAST)
        if at == 0:
            if fresh:
                return None
        elif fresh:
            if used == 0 or path[at - 1][0] == 2:
                return None
            total += float(of.starts[at]) + LEANING
        elif used != path[at - 1][0]:
            return None
    return total


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 4).flatmap(lambda n: st.tuples(*[st.tuples(*[st.floats(-6, 0)] * 3, st.floats(-3, 3))] * n)))
def test_no_other_path_is_better(rows: tuple[tuple[float, float, float, float], ...]) -> None:
    """Against trying every path (Viterbi's search is exact)."""
    table = np.array(rows)
    of = readings(table[:, :3], table[:, 3])
    choices = [
        path for path in product(product(range(3), (False, True)), repeat=len(rows)) if worth(path, of) is not None
    ]
    best = max(w for path in choices if (w := worth(path, of)) is not None)
    found: list[tuple[int, bool]] = []
    for stretch in best_stretches(of):
        used = USED.index(SUBJECTS.index(stretch.subject))
        found += [(used, at == stretch.first and at > 0) for at in range(stretch.first, stretch.last)]
    own = worth(tuple(found), of)
    assert own == pytest.approx(best, abs=1e-4)


def test_stretches_touch_and_cover_all() -> None:
    chance = np.random.default_rng(3)
    of = readings(chance.uniform(-5, 0, (40, 3)), chance.normal(0, 2, 40))
    stretches = best_stretches(of)
    assert [s.first for s in stretches] == [0, *(s.last for s in stretches[:-1])]
    assert stretches[-1].last == 40
    assert len(stretches) > 3


def test_nothing_was_said() -> None:
    assert best_stretches(readings(np.zeros((0, 3)), np.zeros(0))) == []
