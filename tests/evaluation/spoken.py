"""Speak a scripted class with a synthetic voice, and take it the whole way from its sound.

Needs the extra ``evaluation``. Glides and hisses are spoken as held vowels: only those have an exact truth.
"""

from __future__ import annotations

import importlib
import sys
import tempfile
import wave
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np

from segmenter.lesson import Chapter
from segmenter.pipeline import build
from tests.evaluation.layout import Truth, plain, truth_of
from tests.evaluation.scripts import Counted, Made, Opens, Said, Script

EXAMPLES = Path(__file__).parents[2] / "examples"
PITCH_HZ = 96.0


def spoken_class(script: Script) -> tuple[Truth, tuple[Chapter, ...]]:
    """Return the truth of a class as it was spoken, and the chapters of its lesson."""
    sys.path.insert(0, str(EXAMPLES))
    try:
        render = importlib.import_module("render")
    finally:
        sys.path.remove(str(EXAMPLES))
    samples, said = render.render(list(_events(script, render)), render.PiperUtterer(), 7)
    truth = truth_of(script, _spans(script, said), round(said["seconds"] * 1000))
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "class.wav"
        with wave.open(str(path), "wb") as sound:
            sound.setnchannels(1)
            sound.setsampwidth(2)
            sound.setframerate(render.RATE)
            sound.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
        lesson = build(path, Path(folder) / "lesson").lesson
    return truth, lesson.chapters


def _events(script: Script, render: Any) -> Iterator[Any]:
    for item in script.items:
        match item:
            case Opens():
                yield render.Chapter(item.exercise or item.kind, item.kind, item.family)
                yield render.Silence(0.6, "between chapters")
            case Said():
                yield render.Say(plain(item.text))
            case Made("silence"):
                yield render.Silence(item.seconds, "in the script")
            case Made():
                high = item.kind == "glide" or bool(item.numbers and item.numbers[0] > 250)
                vowel = "mm" if item.kind == "hum" else "ee" if high else "ah"
                yield render.Hold(vowel, item.seconds, PITCH_HZ * (1.2 if high else 1.0))
            case Counted():
                words = tuple(f"{group.rstrip(',.')}." for group in item.groups)
                beat = max(item.beat_s, 0.45 * max(len(group.split()) for group in words) + 0.3)
                yield render.Count(item.kind, words, item.values, beat)


def _spans(script: Script, said: dict[str, Any]) -> list[tuple[int, ...]]:
    """Where each item of the script came to lie, in milliseconds."""
    sentences, counts, holds = iter(said["sentences"]), iter(said["counts"]), iter(said["sounds"])
    quiet = iter([row for row in said["silences"] if row["why"] == "in the script"])
    chapters = iter(said["chapters"])
    spans: list[tuple[int, ...]] = []
    for item in script.items:
        match item:
            case Opens():
                start = _ms(next(chapters)["start"])
                spans.append((start, start))
            case Counted():
                row = next(counts)
                spans.append((*(_ms(number["start"]) for number in row["numbers"]), _ms(row["end"])))
            case _:
                row = next(sentences if isinstance(item, Said) else quiet if item.kind == "silence" else holds)
                spans.append((_ms(row["start"]), _ms(row["end"])))
    return spans


def _ms(seconds: float) -> int:
    return round(seconds * 1000)
