"""Cut a recording into windows for the recogniser, and map their times back.

::

    recording  ▁▁talk▁▁▁▁▁▁▁▁talk▁talk▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁▁talk▁▁▁
    pieces     ┠────┨      ┠────────┨              ┠────┨
    window     ┠────┨┠────────┨┠────┨     at most LENGTH_MS, long silences shortened

Every piece keeps a little of the silence around it, so that a shortened silence is still one.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from segmenter.hear.samples import RATE, Samples, Signal
from segmenter.intervals import Interval, length, merge, overlap, subtract
from segmenter.times import samples_from_ms

LENGTH_MS = 28_000
PAD_MS = 300
LONG_GAP_MS = 800
_SHORT_MS = 900  # two runs as short as this are likely a count, of which each number helps to hear the next
_PAUSE_MS = 300  # shorter breaks lie inside a phrase: windows are not parted there
_FADE_MS = 15
_MUTE_FROM_MS = 700  # a shorter held sound does the recogniser no harm, and may be a drawn-out word
_TALK_DBFS = -20.0
_MOST_GAIN_DB = 26.0
_NEAR_DB = 6.0  # so near the working level sound stays as it is


@dataclass(frozen=True)
class Window:
    """Pieces of the recording that are recognised together, laid end to end.

    Parameters
    ----------
    pieces : tuple of (int, int)
        In order, apart from one another, in recording time (ms).
    """

    pieces: tuple[Interval, ...]

    @property
    def length_ms(self) -> int:
        """How long the window sounds."""
        return sum(length(piece) for piece in self.pieces)

    @property
    def span(self) -> Interval:
        """From the start of its first piece to the end of its last."""
        return self.pieces[0][0], self.pieces[-1][1]

    def start_in_recording(self, at_ms: int) -> int:
        """Window time of a start as recording time; at a join it belongs to the later piece."""
        return self._place(at_ms, later=True)

    def end_in_recording(self, at_ms: int) -> int:
        """Window time of an end as recording time; at a join it belongs to the earlier piece."""
        return self._place(at_ms, later=False)

    def _place(self, at_ms: int, *, later: bool) -> int:
        before = 0
        for piece in self.pieces:
            within = at_ms - before
            if within < length(piece) or (within == length(piece) and not later):
                return piece[0] + max(0, within)
            before += length(piece)
        return self.pieces[-1][1]


def cut(
    speech: Sequence[Interval],
    duration_ms: int,
    quietest: Callable[[Interval], int],
    *,
    most_ms: int = LENGTH_MS,
) -> list[Window]:
    """Return windows that hold all of `speech`, parted in silences.

    Parameters
    ----------
    speech : sequence of (int, int)
        Where somebody talks.
    duration_ms : int
        Length of the recording.
    quietest : callable
        Given an interval, returns the point in it where a cut hurts least; asked only where
        talk goes on for longer than a window.
    most_ms : int
        Longest window.
    """
    bounds = (0, duration_ms)
    talk = [(max(0, start), min(end, duration_ms)) for start, end in speech]
    runs = _no_longer_than(merge(talk, gap=_PAUSE_MS), most_ms - 2 * PAD_MS, quietest)
    windows: list[Window] = []
    first = 0
    while first < len(runs):
        last = first
        while last + 1 < len(runs) and _sounding_ms(runs[first : last + 2], bounds) <= most_ms:
            last += 1
        if last + 1 < len(runs):
            last = _best_part(runs, first, last, bounds, most_ms)
        # Neighbouring windows share the silence between them.
        around = (
            (runs[first - 1][1] + runs[first][0] + 1) // 2 if first else bounds[0],
            (runs[last][1] + runs[last + 1][0]) // 2 if last + 1 < len(runs) else bounds[1],
        )
        windows.append(Window(tuple(_padded(runs[first : last + 1], around))))
        first = last + 1
    return windows


def alone(stretch: Interval, duration_ms: int) -> Window:
    """Return a window that holds one stretch and the usual silence around it."""
    return Window(((max(0, stretch[0] - PAD_MS), min(duration_ms, stretch[1] + PAD_MS)),))


def _no_longer_than(runs: Sequence[Interval], most_ms: int, quietest: Callable[[Interval], int]) -> list[Interval]:
    short: list[Interval] = []
    for run in runs:
        start, end = run
        while end - start > most_ms:
            at = quietest((start + most_ms // 2, start + most_ms))
            short.append((start, at))
            start = at
        short.append((start, end))
    return short


def _padded(runs: Sequence[Interval], around: Interval) -> list[Interval]:
    """Runs with silence kept around them, at most half of each gap, never past `around`."""
    edges = [around[0], *(point for run in runs for point in run), around[1]]
    kept: list[Interval] = []
    for i, (start, end) in enumerate(runs):
        before, after = start - edges[2 * i], edges[2 * i + 3] - end
        before = before if i == 0 else before // 2
        after = after if i == len(runs) - 1 else after // 2
        kept.append((start - min(PAD_MS, before), end + min(PAD_MS, after)))
    return merge(kept, gap=LONG_GAP_MS - 2 * PAD_MS)


def _sounding_ms(runs: Sequence[Interval], bounds: Interval) -> int:
    return sum(length(piece) for piece in _padded(runs, bounds))


def _best_part(runs: Sequence[Interval], first: int, last: int, bounds: Interval, most_ms: int) -> int:
    """The last run of a full window: where the longest pause follows, in no count, if the window stays filled."""
    filled = [i for i in range(first, last + 1) if _sounding_ms(runs[first : i + 1], bounds) >= 0.7 * most_ms]

    def worth(i: int) -> tuple[bool, int, int]:
        counting = max(length(runs[i]), length(runs[i + 1])) <= _SHORT_MS
        return not counting, min(runs[i + 1][0] - runs[i][1], 2000), i

    return max(filled or [last], key=worth)


def quietest_point(samples: Samples, within: Interval) -> int:
    """Return the middle of the quietest fifth of a second in `within`."""
    signal = samples.read(*within).astype(np.float64)
    hop, frame = RATE // 100, RATE // 5
    if len(signal) < frame:
        return sum(within) // 2
    energy = np.concatenate([[0.0], np.cumsum(signal**2)])
    starts = np.arange(0, len(signal) - frame + 1, hop)
    quiet = int(starts[np.argmin(energy[starts + frame] - energy[starts])])
    return within[0] + (quiet + frame // 2) * 1000 // RATE


def muted(spans: Sequence[tuple[str, Interval]]) -> list[Interval]:
    """Return where effort sounds are silenced: holds, hums, glides and hisses that are not short."""
    kinds = {"hold", "hum", "glide", "hiss"}
    return merge(span for kind, span in spans if kind in kinds and length(span) >= _MUTE_FROM_MS)


def talk_without(speech: Sequence[Interval], mutes: Sequence[Interval]) -> list[Interval]:
    """Return the stretches of speech outside the silenced ones, in order."""
    return merge(subtract(speech, mutes))


def sound_of(samples: Samples, window: Window, mutes: Sequence[Interval]) -> Signal:
    """Return the sound of a window: pieces at a working level, effort sounds silenced, joins faded.

    Returns
    -------
    Signal
        float32, 16 kHz, as long as the window.
    """
    pieces = [_piece(samples, piece, mutes) for piece in window.pieces]
    return np.concatenate(pieces) if pieces else np.zeros(0, np.float32)


def _piece(samples: Samples, piece: Interval, mutes: Sequence[Interval]) -> Signal:
    signal = samples.read(*piece)
    wanted = samples_from_ms(length(piece), RATE)
    # Rounding may leave a sample too many or too few; times must not drift over many pieces.
    signal = np.pad(signal[:wanted], (0, max(0, wanted - len(signal))))
    mask = np.ones(wanted, np.float32)
    for start, end in mutes:
        if overlap((start, end), piece):
            first, last = (samples_from_ms(at - piece[0], RATE) for at in (start, end))
            mask[max(0, first) : max(0, last)] = 0
    fade = samples_from_ms(_FADE_MS, RATE)
    mask[:1] = mask[-1:] = 0
    mask = np.convolve(np.pad(mask, fade, mode="edge"), np.full(2 * fade + 1, 1 / (2 * fade + 1)), mode="valid")
    signal = signal * mask.astype(np.float32)
    return (signal * _gain(signal)).astype(np.float32)


def _gain(signal: Signal) -> float:
    """Factor that brings the loud part of `signal` to talking level without clipping."""
    frame = RATE // 20
    whole = signal[: len(signal) // frame * frame].reshape(-1, frame).astype(np.float64)
    loud = float(np.percentile(np.sqrt((whole**2).mean(axis=1)), 95)) if len(whole) else 0.0
    peak = float(np.abs(signal).max(initial=0.0))
    if loud <= 0 or peak <= 0:
        return 1.0
    gain_db = _TALK_DBFS - 20 * np.log10(loud)
    if abs(gain_db) <= _NEAR_DB:
        return 1.0
    return float(min(10 ** (min(gain_db, _MOST_GAIN_DB) / 20), 0.97 / peak))
