"""Test sounds whose truth is known: a source-filter voice, noise, and the rooms and winds that spoil them.

The voice is a pulse of glottal flow through formant resonators (the source-filter model: Fant, Acoustic Theory of
Speech Production, 1960; formant tables after Peterson and Barney 1952, both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

import numpy as np
from numpy.typing import NDArray
from scipy import signal as dsp

from segmenter.hear.samples import RATE, Signal

VOWELS = {
    "a": (730, 1090, 2440, 3400),
    "i": (270, 2290, 3010, 3500),
    "u": (300, 870, 2240, 3300),
    "e": (530, 1840, 2480, 3400),
    "o": (500, 900, 2400, 3300),
}
TALK_LEVEL = 0.08
"""Root mean square of the test speaker's voice."""

Waves = NDArray[np.float64]


def _level(sound: Waves, rms: float) -> Waves:
    return sound * (rms / max(1e-9, float(np.sqrt(np.mean(sound**2)))))


def _fade(sound: Waves, seconds: float) -> Waves:
    ramp = np.linspace(0, 1, max(2, int(seconds * RATE)))
    shaped = sound.copy()
    shaped[: len(ramp)] *= ramp
    shaped[-len(ramp) :] *= ramp[::-1]
    return shaped


def voice(pitch_hz: Waves, vowel: str, rng: np.random.Generator, breathy: float = 0.03) -> Waves:
    """Sound a vowel along a pitch curve (one value a sample), with natural jitter and shimmer."""
    wobble = dsp.lfilter([1], [1, -0.999], rng.normal(0, 1, len(pitch_hz))) * 0.03 * 0.003
    phase = np.cumsum(pitch_hz * (1 + wobble)) / RATE
    at = phase % 1
    # Rosenberg's polynomial pulse: it opens slowly and closes abruptly, which is what makes the overtones.
    flow = np.where(at < 0.6, (at / 0.6) ** 2 * (1 - at / 0.6), 0.0)
    cycles = phase.astype(int)
    shimmer = 1 + rng.normal(0, 0.03, cycles[-1] + 1)
    source = np.diff(flow * shimmer[cycles], prepend=0.0)
    source += rng.normal(0, breathy * float(source.std()), len(source))
    for place, formant in enumerate(VOWELS[vowel]):
        radius = np.exp(-np.pi * (60 + 40 * place) / RATE)
        poles = [1, -2 * radius * np.cos(2 * np.pi * formant / RATE), radius**2]
        source = dsp.lfilter([sum(poles)], poles, source)
    return np.asarray(source, dtype=np.float64)


def hold(
    seconds: float, pitch_hz: float, rng: np.random.Generator, vowel: str = "a", *, drift_st: float = 0.0,
    vibrato_st: float = 0.15, fade: float = 0.03,
) -> Waves:  # fmt: skip
    """Sustain a vowel with slow drift and slight vibrato."""
    time = np.arange(int(seconds * RATE)) / RATE
    bend = drift_st * (time / seconds - 0.5) + vibrato_st * np.sin(2 * np.pi * rng.uniform(4.5, 6) * time)
    return _level(_fade(voice(pitch_hz * 2 ** (bend / 12), vowel, rng), fade), TALK_LEVEL)


def hum(seconds: float, pitch_hz: float, rng: np.random.Generator) -> Waves:
    """Sustain a voice behind closed lips: nearly all energy below 700 Hz."""
    open_voice = hold(seconds, pitch_hz, rng, "u", fade=0.001)
    closed = dsp.sosfilt(dsp.butter(4, 450, "low", fs=RATE, output="sos"), open_voice)
    return _level(_fade(closed, 0.04), TALK_LEVEL * 0.8)


def glide(seconds: float, low_hz: float, high_hz: float, rng: np.random.Generator, back: bool = False) -> Waves:
    """Slide from one pitch to another, and back again where `back` is set."""
    share = np.linspace(0, 1, int(seconds * RATE))
    share = 1 - np.abs(2 * share - 1) if back else share
    return _level(_fade(voice(low_hz * (high_hz / low_hz) ** share, "u", rng), 0.03), TALK_LEVEL)


def hiss(seconds: float, rng: np.random.Generator) -> Waves:
    """Let air out through the teeth: noise above 3.5 kHz."""
    noise = rng.normal(0, 1, int(seconds * RATE))
    return _level(
        _fade(dsp.sosfilt(dsp.butter(4, 3500, "high", fs=RATE, output="sos"), noise), 0.03), TALK_LEVEL / 2
    )


def breath(seconds: float, rng: np.random.Generator, under_talk_db: float = 20.0) -> Waves:
    """Draw in air through an open mouth: noise coloured by the throat, swelling and fading (from memory)."""
    noise = rng.normal(0, 1, int(seconds * RATE))
    shaped = dsp.sosfilt(dsp.butter(1, [600, 5500], "band", fs=RATE, output="sos"), noise)
    for formant, width in ((1200, 400), (2700, 600)):
        radius = np.exp(-np.pi * width / RATE)
        shaped = shaped + 0.7 * dsp.lfilter(
            [1 - radius], [1, -2 * radius * np.cos(2 * np.pi * formant / RATE), radius**2], noise
        )
    swell = np.sin(np.pi * np.linspace(0, 1, len(shaped)) ** 0.8) ** 0.7
    return _level(shaped * np.maximum(swell, 0), TALK_LEVEL * 10 ** (-under_talk_db / 20))


def train(seconds: float, rate_hz: float, pitch_hz: float, rng: np.random.Generator) -> Waves:
    """Repeat one syllable: a burst of noise and a short vowel, at a steady rate with 4 % scatter."""
    out = np.zeros(int(seconds * RATE))
    at, end = 0.0, 0
    while at + 1 / rate_hz <= seconds:
        vowel = hold(0.55 / rate_hz, pitch_hz, rng, "a", fade=0.015)
        burst = _level(rng.normal(0, 1, int(0.015 * RATE)), TALK_LEVEL / 2)
        for offset, piece in ((0.0, burst), (0.03, vowel)):
            first = int((at + offset) * RATE)
            room = out[first : first + len(piece)]
            room += piece[: len(room)]
            end = first + len(room)
        at += (1 + rng.normal(0, 0.04)) / rate_hz
    return out[:end]


def babble(seconds: float, pitch_hz: float, rng: np.random.Generator) -> Waves:
    """Talk without words: uneven syllables of changing vowels under a falling, bending pitch."""
    out = np.zeros(int(seconds * RATE))
    at = 0.0
    while at < seconds - 0.4:
        length = rng.uniform(0.08, 0.3)
        time = np.linspace(0, 1, int(length * RATE))
        bend = rng.uniform(-3, 3) + rng.uniform(-4, 3) * time - 3 * at / seconds
        piece = _level(_fade(voice(pitch_hz * 2 ** (bend / 12), rng.choice(list(VOWELS)), rng), 0.02), TALK_LEVEL)
        first = int(at * RATE)
        out[first : first + len(piece)] += piece[: len(out) - first] * rng.uniform(0.5, 1.2)
        if rng.random() < 0.5:
            noise = hiss(0.09, rng) * 0.7
            first += len(piece)
            out[first : first + len(noise)] += noise[: max(0, len(out) - first)]
        at += length + rng.uniform(0.02, 0.2)
    return out


@dataclass
class Scene:
    """A recording under construction, and what is truly in it: ``(kind, start_ms, end_ms)``."""

    rng: np.random.Generator
    parts: list[Waves] = field(default_factory=list)
    truth: list[tuple[str, int, int]] = field(default_factory=list)

    @property
    def at(self) -> int:
        """Samples so far."""
        return sum(map(len, self.parts))

    def add(self, kind: str, sound: Waves, pause: float = 0.0) -> Scene:
        """Append a sound and the pause after it."""
        start = self.at
        self.parts += [sound, np.zeros(int(pause * RATE))]
        self.truth.append((kind, round(start * 1000 / RATE), round((start + len(sound)) * 1000 / RATE)))
        return self

    def signal(self) -> Signal:
        """Everything in order, over the faint noise of a quiet room."""
        whole = np.concatenate(self.parts)
        return np.asarray(whole + self.rng.normal(0, 1e-4, len(whole)), dtype=np.float32)


Condition = Literal["clean", "wind 10 dB", "wind 5 dB", "wind 0 dB", "mains hum", "room echo", "20 dB quiet"]
CONDITIONS: tuple[Condition, ...] = (
    "clean", "wind 10 dB", "wind 5 dB", "wind 0 dB", "mains hum", "room echo", "20 dB quiet",
)  # fmt: skip


def made_wind(samples: int, rng: np.random.Generator) -> Waves:
    """Noise falling 12 dB an octave above 60 Hz, in slow gusts (shape of wind at a microphone, from memory)."""
    noise = dsp.sosfilt(dsp.butter(2, [20, 60], "band", fs=RATE, output="sos"), rng.normal(0, 1, samples))
    rumble = dsp.sosfilt(dsp.butter(1, 300, "low", fs=RATE, output="sos"), rng.normal(0, 1, samples)) * 0.3
    knots = rng.uniform(0.4, 1.6, samples // RATE + 2)
    gusts = np.interp(np.arange(samples) / RATE, np.arange(len(knots)), knots)
    return np.asarray((noise + rumble) * gusts)


def spoil(clean: Signal, condition: Condition, rng: np.random.Generator, wind: Waves | None = None) -> Signal:
    """Return the sound as it would come from a worse place; levels against the voice (`TALK_LEVEL`)."""
    sound = clean.astype(np.float64)
    if condition.startswith("wind"):
        ratio = 10 ** (-float(condition.split()[1]) / 20)
        air = made_wind(len(sound), rng) if wind is None else np.resize(wind, len(sound))
        sound = sound + _level(air, TALK_LEVEL * ratio)
    elif condition == "mains hum":
        time = np.arange(len(sound)) / RATE
        tones = [np.sin(2 * np.pi * 50 * n * time + n) / n for n in (1, 2, 3, 4, 6)]
        sound = sound + _level(np.sum(tones, axis=0), TALK_LEVEL * 0.1)
    elif condition == "room echo":
        decay = np.exp(-6.9 * np.arange(int(0.5 * RATE)) / (0.5 * RATE)) * rng.normal(0, 1, int(0.5 * RATE))
        tail = dsp.fftconvolve(sound, decay)[: len(sound)]
        sound = sound + _level(tail, float(np.sqrt(np.mean(sound**2))) * 0.5)
    elif condition == "20 dB quiet":
        sound = sound * 0.1
    peak = float(np.abs(sound).max())
    return np.asarray(sound * min(1.0, 0.95 / peak), dtype=np.float32)


def read_wind(path: Path) -> Waves:
    """Decode a recording of wind to 16 kHz mono."""
    from faster_whisper.audio import decode_audio

    return np.asarray(decode_audio(str(path), sampling_rate=RATE), dtype=np.float64)
