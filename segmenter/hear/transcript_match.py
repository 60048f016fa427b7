"""Tell from who speaks when whether a transcript belongs to a recording."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.transcript_cues import note
from segmenter.heard import Speech
from segmenter.intervals import Interval, gaps, length, merge, overlap
from segmenter.lesson import Check, Word
from segmenter.times import clock, spoken_length

BIN_MS = 500
_LEAST_TALK_MS = 5_000
_LONG_GAP_MS = 20_000


def check_match(
    words: Sequence[Word], speech: Sequence[Speech], duration_ms: int | None = None
) -> tuple[Check, ...]:
    """Tell when a transcript does not belong to a recording, from who speaks when.

    Parameters
    ----------
    words : sequence of Word
        The words laid out in time.
    speech : sequence of Speech
        Stretches of speech in the recording.
    duration_ms : int or None
        Length of the recording; None takes the end of the last word or stretch.

    Returns
    -------
    tuple of Check
        ``transcript-does-not-match`` when much is said where nobody speaks, or much speech has no words;
        else one ``transcript-gap`` for each long stretch of speech without words.
    """
    spoken = merge(stretch.span for stretch in speech)
    said = merge((word.span for word in words), gap=700)
    talk, text = sum(map(length, spoken)), sum(map(length, said))
    if talk < _LEAST_TALK_MS or not words:
        return ()
    total = max(duration_ms or 0, spoken[-1][1], said[-1][1])
    shared = sum(overlap(one, other) for one in said for other in spoken)
    if shared < 0.55 * text or shared < 0.4 * talk:
        return (_mismatch(shared / max(1, text), shared / talk, said, spoken, total),)
    return tuple(
        note("transcript-gap", f"Somebody speaks for {spoken_length(length(gap))} from {clock(gap[0])}, but the "
             "transcript has no words there.", gap[0]).model_copy(update={"end_ms": gap[1]})
        for gap in gaps([word.span for word in words], (0, total))
        if sum(overlap(gap, stretch) for stretch in spoken) > _LONG_GAP_MS
    )  # fmt: skip


def _mismatch(said_spoken: float, spoken_said: float, said: Sequence[Interval], spoken: Sequence[Interval],
              total: int) -> Check:  # fmt: skip
    shift = _shift(said, spoken, total)
    moved = ""
    if shift is not None:
        moved = f" It would fit if it came {spoken_length(abs(shift))} {'later' if shift > 0 else 'earlier'}."
    return note(
        "transcript-does-not-match",
        f"{100 * said_spoken:.0f} % of the transcript falls where somebody speaks, and {100 * spoken_said:.0f} % "
        f"of the speech has words. Check that the transcript belongs to this recording.{moved}",
    )


def _shift(said: Sequence[Interval], spoken: Sequence[Interval], total: int) -> int | None:
    """How many milliseconds later the words would have to come to fit; None when no shift fits well."""
    count = total // BIN_MS + 1
    one, other = _shares(said, count), _shares(spoken, count)
    size = 2 * count
    product = np.fft.irfft(
        np.conj(np.fft.rfft(one - one.mean(), size)) * np.fft.rfft(other - other.mean(), size), size
    )
    spread = float(np.sqrt(((one - one.mean()) ** 2).sum() * ((other - other.mean()) ** 2).sum()))
    best = int(np.argmax(product))
    if spread == 0 or product[best] / spread < 0.6:
        return None
    return (best if best < count else best - size) * BIN_MS


def _shares(spans: Sequence[Interval], count: int) -> NDArray[np.float64]:
    """How much of each bin the spans cover, 0 to 1."""
    marks = np.arange(count + 1) * BIN_MS
    starts, ends = np.array(spans, dtype=np.float64).reshape(-1, 2).T
    before = np.clip(marks[:, None] - starts, 0, ends - starts).sum(axis=1)
    return np.asarray(np.diff(before) / BIN_MS, dtype=np.float64)
