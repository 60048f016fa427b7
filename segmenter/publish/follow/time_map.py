"""Where each moment of the class stands in the film: whole frames, so that nothing drifts.

::

    class   ────────A────────)[░cut░)[────B────)          frames of the recording
    film    ────────A────────)[practice)[────B────)       frames of the film
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from segmenter.intervals import Interval, length


@dataclass(frozen=True)
class Stretch:
    """A piece of the film, `frames` long from frame `at`; `source` is its first frame in the class, or None."""

    at: int
    frames: int
    source: int | None


@dataclass(frozen=True)
class TimeMap:
    """The whole film in order, at `rate` frames a second.

    Raises
    ------
    ValueError
        If pieces leave a gap, overlap, are empty, or run backwards in the class.
    """

    rate: Fraction
    stretches: tuple[Stretch, ...]

    def __post_init__(self) -> None:
        at = heard = 0
        for stretch in self.stretches:
            if stretch.at != at or stretch.frames <= 0:
                raise ValueError(f"a piece of {stretch.frames} frames at {stretch.at} does not follow {at}")
            at += stretch.frames
            if stretch.source is not None:
                if stretch.source < heard:
                    raise ValueError(f"frame {stretch.source} of the class comes after {heard}")
                heard = stretch.source + stretch.frames

    @property
    def frames(self) -> int:
        """Length of the film."""
        return sum(stretch.frames for stretch in self.stretches)

    @property
    def duration_ms(self) -> int:
        """Length of the film."""
        return self.ms(self.frames)

    def ms(self, frame: int) -> int:
        """Start of a frame, in milliseconds from the start of the film (or of the class)."""
        return round(frame * 1000 / self.rate)

    def frame(self, ms: int) -> int:
        """The frame border nearest to a moment."""
        return round(ms * self.rate / 1000)

    def film_ms(self, class_ms: int) -> int:
        """Where a moment of the class stands in the film; one that was cut out stands at the next that was kept."""
        for stretch, span in self._kept():
            if class_ms < span[1]:
                return self.ms(stretch.at) + max(0, class_ms - span[0])
        return self.duration_ms

    def moved(self, span: Interval) -> list[Interval]:
        """Where a stretch of the class stands in the film: in parts when something was put in or cut out."""
        parts: list[Interval] = []
        for stretch, kept in self._kept():
            start, end = max(span[0], kept[0]), min(span[1], kept[1])
            if end <= start:
                continue
            shift = self.ms(stretch.at) - kept[0]
            begins, ends = start + shift, min(end + shift, self.ms(stretch.at + stretch.frames))
            # Two pieces that meet in class and film differ by a rounded millisecond at most.
            if parts and abs(begins - parts[-1][1]) <= 1:
                parts[-1] = (parts[-1][0], ends)
            else:
                parts.append((begins, ends))
        return [part for part in parts if length(part) > 0]

    def _kept(self) -> Iterator[tuple[Stretch, Interval]]:
        for stretch in self.stretches:
            if stretch.source is not None:
                yield stretch, (self.ms(stretch.source), self.ms(stretch.source + stretch.frames))


def laid_out(rate: Fraction, pieces: Sequence[tuple[int | None, int]]) -> TimeMap:
    """Lay pieces ``(first frame in the class or None, frames)`` end to end; empty ones fall out."""
    stretches, at = [], 0
    for source, frames in pieces:
        if frames > 0:
            stretches.append(Stretch(at, frames, source))
            at += frames
    return TimeMap(rate, tuple(stretches))
