"""Speak classes to train on, and keep what was heard: ``python -m tests.evaluation.heard [--classes N]``.

Needs the extra ``evaluation``, and espeak-ng on the path. Two voices take turns, one trained and one made by
rules. Only talk is spoken: what is counted or held is laid out as it is written. What is there stays; takes a fifth
of the length of the classes on two cores.
"""

from __future__ import annotations

import argparse
import os
import random
import tempfile
from concurrent.futures import ProcessPoolExecutor, as_completed
from functools import cache
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.signal import resample_poly

from segmenter.files import write_whole
from segmenter.hear.samples import Samples
from segmenter.hear.sound import analyse
from segmenter.hear.speech import NoJournal, WhisperRecogniser, transcribe
from segmenter.resources import shipped, speech_weights
from segmenter.understand.layout import breath_ms, new_subject_ms, plain
from segmenter.understand.scripts import Opens, Said, Script, read_script
from segmenter.understand.train_heard import lines_of
from tests.evaluation.repair_voices import RATE, Voice, espeak, joe

_NOISE = 0.0005
"""Of full scale: no room is without any sound."""


@cache
def _recogniser() -> WhisperRecogniser:
    return WhisperRecogniser(speech_weights("base"), "base", 1)


@cache
def _voice(name: str) -> Voice:
    return {"joe": joe, "espeak": espeak}[name]()


def spoken(script: Script, speak: Voice) -> tuple[NDArray[np.float32], list[tuple[str, int, int]]]:
    """Return the talk of a class at 16 kHz, and its sentences with their start and end in ms."""
    chance = random.Random(script.name)
    parts, told, at = [np.zeros(RATE // 2)], list[tuple[str, int, int]](), RATE // 2
    for item in script.items:
        gap = new_subject_ms(chance) if isinstance(item, Opens) else 0
        if isinstance(item, Said):
            sound = speak(plain(item.text))
            told.append((plain(item.text), at * 1000 // RATE, (at + len(sound)) * 1000 // RATE))
            parts.append(sound)
            at += len(sound)
            gap = breath_ms(chance)
        parts.append(np.zeros(gap * RATE // 1000))
        at += len(parts[-1])
    parts.append(np.zeros(RATE // 2))
    noise = np.random.default_rng(7).standard_normal(at + RATE // 2) * _NOISE
    return np.asarray(resample_poly(np.concatenate(parts) + noise, 320, 441), np.float32), told


def heard(script: Script, voice: str) -> list[tuple[str, str]]:
    """Return the sentences of a class as written and as heard: the words nearest in time, by their middle."""
    signal, told = spoken(script, _voice(voice))
    with tempfile.TemporaryDirectory() as folder:
        samples = Samples.store(Path(folder) / "sound.raw", signal)
        facts = analyse(samples)
        made = transcribe(samples, facts.sounds, facts.speech, _recogniser(), language="en", journal=NoJournal())
    texts: list[list[str]] = [[] for _ in told]
    for word in made.words:
        middle = (word.start_ms + word.end_ms) / 2
        away = [max(start - middle, middle - end, 0.0) for _, start, end in told]
        texts[away.index(min(away))].append(word.text)
    return [(text, " ".join(words)) for (text, *_), words in zip(told, texts, strict=True)]


def _write(path: Path, voice: str, target: Path) -> str:
    write_whole(target, lines_of(heard(read_script(path), voice)))
    return target.name


def main() -> None:
    """Speak, hear, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--classes", type=int, default=1000, help="how many there shall be")
    parser.add_argument("--workers", type=int, default=os.cpu_count() or 1, help="processes side by side")
    chosen = parser.parse_args()
    source, target = shipped("training") / "classes", shipped("training") / "heard"
    target.mkdir(exist_ok=True)
    names = sorted(path.name for path in source.glob("*.txt"))
    # A run that is stopped early has met all sorts of classes.
    names = [name for first in range(3) for name in names[first::3]][: chosen.classes]
    voices = [(name, ("joe", "espeak")[at % 2]) for at, name in enumerate(names)]
    left = [(name, voice) for name, voice in voices if not (target / name).exists()]
    with ProcessPoolExecutor(chosen.workers) as pool:
        jobs = [pool.submit(_write, source / name, voice, target / name) for name, voice in left]
        for job in as_completed(jobs):
            print(job.result(), flush=True)


if __name__ == "__main__":
    main()
