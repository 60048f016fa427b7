"""Two channels to one, without losing the voice: a dead channel or one wired the wrong way round is left out.

A channel that is dead for a part of the time is left out for that part.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.samples import RATE
from segmenter.hear.sides import SIDES, SILENT_DB, OneSided, Power, one_sided, told
from segmenter.hear.wind import Rumble, RumbleMeter
from segmenter.lesson import Check

Frames = NDArray[np.int16]

FRAME = RATE * 30 // 1000
"""Samples of a 30 ms frame."""
OPPOSED = -0.5
"""Correlation at which the sum of two equal channels is 6 dB weaker than either."""
CLIPPED = 32_700
"""Full scale of int16, less what resampling takes off a flat top."""
CLIP_RUN = 3
"""Samples in a row at full scale that make a flat top; one or two are an honest peak."""
CLIP_TOPS = 10
"""Flat tops in a second that make it a clipped one: a voice gives a hundred, a knock gives few."""

Use = Literal["both", "first", "second"]


class Channels:
    """Running measures over sample frames of one or two channels."""

    def __init__(self, wide: int) -> None:
        self.wide = wide
        self.count = 0
        self._power = np.zeros(wide)
        self._seconds: dict[int, Power] = {}
        self._cross = 0.0
        self._tops: dict[int, int] = {}

    def add(self, frames: Frames) -> None:
        """Take in the next sample frames, shape ``(n, wide)``."""
        wave = frames.astype(np.float64) / 32768
        self._power += (wave**2).sum(axis=0)
        if self.wide == 2:
            self._cross += float(wave[:, 0] @ wave[:, 1])
            self._add_seconds(wave**2)
        for channel in range(self.wide):
            for second in (self.count + _flat_tops(frames[:, channel])) // RATE:
                self._tops[int(second)] = self._tops.get(int(second), 0) + 1
        self.count += len(frames)

    def _add_seconds(self, squares: Power) -> None:
        if not len(squares):
            return
        second = self.count // RATE
        starts = [0, *range((second + 1) * RATE - self.count, len(squares), RATE)]
        for place, energy in enumerate(np.add.reduceat(squares, starts, axis=0)):
            self._seconds[second + place] = self._seconds.get(second + place, 0) + energy

    @property
    def one_sided(self) -> list[OneSided]:
        """Where one channel is silent for a part of the time; empty when it is silent all the time."""
        if self._silent is not None or not self._seconds:
            return []
        return one_sided(np.stack(list(self._seconds.values())))

    @property
    def _silent(self) -> int | None:
        if self.wide == 1 or not self._power.max():
            return None
        weak = int(self._power.argmin())
        ratio = self._power[1 - weak] / max(self._power[weak], 1e-12)
        return weak if 10 * np.log10(ratio) > SILENT_DB else None

    @property
    def _opposed(self) -> bool:
        scale = float(np.sqrt(self._power.prod())) if self.wide == 2 else 0.0
        return scale > 0 and self._cross / scale < OPPOSED

    @property
    def silent(self) -> Literal["left", "right"] | None:
        """The side on which nothing is heard while the other one sounds."""
        return None if self._silent is None else SIDES[self._silent]

    @property
    def clipped_seconds(self) -> int:
        """In how many seconds the tops of the waves are cut off."""
        return len(self._bad)

    @property
    def _bad(self) -> list[int]:
        return sorted(second for second, tops in self._tops.items() if tops >= CLIP_TOPS)

    @property
    def use(self) -> Use:
        """Which channels make the mono sound."""
        if self._silent is not None:
            return "second" if self._silent == 0 else "first"
        if self._opposed:
            return "first" if self._power[0] >= self._power[1] else "second"
        return "both"

    def checks(self) -> list[Check]:
        """Return what a person should know of the channels."""
        checks = []
        if self._silent is not None:
            message = (
                f"The {self.silent} channel is silent; the other one was used. Some people may hear one side only."
            )
            checks.append(Check(code="channel-silent", level="look", message=message))
        elif self._opposed:
            message = (
                "The two channels cancel each other out; one was used. On a single speaker the voice may vanish."
            )
            checks.append(Check(code="channels-opposed", level="look", message=message))
        checks += told(self.one_sided)
        bad = self._bad
        if bad:
            message = (
                f"The sound is too loud for the recorder in {len(bad)} second{'s' * (len(bad) > 1)} and crackles."
            )
            first, last = bad[0] * 1000, min((bad[-1] + 1) * 1000, round(self.count * 1000 / RATE))
            checks.append(Check(code="clipping", level="look", message=message, start_ms=first, end_ms=last))
        return checks


@dataclass(frozen=True)
class Background:
    """What stands beside the voice.

    Parameters
    ----------
    noise_dbfs, snr_db : float or None
        Level of the quiet moments and of speech over them, in dB: the 10th percentile of the energy of 30 ms
        frames, and the 95th less the 10th (a stand-in for speech over noise). Frames of pure zeros (padding)
        do not count. None when fewer than ten frames are left.
    rumble : Rumble
        Wind and rumble.
    """

    noise_dbfs: float | None
    snr_db: float | None
    rumble: Rumble


def fold(source: Path, target: Path, meter: Channels) -> Background:
    """Write the mono sound to `target` and return what stands beside the voice."""
    energies = []
    rumble = RumbleMeter()
    one_sided, done = meter.one_sided, 0
    with source.open("rb") as file, target.open("wb") as out:
        while block := file.read(FRAME * 1000 * 2 * meter.wide):
            frames = np.frombuffer(block, "<i2").reshape(-1, meter.wide).astype(np.int32)
            match meter.use:
                case "both":
                    mono = frames.sum(axis=1) // meter.wide
                case "first":
                    mono = frames[:, 0]
                case "second":
                    mono = frames[:, 1]
            for stretch in one_sided:
                part = slice(*(max(0, at * RATE // 1000 - done) for at in stretch.span))
                mono[part] = frames[part, 1 - stretch.silent]
            done += len(frames)
            out.write(mono.astype("<i2").tobytes())
            rumble.add(mono)
            whole = mono[: len(mono) // FRAME * FRAME].reshape(-1, FRAME) / 32768
            energies.append((whole**2).mean(axis=1))
    energy = np.concatenate(energies) if energies else np.zeros(0)
    energy = energy[energy > 0]
    if len(energy) < 10:
        return Background(None, None, rumble.result())
    low, high = np.percentile(10 * np.log10(energy), [10, 95])
    return Background(round(float(low), 1), round(float(high - low), 1), rumble.result())


def _flat_tops(wave: Frames) -> NDArray[np.int64]:
    """Return where flat tops start, as indices into `wave`."""
    full = np.abs(wave.astype(np.int32)) >= CLIPPED
    edges = np.flatnonzero(np.diff(full.astype(np.int8), prepend=0, append=0))
    starts, ends = edges[::2], edges[1::2]
    return starts[ends - starts >= CLIP_RUN]
