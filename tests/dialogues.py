"""Conversations put together from single voices, with the truth of who speaks each word."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from segmenter.hear.samples import RATE
from segmenter.lesson import Word

Waves = NDArray[np.float64]
WORDS_A_SECOND = 2.8
SLIP_S = 0.08
"""Standard deviation by which a recogniser's word times are off."""


@dataclass(frozen=True)
class Dialogue:
    """Sound, its words, and for each word whether the presenter speaks it."""

    sound: Waves
    words: tuple[Word, ...]
    presenter: tuple[bool, ...]


def dialogue(turns: Sequence[tuple[bool, Waves]], rng: np.random.Generator) -> Dialogue:
    """Lay turns one after the other, with pauses as between people; words are spread evenly over each turn."""
    parts: list[Waves] = [np.zeros(RATE // 2)]
    words: list[Word] = []
    presenter: list[bool] = []
    at = 0.5
    for own, sound in turns:
        seconds = len(sound) / RATE
        count = max(1, round(seconds * WORDS_A_SECOND))
        for n in range(count):
            start = at + seconds * n / count + rng.normal(0, SLIP_S)
            end = max(start + 0.1, at + seconds * (n + 0.9) / count + rng.normal(0, SLIP_S))
            text = "word." if n == count - 1 else "word"
            words.append(Word(text=text, start_ms=max(0, round(start * 1000)), end_ms=max(100, round(end * 1000))))
            presenter.append(own)
        pause = float(rng.uniform(0.2, 0.9))
        parts += [sound, np.zeros(int(pause * RATE))]
        at += seconds + pause
    whole = np.concatenate(parts)
    return Dialogue(whole + rng.normal(0, 1e-4, len(whole)), tuple(words), tuple(presenter))


def pieces(sound: Waves, quiet_s: float = 0.2, least_s: float = 0.5) -> list[Waves]:
    """Cut a voice at its pauses."""
    step = RATE // 100
    power = np.convolve(
        np.mean(sound[: len(sound) // step * step].reshape(-1, step) ** 2, axis=1), np.ones(3) / 3, "same"
    )
    low, high = np.log10(np.percentile(power, [10, 95]) + 1e-9)
    loud = power > 10 ** (low + 0.35 * (high - low))
    cuts, first, gap = [], None, 0
    for frame, on in enumerate([*loud, *[False] * 100]):
        if on:
            first, gap = (frame if first is None else first), 0
        elif first is not None:
            gap += 1
            if gap * step > quiet_s * RATE:
                cuts.append((first * step, (frame - gap + 1) * step))
                first = None
    return [sound[start:end] for start, end in cuts if end - start >= least_s * RATE]


def mixed(
    presenter: Sequence[Waves], others: Sequence[Waves], rng: np.random.Generator, share: float
) -> list[tuple[bool, Waves]]:
    """Every piece of the presenter in order, with pieces of others between some of them."""
    turns: list[tuple[bool, Waves]] = []
    left = list(others)
    for piece in presenter:
        turns.append((True, piece))
        if left and rng.random() < share:
            turns.append((False, left.pop(0)))
    return turns
