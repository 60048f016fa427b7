"""What was heard: the facts that `hear` hands to `understand`. No therapy in here."""

from __future__ import annotations

import base64
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from segmenter.lesson import Check, Frozen, Measured, Ms, Recording, Share, Timed, Word

LEVELS = "levels"
"""Name under which a build keeps the level of the sound over time, for people to look at."""

CURVE = "curve"
"""Name under which a build keeps a `Curve`."""

SoundKind = Literal["hold", "glide", "hum", "hiss", "train", "silence", "breath"]


class Sound(Timed):
    """One sound event with exact times.

    Parameters
    ----------
    kind : str
        ``hold`` a sustained voiced sound with flat pitch; ``glide`` a voiced sound whose pitch
        travels; ``hum`` a hold with closed lips; ``hiss`` a long unvoiced sound; ``train`` a run of
        repeated syllables; ``silence`` no speech and no effort sound; ``breath`` an audible breath.
    confidence : float
        0 to 1.
    how : str
        How it was found, in a few words, for checks.
    pitch_hz, pitch_spread_st, pitch_drift_st : float or None
        Median pitch; spread (standard deviation) and drift (end minus start) in semitones.
    glide_hz : tuple or None
        Pitch at the start and end of a glide (the turning point of a rise-and-fall is `glide_top_hz`).
    glide_top_hz : float or None
        Highest pitch of a glide that goes up and comes back.
    level_db : float or None
        Level against the speaker's own talk (0 = as loud as talk).
    breaks : int
        Voice breaks inside the sound.
    rate_hz : float or None
        Syllables a second of a train.
    """

    kind: SoundKind
    confidence: Share
    how: str
    pitch_hz: Measured | None = None
    pitch_spread_st: Measured | None = None
    pitch_drift_st: Measured | None = None
    glide_hz: tuple[Measured, Measured] | None = None
    glide_top_hz: Measured | None = None
    level_db: Measured | None = None
    breaks: int = 0
    rate_hz: Measured | None = None


class Speech(Timed):
    """A stretch in which somebody talks, as the sound shows it (held effort sounds left out)."""

    confidence: Share = 1.0


class Heard(Timed):
    """All facts of one recording, from 0 to its end.

    `word_error_ms` is how far a word's time may be off: small when refined against the sound,
    large when estimated inside a block of a transcript without one.
    """

    recording: Recording
    language: str
    speech_model: str | None
    words: tuple[Word, ...]
    sounds: tuple[Sound, ...] = ()
    speech: tuple[Speech, ...] = ()
    checks: tuple[Check, ...] = ()
    word_error_ms: int = 100


class Curve(Frozen):
    """Pitch and level of the whole recording, for people to look at: a value every `step_ms`.

    Parameters
    ----------
    step_ms : int
        Distance of values; the first stands for the time from 0 on.
    talk_db : float or None
        Level of the speaker's own talk, in the dB of `level`; None where there is too little talk.
    pitch : str
        Base64 of 16-bit little-endian numbers: cents above 1 Hz, 0 without voice.
    level : str
        The same: hundredths of a dB at the working loudness.
    """

    step_ms: Ms
    talk_db: Measured | None
    pitch: str
    level: str

    @classmethod
    def packed(
        cls, step_ms: int, talk_db: float | None, pitch_hz: NDArray[np.float32], level_db: NDArray[np.float32]
    ) -> Curve:
        """Pack values; a pitch of 0 means no voice."""
        cents = np.where(pitch_hz > 0, 1200 * np.log2(np.maximum(pitch_hz, 1.0)), 0)
        both = (cents, np.clip(level_db, -300, 300) * 100)
        pitch, level = (base64.b64encode(np.rint(each).astype("<i2").tobytes()).decode() for each in both)
        return cls(step_ms=step_ms, talk_db=talk_db, pitch=pitch, level=level)

    def within(self, start_ms: int, end_ms: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
        """Return pitch in Hz (NaN without voice) and level in dB of the values that lie in a stretch."""
        first, last = -(-start_ms // self.step_ms), end_ms // self.step_ms
        cents, level = (
            np.frombuffer(base64.b64decode(each), "<i2").astype(np.float64)[first:last]
            for each in (self.pitch, self.level)
        )
        return np.where(cents > 0, 2 ** (cents / 1200), np.nan), level / 100
