"""A recogniser that plays back words it was given: needs no weights, knows what was said."""

from __future__ import annotations

import json
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from segmenter.hear.recogniser import Recognised, RecognisedWord
from segmenter.hear.samples import RATE, Signal


class Replay:
    """Answers each window with the saved words of the next one.

    Parameters
    ----------
    windows : sequence of Recognised
        One answer a window, in order of recognition; after the last one nothing is heard.
    name : str
        Name of the recogniser.
    """

    def __init__(self, windows: Sequence[Recognised], name: str = "replay") -> None:
        self.name = name
        self.calls: list[float] = []
        self._windows = list(windows)

    @classmethod
    def load(cls, file: Path) -> Replay:
        """Read the JSON list that `save` wrote."""
        return cls([Recognised.from_json(json.dumps(one)) for one in json.loads(file.read_text("utf-8"))])

    def save(self, file: Path) -> None:
        """Write the answers as a JSON list."""
        file.write_text(json.dumps([json.loads(one.to_json()) for one in self._windows], indent=1), "utf-8")

    def recognise(self, signal: Signal, language: str | None, prompt: str | None = None) -> Recognised:
        """Return the next saved answer; notes the seconds it was asked to listen to in `calls`."""
        at = len(self.calls)
        self.calls.append(len(signal) / RATE)
        if at < len(self._windows):
            return self._windows[at]
        return Recognised((), language or "en", 1.0)


class Tones:
    """Hears one word for every burst of sound in the window, numbered by its pitch.

    A stand-in for tests that need words where the sound is: a burst of ``200 + 20 n`` Hz is
    heard as the word ``w<n>``.
    """

    def __init__(self, name: str = "tones") -> None:
        self.name = name
        self.calls: list[float] = []

    def recognise(self, signal: Signal, language: str | None, prompt: str | None = None) -> Recognised:
        """Return one word for every burst louder than -40 dBFS."""
        self.calls.append(len(signal) / RATE)
        frame = RATE // 100
        loud = np.sqrt((signal[: len(signal) // frame * frame].reshape(-1, frame) ** 2).mean(axis=1)) > 0.01
        edges = np.flatnonzero(np.diff(np.concatenate([[0], loud.astype(np.int8), [0]])))
        words = []
        for first, last in zip(edges[::2], edges[1::2], strict=True):
            burst = signal[first * frame : last * frame]
            pitch = np.argmax(np.abs(np.fft.rfft(burst, 4 * RATE))) / 4
            number = round((float(pitch) - 200) / 20)
            words.append(RecognisedWord(f" w{number}", first / 100, last / 100, 0.9))
        return Recognised(tuple(words), language or "en", 1.0)
