"""How much wind or rumble there is: noise under the lowest voice, measured second by second."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.samples import RATE

Mono = NDArray[np.int32]

WINDOW = 4096
LOW_HZ = (15.0, 65.0)
"""Under the lowest male voice. Wind at a microphone is strongest here (acoustics reviews, from memory)."""
TALK_HZ = (300.0, 3400.0)
NEAR_DB = 15.0
"""Quality of speech falls strongly once wind is less than this under it (Jackson et al., JASA, 2014)."""
AUDIBLE_DB = -65.0
"""A weaker rumble is not heard whatever is said over it (common practice, no source)."""
LEAST_SHARE, LEAST_SECONDS = 0.1, 3
"""Less is a knock or a passing lorry."""


@dataclass(frozen=True)
class Rumble:
    """How often wind or rumble comes near the talk.

    Parameters
    ----------
    share : float
        Share of the seconds in which it does.
    start_ms, end_ms : int
        From the first such second to the end of the last.
    """

    share: float
    start_ms: int = 0
    end_ms: int = 0

    @property
    def worth_telling(self) -> bool:
        """Whether it is more than a knock or a passing lorry."""
        return self.share >= LEAST_SHARE and self.end_ms - self.start_ms >= LEAST_SECONDS * 1000


class RumbleMeter:
    """Takes in mono sound at 16 kHz in blocks, and tells how much rumble there is."""

    def __init__(self) -> None:
        self._rest: Mono = np.zeros(0, np.int32)
        self._low: list[float] = []
        self._talk: list[float] = []
        hertz = np.fft.rfftfreq(WINDOW, 1 / RATE)
        self._low_bins = np.flatnonzero((hertz >= LOW_HZ[0]) & (hertz <= LOW_HZ[1]))
        self._talk_bins = np.flatnonzero((hertz >= TALK_HZ[0]) & (hertz <= TALK_HZ[1]))
        shape = np.hanning(WINDOW)
        # Scaled so that the sum over bins is the mean square of the sound.
        self._shape = shape * np.sqrt(2 / (WINDOW * float((shape**2).sum())))

    def add(self, mono: Mono) -> None:
        """Take in the next samples, int16 range."""
        joined = np.concatenate([self._rest, mono])
        whole = len(joined) // RATE
        self._rest = joined[whole * RATE :]
        for second in joined[: whole * RATE].reshape(whole, RATE):
            starts = np.linspace(0, RATE - WINDOW, 4).astype(int)
            waves = np.stack([second[start : start + WINDOW] for start in starts]) / 32768 * self._shape
            power = (np.abs(np.fft.rfft(waves, axis=1)) ** 2).mean(axis=0)
            # The middle bin: a line of mains hum fills one or two bins, wind fills them all.
            low = float(np.median(power[self._low_bins])) * len(self._low_bins)
            self._low.append(_db(low))
            self._talk.append(_db(float(power[self._talk_bins].sum())))

    def result(self) -> Rumble:
        """Return what was found so far."""
        low = np.array(self._low)
        if not len(low):
            return Rumble(0.0)
        talk = float(np.percentile(self._talk, 75))
        at = np.flatnonzero((low > talk - NEAR_DB) & (low > AUDIBLE_DB))
        if not len(at):
            return Rumble(0.0)
        return Rumble(round(len(at) / len(low), 3), int(at[0]) * 1000, int(at[-1] + 1) * 1000)


def _db(power: float) -> float:
    return float(10 * np.log10(max(power, 1e-12)))
