"""Compare words with those of plain faster-whisper: ``python -m tests.evaluation.words [--classes N] [--write]``.

Both use the same weights on the same sound: the example, scripted classes spoken by a synthetic voice (extra
``evaluation``), and real recordings where they are present. Word error is counted by jiwer after one normaliser;
of the made recordings the spoken numbers, their times, and lost sentences are counted as well.
"""

from __future__ import annotations

import argparse
import json
import re
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import chain
from pathlib import Path
from typing import Any

import jiwer
import numpy as np
from faster_whisper import WhisperModel
from faster_whisper.audio import decode_audio

from segmenter.hear.samples import Samples, Signal
from segmenter.hear.sound import analyse
from segmenter.hear.speech import NoJournal, Spoken, WhisperRecogniser, transcribe
from segmenter.lesson import Word
from segmenter.resources import speech_weights
from tests.evaluation.example import MEDIA, ROOT, TRUTH
from tests.evaluation.readme import put

REAL = ROOT.parent / "shared" / "data" / "real"
THREADS = 2
NEAR_MS = 600
"""How far from its place a number is looked for; beats are a second apart."""
WITHIN_MS = 150
_UNITS = (
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve",
    "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen", "nineteen",
)  # fmt: skip
_TENS = ("zero", "ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
# After the normaliser published with Whisper (Radford et al. 2022, appendix C; from memory): fillers say nothing,
# and a contraction is what it stands for.
_FILLERS = re.compile(r"\b(hmm|mm|mhm|mmm|uh|um)\b")
_SPELLED = {
    r"\bwon't\b": "will not", r"\bcan't\b": "can not", r"\blet's\b": "let us", r"\b(gonna|going to)\b": "going to",
    r"\bwanna\b": "want to", r"\bgotta\b": "got to", r"n't\b": " not", r"'re\b": " are", r"'s\b": " is",
    r"'d\b": " would", r"'ll\b": " will", r"'ve\b": " have", r"'m\b": " am", r"\balright\b": "all right",
    r"\by'?know\b": "you know",
}  # fmt: skip


@dataclass(frozen=True)
class Clip:
    """Sound, what is said in it, and when where that is known: ``(start_ms, end_ms, text)``."""

    name: str
    signal: Signal
    text: str
    sentences: tuple[tuple[int, int, str], ...] = ()
    numbers: tuple[tuple[int, int, str], ...] = ()


def bare(text: str) -> str:
    """Return the words alone: small letters, no signs, numbers and contractions in full, no fillers.

    >>> bare("Um, let's do 12 more: isn't it - 21, 22!")
    'let us do twelve more is not it twenty one twenty two'
    """
    text = text.lower().replace("’", "'")
    for written, said in _SPELLED.items():
        text = re.sub(written, said, text)
    text = re.sub(r"[^\w' ]", " ", text)
    text = re.sub(r"\d+", lambda found: f" {_in_words(int(found[0]))} ", text)
    return " ".join(word.strip("'") for word in _FILLERS.sub(" ", text).split() if word.strip("'"))


def _in_words(number: int) -> str:
    if number < len(_UNITS):
        return _UNITS[number]
    if number < 100:
        return f"{_TENS[number // 10]} {_UNITS[number % 10] if number % 10 else ''}".strip()
    return str(number)


def example() -> Clip:
    """Return the example class."""
    return _made("example class", decode_audio(str(MEDIA)), json.loads(TRUTH.read_text(encoding="utf-8")))


def scripted(count: int) -> Iterator[Clip]:
    """Speak `count` of the scripted classes, spread over the kinds of exercises."""
    from scipy.signal import resample_poly

    from segmenter.understand.scripts import read_scripts
    from tests.evaluation import spoken

    scripts = read_scripts(Path(__file__).parent / "classes" / "tuned")
    render = spoken._renderer()
    speak = render.PiperUtterer()
    for script in scripts[:: max(1, len(scripts) // max(1, count))][:count]:
        sound, said = render.render(list(spoken._events(script, render)), speak, 7)
        yield _made("spoken classes", np.asarray(resample_poly(sound, 320, 441), np.float32), said)


def recorded() -> Iterator[Clip]:
    """Return the real recordings that have a text."""
    for text in sorted(REAL.glob("*.txt")):
        sound = next(path for path in text.parent.glob(f"{text.stem}.*") if path.suffix in {".wav", ".mp3"})
        # The first line of a reading is its number, spoken as a word.
        said = re.sub(r"^(I+)\n", lambda found: f"{len(found[1])}\n", text.read_text(encoding="utf-8"))
        yield Clip(f"real, {text.stem}", decode_audio(str(sound)), re.sub(r"<\w+>", "", said))


def _made(name: str, signal: Signal, truth: dict[str, Any]) -> Clip:
    sentences = tuple(_row(row) for row in truth["sentences"])
    numbers = tuple(_row(number) for count in truth["counts"] for number in count["numbers"])
    return Clip(name, signal, " ".join(text for *_, text in sorted([*sentences, *numbers])), sentences, numbers)


def _row(row: dict[str, Any]) -> tuple[int, int, str]:
    return round(row["start"] * 1000), round(row["end"] * 1000), row["text"]


@dataclass
class Score:
    """Sums over the clips of one row."""

    said: int = 0
    own: int = 0
    plain: int = 0
    numbers: int = 0
    present: int = 0
    in_time: int = 0
    sentences: int = 0
    lost: int = 0
    notes: list[str] = field(default_factory=list)

    def add(self, clip: Clip, own: Spoken, plain: str) -> None:
        """Count one clip."""
        truth = bare(clip.text)
        for name, text in (("own", " ".join(word.text for word in own.words)), ("plain", plain)):
            found = jiwer.process_words(truth, bare(text))
            wrong = found.substitutions + found.deletions + found.insertions
            setattr(self, name, getattr(self, name) + wrong)
        self.said += len(truth.split())
        self.sentences += len(clip.sentences)
        for start, end, text in clip.numbers:
            said = bare(text).split()
            values = set(said) & {*_UNITS, *_TENS}
            if not values:
                continue  # "in", "and out"
            self.numbers += 1
            # Of "and up, three" the place of the beat is known, and with it where its first word stands.
            there = [word for word in own.words if start - NEAR_MS < word.start_ms < end + NEAR_MS]
            near = [word.start_ms - start for word in there if said[0] in bare(word.text).split()]
            off = min((abs(away) for away in near), default=NEAR_MS)
            self.present += any(values & set(bare(word.text).split()) for word in there)
            self.in_time += off <= WITHIN_MS
            if off > WITHIN_MS:
                self.notes.append(f"number {text} at {start / 1000:.2f} s: {off} ms off")
        for start, end, text in clip.sentences:
            if _lost(start, end, text, own.words):
                self.lost += 1
                self.notes.append(f"lost at {start / 1000:.2f} s: {text}")

    def row(self) -> str:
        """Return the cells of a table."""
        rates = (f"{wrong / max(1, self.said):.4f}" for wrong in (self.own, self.plain))
        shares = (
            f"{part / self.numbers:.1%} of {self.numbers}" if self.numbers else "-"
            for part in (self.present, self.in_time)
        )
        lost = f"{self.lost} of {self.sentences}" if self.sentences else "-"
        return " | ".join((*rates, str(self.said), *shares, lost))


def _lost(start: int, end: int, text: str, words: tuple[Word, ...]) -> bool:
    """Whether less than half as many words were heard in the time of a sentence as it has."""
    heard = [word for word in words if start - 300 <= (word.start_ms + word.end_ms) / 2 <= end + 300]
    return 2 * len(heard) < len(text.split())


def own_words(clip: Clip, recogniser: WhisperRecogniser, folder: Path) -> Spoken:
    """Return the words as `segmenter.hear` finds them."""
    samples = Samples.store(folder / "sound.raw", clip.signal)
    facts = analyse(samples)
    return transcribe(samples, facts.sounds, facts.speech, recogniser, language="en", journal=NoJournal())


def plain_words(clip: Clip, model: Any) -> str:
    """Return the text of faster-whisper with its own settings and the same beam."""
    segments, _ = model.transcribe(clip.signal, language="en", beam_size=5, word_timestamps=True)
    return "".join(segment.text for segment in segments)


def measured(clips: Iterator[Clip], verbose: bool = False) -> dict[str, Score]:
    """Return a score for every name of the clips."""
    weights = speech_weights("base")
    recogniser = WhisperRecogniser(weights, "base", THREADS)
    model = WhisperModel(str(weights), device="cpu", compute_type="int8", cpu_threads=THREADS)
    scores: dict[str, Score] = {}
    with tempfile.TemporaryDirectory() as folder:
        for clip in clips:
            score = scores.setdefault(clip.name, Score())
            score.add(clip, own_words(clip, recogniser, Path(folder)), plain_words(clip, model))
            if verbose:
                print(clip.name, score.row(), *score.notes, sep="\n  ", flush=True)
    return scores


def table(scores: dict[str, Score]) -> str:
    """Return a markdown table."""
    lines = [
        "| sound | word error, own | plain | words | numbers present | within 0.15 s | sentences lost |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    whole = Score()
    for score in scores.values():
        for name in ("said", "own", "plain", "numbers", "present", "in_time", "sentences", "lost"):
            setattr(whole, name, getattr(whole, name) + getattr(score, name))
    return "\n".join(lines + [f"| {name} | {score.row()} |" for name, score in {**scores, "all": whole}.items()])


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--classes", type=int, default=17, help="how many scripted classes are spoken")
    parser.add_argument("-v", "--verbose", action="store_true", help="print what was missed")
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    chosen = parser.parse_args()
    clips = chain([example()], scripted(chosen.classes), recorded())
    text = table(measured(clips, chosen.verbose))
    print(text)
    if chosen.write:
        put(ROOT / "README.md", "words", text)


if __name__ == "__main__":
    main()
