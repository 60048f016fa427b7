"""Tell the presenter from everybody else who speaks, so that a remark is not taken for an instruction.

The presenter is the voice with most talk. Every doubt goes to the presenter: a wrong "other"
would lose an instruction, a wrong "presenter" only leaves things as they were.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.samples import Samples
from segmenter.hear.voiceprint import LONGEST, Floats, features, prints
from segmenter.lesson import Check, Speaker, Word
from segmenter.times import clock, counted

PAUSE_MS = 250
"""A pause after which somebody else may speak; so may they after the end of a sentence."""
LONG_MS = 1_200
"""A turn of this length has a print to rely on; shorter ones need more."""
BRIEF_MS = 600
"""Turns under this length are nobody else's unless they stand among their words."""
LONGEST_MS = 4_000
"""A turn is cut after this, so that a voice is known from many pieces whatever the punctuation."""
LEAST_MS, LEAST_TURNS = 15_000, 5
"""Talk in long turns, and their number, that are needed to know the presenter's voice."""
SAME = 0.72
"""Likeness (cosine) of two turns of one voice. Made voices: own turns 0.79 and up in 98 of 100 under one
condition, 0.58 and up against the same voice in wind; other voices 0.40 to 0.78."""
FAR, FAR_BRIEF = 0.55, 0.48
"""Likeness to the presenter under which a long or a short turn is another voice without further proof."""
DOUBT, DOUBT_BRIEF = 0.62, 0.53
"""Likeness under which it is uncertain."""
APART = (0.62, 0.76)
"""A group of turns that are like one another, and less like the presenter than something between these, is another
voice: the steadier the presenter's voice, the higher the bar (`_bar`)."""
BRIEF_LESS = 0.1
"""How much less like its own voice a short turn is than a long one."""
MARGIN = 0.12
"""How much more like a known other voice than the presenter a turn must be."""
CLEAR_SHARE = 0.5
"""Share of the talk that one voice must have to be the presenter's."""
REMARK_MS = 20_000
"""Longer stretches are no remark but a guest, or the presenter in another room: they stay readable."""


TOGETHER = 64
"""Turns whose prints are made at once; many together are far quicker than one by one."""


@dataclass(frozen=True)
class _Turn:
    first: int
    last: int
    start_ms: int
    end_ms: int

    @property
    def ms(self) -> int:
        return self.end_ms - self.start_ms


@dataclass(frozen=True)
class Voices:
    """The words, each with its speaker, and what a person should know of it."""

    words: tuple[Word, ...]
    checks: tuple[Check, ...]


def tell_voices(samples: Samples, words: Sequence[Word]) -> Voices:
    """Mark every word as the presenter's, somebody else's, or unsure (None).

    Parameters
    ----------
    samples : Samples
        The decoded recording.
    words : sequence of Word
        In order of time.

    Raises
    ------
    ModelError
        If the weights cannot be read.
    """
    turns = _turns(words)
    if not turns:
        return Voices(tuple(words), ())
    marks = _prints(samples, turns)
    lengths = np.array([turn.ms for turn in turns])
    sure = (lengths >= LONG_MS) & marks.any(axis=1)
    speakers: list[Speaker | None] = ["presenter"] * len(turns)
    checks: tuple[Check, ...] = ()
    if lengths[sure].sum() >= LEAST_MS and sure.sum() >= LEAST_TURNS:
        presenter, share = _most_talk(marks[sure], lengths[sure])
        if share < CLEAR_SHARE:
            speakers = [None] * len(turns)
            checks = (_unclear(share),)
        else:
            speakers = _judged(marks, lengths, presenter)
            speakers = _short_ones(turns, speakers)
            speakers, guests = _guests(turns, speakers)
            checks = (*_told(turns, speakers), *guests)
    marked = list(words)
    for turn, speaker in zip(turns, speakers, strict=True):
        for at in range(turn.first, turn.last):
            marked[at] = words[at].model_copy(update={"speaker": speaker})
    return Voices(tuple(marked), checks)


def _turns(words: Sequence[Word]) -> list[_Turn]:
    turns: list[_Turn] = []
    first = 0
    for at, word in enumerate(words):
        following = words[at + 1] if at + 1 < len(words) else None
        ended = word.text.rstrip("\"')”’").endswith((".", "?", "!", "…"))
        ended = ended or word.end_ms - words[first].start_ms > LONGEST_MS
        if following is not None and not ended and following.start_ms - word.end_ms < PAUSE_MS:
            continue
        run = words[first : at + 1]
        turns.append(_Turn(first, at + 1, run[0].start_ms, max(w.end_ms for w in run)))
        first = at + 1
    return turns


def _prints(samples: Samples, turns: Sequence[_Turn]) -> Floats:
    """The print of each turn, from its start, and its end where it is long; zeros where it is too short."""
    found: list[Floats] = []
    for first in range(0, len(turns), TOGETHER):
        batch = [_pieces(samples, turn) for turn in turns[first : first + TOGETHER]]
        marks = prints([piece for pieces in batch for piece in pieces])
        at = 0
        for pieces in batch:
            found.append(_unit(marks[at : at + len(pieces)].sum(axis=0)))
            at += len(pieces)
    return np.stack(found)


def _pieces(samples: Samples, turn: _Turn) -> list[Floats]:
    frames = features(samples.read(turn.start_ms, turn.end_ms))
    return [frames[:LONGEST]] if len(frames) < 2 * LONGEST else [frames[:LONGEST], frames[-LONGEST:]]


def _unit(mark: Floats) -> Floats:
    return np.asarray(mark / max(1e-9, float(np.linalg.norm(mark))), dtype=np.float32)


def _most_talk(marks: Floats, lengths: NDArray[np.int64]) -> tuple[Floats, float]:
    """The mean print of the voice with most talk, and its share of the talk."""
    best, most = marks[0], -1.0
    # Two hundred starting points find the largest group of a class of any length.
    for at in np.unique(np.linspace(0, len(marks) - 1, 200).astype(int)):
        talk = float(lengths[marks @ marks[at] >= SAME].sum())
        if talk > most:
            best, most = marks[at], talk
    for _ in range(5):
        near = marks @ best >= SAME
        if not near.any():
            break
        best = _unit((marks[near] * lengths[near, None]).sum(axis=0))
    near = marks @ best >= DOUBT
    return best, float(lengths[near].sum() / lengths.sum())


def _judged(marks: Floats, lengths: NDArray[np.int64], presenter: Floats) -> list[Speaker | None]:
    own = marks @ presenter
    known = marks.any(axis=1) & (lengths >= BRIEF_MS)
    far = known & (own < np.where(lengths >= LONG_MS, FAR, FAR_BRIEF))
    doubtful = known & (own < np.where(lengths >= LONG_MS, DOUBT, DOUBT_BRIEF))
    bar = _bar(own[known & (lengths >= LONG_MS)])
    below = np.where(lengths >= LONG_MS, bar, bar - BRIEF_LESS)
    groups = _groups(marks, known & (own < below), lengths, presenter, bar)
    speakers: list[Speaker | None] = []
    for at in range(len(marks)):
        # A turn is no proof for itself: its group is taken without it.
        like = max((_likeness(marks, group, at) for group in groups), default=0.0)
        if far[at] or (known[at] and own[at] < below[at] and like - own[at] >= MARGIN and like >= SAME - MARGIN):
            speakers.append("other")
        else:
            speakers.append(None if doubtful[at] else "presenter")
    return speakers


def _bar(own: Floats) -> float:
    # Quartiles, since others' turns are few: from the middle down, three and a half times the way to the quarter.
    near = own[own >= DOUBT]
    if not len(near):
        return APART[0]
    quarter, middle = np.percentile(near, [25, 50])
    return float(np.clip(middle - 3.5 * (middle - quarter), *APART))


def _likeness(marks: Floats, group: list[int], at: int) -> float:
    rest = [member for member in group if member != at]
    return float(marks[at] @ _unit(marks[rest].sum(axis=0))) if len(rest) >= 2 else 0.0


def _groups(
    marks: Floats, candidates: NDArray[np.bool_], lengths: NDArray[np.int64], presenter: Floats, bar: float
) -> list[list[int]]:
    """Candidates that sound like one another and, taken together, unlike the presenter."""
    left = sorted(np.flatnonzero(candidates), key=lambda at: -int(lengths[at]))
    groups: list[list[int]] = []
    for at in left:
        fits = [(float(marks[at] @ _unit(marks[group].sum(axis=0))), group) for group in groups]
        like, group = max(fits, key=lambda fit: fit[0], default=(0.0, []))
        if like >= SAME - MARGIN / 2:
            group.append(int(at))
        else:
            groups.append([int(at)])
    return [
        group
        for group in groups
        # Short turns alone are like one another and unlike anybody: one long turn must vouch for them.
        if len(group) >= 2
        and lengths[group].max() >= LONG_MS
        and float(_unit(marks[group].sum(axis=0)) @ presenter) < bar
    ]


def _short_ones(turns: Sequence[_Turn], speakers: Sequence[Speaker | None]) -> list[Speaker | None]:
    """A turn too short to tell is somebody else's only where it stands close between their words."""
    filled = list(speakers)
    for at in range(1, len(turns) - 1):
        if turns[at].ms >= BRIEF_MS:
            continue
        before, after = turns[at].start_ms - turns[at - 1].end_ms, turns[at + 1].start_ms - turns[at].end_ms
        if filled[at - 1] == "other" == speakers[at + 1] and max(before, after) < 2 * PAUSE_MS:
            filled[at] = "other"
    return filled


def _runs(turns: Sequence[_Turn], speakers: Sequence[Speaker | None], of: Speaker | None) -> list[tuple[int, int]]:
    runs: list[tuple[int, int]] = []
    for at in range(len(turns)):
        if speakers[at] != of:
            continue
        if runs and runs[-1][1] == at:
            runs[-1] = (runs[-1][0], at + 1)
        else:
            runs.append((at, at + 1))
    return runs


def _guests(
    turns: Sequence[_Turn], speakers: Sequence[Speaker | None]
) -> tuple[list[Speaker | None], tuple[Check, ...]]:
    kept, checks = list(speakers), []
    for first, last in _runs(turns, speakers, "other"):
        if sum(turn.ms for turn in turns[first:last]) > REMARK_MS:
            kept[first:last] = [None] * (last - first)
            checks.append(
                Check(
                    code="voice-guest",
                    level="look",
                    message="Another voice seems to speak for a while here. Its words are read like the "
                    "presenter's; please see whether they should be.",
                    start_ms=turns[first].start_ms,
                    end_ms=turns[last - 1].end_ms,
                )
            )
    return kept, tuple(checks)


def _told(turns: Sequence[_Turn], speakers: Sequence[Speaker | None]) -> tuple[Check, ...]:
    checks = []
    others, unsure = _runs(turns, speakers, "other"), _runs(turns, speakers, None)
    # A guest's stretch is told by its own check.
    unsure = [run for run in unsure if sum(turn.ms for turn in turns[run[0] : run[1]]) <= REMARK_MS]
    if others:
        message = (
            f"Somebody other than the presenter seems to speak {_times(turns, others)}. Their words are in the "
            "captions but are not read as instructions. Make sure that they agreed to be in the recording."
        )
        checks.append(_check("voice-other", message, turns, others))
    if unsure:
        message = (
            f"It is not certain that the presenter speaks {_times(turns, unsure)}. The words are read as the "
            "presenter's: please see whether a remark became an instruction."
        )
        checks.append(_check("voice-unsure", message, turns, unsure))
    return tuple(checks)


def _check(code: str, message: str, turns: Sequence[_Turn], runs: Sequence[tuple[int, int]]) -> Check:
    start, end = turns[runs[0][0]].start_ms, turns[runs[0][1] - 1].end_ms
    return Check(code=code, level="look", message=message, start_ms=start, end_ms=end)


def _times(turns: Sequence[_Turn], runs: Sequence[tuple[int, int]], most: int = 8) -> str:
    named = ", ".join(clock(turns[first].start_ms) for first, _ in runs[:most])
    more = f" and {counted(len(runs) - most, 'more time')}" if len(runs) > most else ""
    return f"at {named}{more}"


def _unclear(share: float) -> Check:
    message = (
        f"Several people seem to speak, and no voice has most of the talk (the most is {share:.0%}). All words are "
        "read as the presenter's: please see whether a remark became an instruction."
    )
    return Check(code="voices-unclear", level="look", message=message)
