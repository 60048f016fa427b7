"""What was heard: the facts that `hear` hands to `understand`. No therapy in here."""

from __future__ import annotations

from typing import Literal

from segmenter.lesson import Check, Measured, Recording, Share, Timed, Word

LEVELS = "levels"
"""Name under which a build keeps the level of the sound over time, for people to look at."""

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
