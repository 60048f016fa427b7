"""Tell from who speaks when whether a transcript belongs to a recording.

Words that were laid into speech always lie in speech, whosever it is. But a wrong transcript gives some
stretches more to say than others have time for: the talk that the words need is compared with the
talk there is, window by window, and with the same words moved along the recording by chance.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.transcript_cues import note
from segmenter.hear.transcript_text import spoken_ms
from segmenter.heard import Speech
from segmenter.intervals import Interval, gaps, length, merge, overlap
from segmenter.lesson import Check, Word
from segmenter.times import clock, spoken_length

LEAST_TALK_MS = 5_000
LONG_GAP_MS = 20_000
_BIN_MS = 500
_SHORTEST_MS = 40
_LATE_MS = 2_000
"""Captions may come a little before or after the sound."""
_WINDOW_MS = 20_000
_FEWEST_WINDOWS = 8
_LEAST_IN_SPEECH, _LEAST_WORDED = 0.55, 0.4
"""Captions are longer or shorter than the sound, but half of them elsewhere is another class."""
_MISPLACED, _BY_CHANCE = 0.12, 0.06
"""Share of talk in the wrong window that made-up classes with their own words stayed under; and that share
times its ratio to chance."""

Values = NDArray[np.float64]


def check_match(
    words: Sequence[Word], speech: Sequence[Speech], duration_ms: int | None = None
) -> tuple[Check, ...]:
    """Tell when a transcript does not belong to a recording.

    Parameters
    ----------
    words : sequence of Word
        The words laid out in time, in order.
    speech : sequence of Speech
        Stretches of speech in the recording.
    duration_ms : int or None
        Length of the recording; None takes the end of the last word or stretch.

    Returns
    -------
    tuple of Check
        One ``transcript-does-not-match`` (look) when the words do not fit who speaks when, and else one
        ``transcript-gap`` (look) for each long stretch of speech without words. Where somebody talks all the
        time, or for less than three minutes, a wrong transcript may pass.
    """
    spoken = merge(stretch.span for stretch in speech)
    if not words or sum(map(length, spoken)) < LEAST_TALK_MS:
        return ()
    total = max(duration_ms or 0, spoken[-1][1], words[-1].end_ms)
    why = _mismatch(words, spoken, total)
    if why is not None:
        said = f"{why} Check that the transcript belongs to this recording."
        return (note("transcript-does-not-match", said),)
    return tuple(_gaps(words, spoken, total))


def _mismatch(words: Sequence[Word], spoken: Sequence[Interval], total: int) -> str | None:
    said = merge(((word.start_ms, max(word.end_ms, word.start_ms + _SHORTEST_MS)) for word in words), gap=300)
    # What the transcript leaves out before and after is a gap, not another class.
    within = (words[0].start_ms, words[-1].end_ms)
    text, talk = sum(map(length, said)), sum(overlap(within, stretch) for stretch in spoken)
    if talk < LEAST_TALK_MS:
        return (
            f"Where the transcript has words, from {clock(within[0])} to {clock(within[1])}, hardly anybody speaks."
        )
    count = total // _BIN_MS + 1
    one, other = _covered(said, count), _covered(spoken, count)
    shared = float(np.minimum(one, other).sum()) * _BIN_MS
    elsewhere, shift = _elsewhere(one, other)
    moved = ""
    if shift is not None:
        moved = f" It would fit if it came {spoken_length(abs(shift))} {'later' if shift > 0 else 'earlier'}."
    if elsewhere or shared < _LEAST_IN_SPEECH * text or shared < _LEAST_WORDED * talk:
        return (
            f"{100 * shared / max(1, text):.0f} % of the transcript falls where somebody speaks, and "
            f"{100 * shared / talk:.0f} % of the speech there has words.{moved}"
        )
    misplaced = _Windows.of(words, spoken, within).misplaced()
    if misplaced is not None:
        return f"{misplaced:.0%} of the words stand where there is no time to say them, while speech lacks words."
    return None


@dataclass(frozen=True)
class _Windows:
    """Talk that the words need, and talk that there is, ms, in windows of equal length; shape ``(windows,)``."""

    needed: Values
    spoken: Values

    @classmethod
    def of(cls, words: Sequence[Word], spoken: Sequence[Interval], within: Interval) -> _Windows:
        count = max(1, length(within) // _WINDOW_MS)
        edges = np.linspace(within[0], within[1], count + 1)
        middles = [(word.start_ms + word.end_ms) / 2 for word in words]
        needed, _ = np.histogram(middles, bins=edges, weights=[spoken_ms(word.text) for word in words])
        return cls(np.asarray(needed, dtype=np.float64), _between(spoken, edges))

    def misplaced(self) -> float | None:
        """Share of the talk in the wrong window, when it is not clearly less than by chance; else None."""
        count = len(self.needed)
        if count < _FEWEST_WINDOWS:
            return None
        scaled = self.needed * self.spoken.sum() / max(1.0, self.needed.sum())
        # Neighbours are alike, so chance is what comes out further off.
        shares = [
            float(np.abs(np.roll(scaled, step) - self.spoken).sum() / (2 * self.spoken.sum()))
            for step in (0, *range(2, count - 1))
        ]
        usual = float(np.median(shares[1:]))
        here = shares[0]
        return here if here > _MISPLACED and here * here > _BY_CHANCE * usual else None


def _gaps(words: Sequence[Word], spoken: Sequence[Interval], total: int) -> list[Check]:
    checks = []
    for gap in gaps((word.span for word in words), (0, total)):
        unsaid = sum(overlap(gap, stretch) for stretch in spoken) if length(gap) > LONG_GAP_MS else 0
        if unsaid > LONG_GAP_MS:
            said = (
                f"The transcript has no words from {clock(gap[0])} to {clock(gap[1])}, "
                f"but somebody speaks there for {spoken_length(unsaid)}."
            )
            checks.append(note("transcript-gap", said).model_copy(update={"start_ms": gap[0], "end_ms": gap[1]}))
    return checks


def _elsewhere(said: Values, spoken: Values) -> tuple[bool, int | None]:
    """Whether the words fit better at another place; and how many ms later, where they fit well there."""
    count = len(said)
    one, other, size = said - said.mean(), spoken - spoken.mean(), 2 * count
    spread = float(np.sqrt((one**2).sum() * (other**2).sum()))
    if spread == 0:
        return False, None
    match = np.fft.irfft(np.conj(np.fft.rfft(one, size)) * np.fft.rfft(other, size), size) / spread
    near = _LATE_MS // _BIN_MS
    here = float(max(match[: near + 1].max(), match[-near:].max()))
    best = int(np.argmax(match))
    if match[best] < here + 0.05:
        return False, None
    steps = best if best < count else best - size
    return True, steps * _BIN_MS if match[best] > 0.6 else None  # by chance less than half is reached


def _covered(spans: Sequence[Interval], count: int) -> Values:
    """How much of each bin the spans cover, 0 to 1; shape ``(count,)``."""
    return _between(spans, np.arange(count + 1, dtype=np.float64) * _BIN_MS) / _BIN_MS


def _between(spans: Sequence[Interval], edges: Values) -> Values:
    """Milliseconds of the spans (in order, apart) between neighbouring edges."""
    marks = np.array(spans, dtype=np.float64).ravel()
    reached = np.concatenate([[0.0], np.cumsum(np.diff(marks) * (np.arange(len(marks) - 1) % 2 == 0))])
    return np.asarray(np.diff(np.interp(edges, marks, reached)), dtype=np.float64)
