"""Sound on disk reads back as it was, whole or in blocks."""

from pathlib import Path

import numpy as np

from segmenter.hear.samples import RATE, Samples


def test_reads_back_whole_and_in_blocks(tmp_path: Path) -> None:
    signal = np.random.default_rng(1).uniform(-1, 1, RATE * 3 + 77).astype(np.float32)
    samples = Samples.store(tmp_path / "sound", signal)
    assert samples.duration_ms == 3005
    assert np.abs(samples.read() - signal).max() <= 1 / 32768
    blocks = list(samples.blocks(1000, overlap_ms=200))
    assert [span for span, _ in blocks] == [(0, 1000), (800, 2000), (1800, 3000), (2800, 3005)]
    for (start, _), block in blocks:
        at = start * RATE // 1000
        assert np.abs(block - signal[at : at + len(block)]).max() <= 1 / 32768


def test_times_outside_the_sound_are_clipped(tmp_path: Path) -> None:
    samples = Samples.store(tmp_path / "sound", np.zeros(RATE, np.float32))
    assert len(samples.read(500, 9000)) == RATE // 2
    assert len(samples.read(2000, 3000)) == 0
