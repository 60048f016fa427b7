"""Speak a scripted class with a synthetic voice, and take it the whole way from its sound.

Needs the extra ``evaluation``. Glides and hisses are spoken as held vowels: only those have an exact truth.
"""

from __future__ import annotations

import importlib
import random
import sys
import tempfile
import wave
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from segmenter.lesson import Chapter
from segmenter.pipeline import build
from segmenter.understand.layout import Truth, breath_ms, new_subject_ms, plain, truth_of
from segmenter.understand.scripts import Counted, Made, Opens, Said, Script, value_of

EXAMPLES = Path(__file__).parents[2] / "examples"
PITCH_HZ = 96.0


def spoken_class(script: Script) -> tuple[Truth, tuple[Chapter, ...]]:
    """Return the truth of a class as it was spoken, and the chapters of its lesson."""
    render = _renderer()
    samples, truth = spoken(script, render.PiperUtterer())
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "class.wav"
        with wave.open(str(path), "wb") as sound:
            sound.setnchannels(1)
            sound.setsampwidth(2)
            sound.setframerate(render.RATE)
            sound.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
        lesson = build(path, Path(folder) / "lesson").lesson
    return truth, lesson.chapters


def spoken(script: Script, speak: Callable[[str], Any]) -> tuple[NDArray[np.float64], Truth]:
    """Return the sound of a class as `speak` says it, and the truth about that sound."""
    render = _renderer()
    samples, said = render.render(list(_events(script, render)), speak, 7)
    return samples, truth_of(script, _spans(script, said), round(said["seconds"] * 1000))


def _renderer() -> Any:
    sys.path.insert(0, str(EXAMPLES))
    try:
        return importlib.import_module("render")
    finally:
        sys.path.remove(str(EXAMPLES))


def _events(script: Script, render: Any) -> Iterator[Any]:
    chance = random.Random(script.name)
    for item in script.items:
        match item:
            case Opens():
                yield render.Chapter(item.exercise or item.kind, item.kind, item.family)
                yield render.Silence(new_subject_ms(chance) / 1000, "between chapters")
            case Said():
                yield render.Say(plain(item.text), after_s=breath_ms(chance) / 1000)
            case Made("silence"):
                yield render.Silence(item.seconds, "in the script")
            case Made():
                high = item.kind == "glide" or bool(item.numbers and item.numbers[0] > 250)
                vowel = "mm" if item.kind == "hum" else "ee" if high else "ah"
                yield render.Hold(vowel, item.seconds, PITCH_HZ * (1.2 if high else 1.0))
            case Counted():
                words = tuple(_fitting(group, item.beat_s) for group in item.groups)
                yield render.Count(item.kind, words, item.values, item.beat_s)


def _fitting(group: str, beat_s: float) -> str:
    """The words of one beat; where praise does not fit in, the number alone."""
    words = group.split()
    if 0.45 * len(words) + 0.3 > beat_s:
        words = [words[value_of(group)[1]]]
    return f"{' '.join(words).rstrip(',.')}."


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
