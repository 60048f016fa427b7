"""Decoded sound on disk, read a piece at a time, so that two hours cost no more memory than two minutes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from segmenter.intervals import Interval
from segmenter.times import ms_from_samples, samples_from_ms

RATE = 16_000
"""Samples a second everywhere inside `hear`."""

Signal = NDArray[np.float32]


@dataclass(frozen=True)
class Samples:
    """Mono sound at 16 kHz: a raw little-endian int16 file.

    Parameters
    ----------
    path : Path
        The raw file; ``Samples.store`` makes one from an array.
    count : int
        Samples in it.
    """

    path: Path
    count: int

    @classmethod
    def store(cls, path: Path, signal: Signal) -> Samples:
        """Write `signal` (float, -1 to 1) to `path` as raw int16."""
        np.clip(np.rint(signal * 32768), -32768, 32767).astype("<i2").tofile(path)
        return cls(path, len(signal))

    @property
    def duration_ms(self) -> int:
        """Length of the sound."""
        return ms_from_samples(self.count, RATE)

    def read(self, start_ms: int = 0, end_ms: int | None = None) -> Signal:
        """Return ``[start_ms, end_ms)`` as float32, shape ``(samples,)``, range -1 to 1.

        Times outside the sound are clipped.
        """
        first = min(max(0, samples_from_ms(start_ms, RATE)), self.count)
        last = self.count if end_ms is None else min(samples_from_ms(end_ms, RATE), self.count)
        raw = np.fromfile(self.path, dtype="<i2", count=max(0, last - first), offset=first * 2)
        return raw.astype(np.float32) / np.float32(32768)

    def blocks(self, length_ms: int, overlap_ms: int = 0) -> Iterator[tuple[Interval, Signal]]:
        """Yield ``((start_ms, end_ms), signal)`` over the whole sound, each block reaching back by the overlap."""
        for start in range(0, max(1, self.duration_ms), length_ms):
            span = (max(0, start - overlap_ms), min(start + length_ms, self.duration_ms))
            yield span, self.read(*span)
