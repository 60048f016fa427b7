"""The first half of a build: from a recording or a transcript to what was heard, piece by piece.

Each finished stage is stored under a key made from the content of the recording, the
settings it depends on and its own version, so that the same command after a kill, or
after a small change, does only what is still to do.
"""

from __future__ import annotations

import base64
import contextlib
import hashlib
import json
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np

from segmenter.cache import LineJournal, StageCache
from segmenter.errors import MediaError
from segmenter.hear.media import Stamp, decode, probe, sha256_of, stamp_of, unchanged
from segmenter.hear.samples import Samples
from segmenter.hear.sound import analyse
from segmenter.hear.sound_frames import levels
from segmenter.hear.speech import WhisperRecogniser, transcribe
from segmenter.hear.transcripts import check_match, read_transcript, transcript_words
from segmenter.hear.voices import tell_voices
from segmenter.heard import CURVE, LEVELS, Heard, Sound, Speech
from segmenter.lesson import Audio, Check, Frozen, Recording, to_json
from segmenter.progress import Watch
from segmenter.resources import speech_weights
from segmenter.settings import BuildSettings
from segmenter.times import counted

VERSIONS = {"read": 3, "sound": 4, "words": 4, "voices": 2}
"""Raise a number when its stage would give another result, so that older results are not used."""

VOICE_ERROR_MS = 300
"""Word times further off than this do not say who speaks a word."""

SHORTEST_MS = 10_000
"""Anything shorter is a slip of the finger, not a class."""


class _Read(Frozen):
    audio: Audio
    checks: tuple[Check, ...]
    count: int


class _Measured(Frozen):
    sounds: tuple[Sound, ...]
    speech: tuple[Speech, ...]


def hear(
    recording: Path | None, transcript: Path | None, work: Path, settings: BuildSettings, watch: Watch
) -> Heard:
    """Return what was heard in a recording, or what a transcript says was.

    Parameters
    ----------
    recording, transcript : Path or None
        At least one of them.
    work : Path
        The work folder, for finished pieces.
    settings : BuildSettings
        Choices.
    watch : Watch
        Told how far it is.

    Raises
    ------
    SegmenterError
        If the input or the weights cannot be used, or nobody can be heard.
    """
    if recording is None:
        if transcript is None:
            raise MediaError("there is nothing to build from", None, "Give a recording, a transcript, or both")
        return _from_transcript_alone(transcript, settings, watch)
    watch("read", 0.0, "")
    facts = probe(recording)
    if facts.seconds * 1000 < SHORTEST_MS:
        raise MediaError(
            f"this recording is only {facts.seconds:.0f} seconds long",
            recording,
            "A class needs ten seconds or more",
        )
    stamp = stamp_of(recording)
    content = sha256_of(recording)
    cache = StageCache(work)
    words_from = f"file {sha256_of(transcript)}" if transcript else settings.speech_model
    key = _key(content, "voices", words_from, settings.language or "any")
    kept = cache.part("heard", key, Heard)
    if kept is not None:
        for stage in ("read", "sound", "words"):
            watch(stage, 1.0, "done before")
        return kept
    run = _Run(recording, content, stamp, cache, settings, watch)
    samples, heard = run.sounds(
        Recording(path=recording.name, sha256=content, seconds=0.0, recorded=facts.recorded, video=facts.video)
    )
    heard = run.with_speech(heard, samples) if transcript is None else _with_transcript(heard, transcript)
    heard = _with_voices(heard, samples)
    cache.put("heard", key, to_json(heard))
    for finished in (*work.glob("decoded-*.s16"), *work.glob("words-*.jsonl")):
        with contextlib.suppress(OSError):
            finished.unlink()
    return heard


@dataclass(frozen=True)
class _Run:
    recording: Path
    content: str
    stamp: Stamp
    cache: StageCache
    settings: BuildSettings
    watch: Watch

    def sounds(self, shape: Recording) -> tuple[Samples, Heard]:
        read, samples = self._read()
        if samples.duration_ms < SHORTEST_MS:
            raise MediaError(
                f"only {samples.duration_ms / 1000:.0f} seconds of sound could be read",
                self.recording,
                "Copy the recording again from where it was made",
            )
        key = _key(self.content, "sound")
        measured = self.cache.part("sound", key, _Measured)
        if measured is None:
            facts = analyse(samples, partial(self.watch, "sound"))
            measured = _Measured(sounds=facts.sounds, speech=facts.speech)
            self.cache.put(CURVE, key, to_json(facts.curve))
            self.cache.put("sound", key, to_json(measured))
        self._keep_levels(samples)
        self.watch("sound", 1.0, _found(measured))
        return samples, Heard(
            start_ms=0,
            end_ms=samples.duration_ms,
            recording=shape.model_copy(update={"seconds": samples.duration_ms / 1000, "audio": read.audio}),
            language=self.settings.language or "en",
            speech_model=None,
            words=(),
            sounds=measured.sounds,
            speech=measured.speech,
            checks=read.checks,
        )

    def _keep_levels(self, samples: Samples) -> None:
        """Keep how loud it is, for the eye: a byte for a tenth of a second, 0 for -60 dBFS and less, 255 for 0."""
        key = _key(self.content, "sound")
        if self.cache.get(LEVELS, key) is None:
            fine = levels(samples)
            pairs = np.pad(fine, (0, len(fine) % 2), constant_values=-100.0).reshape(-1, 2).max(axis=1)
            curve = np.clip((pairs + 60) / 60 * 255, 0, 255).astype(np.uint8).tobytes()
            self.cache.put(LEVELS, key, json.dumps({"levels": base64.b64encode(curve).decode()}))

    def _read(self) -> tuple[_Read, Samples]:
        key = _key(self.content, "read")
        raw, kept = self.cache.path("decoded", key, ".s16"), self.cache.part("read", key, _Read)
        if kept is not None and raw.exists() and raw.stat().st_size == 2 * kept.count:
            return kept, Samples(raw, kept.count)
        decoded = decode(self.recording, raw, partial(self.watch, "read"))
        try:
            unchanged(self.recording, self.stamp)
        except MediaError:
            raw.unlink()  # sound of another recording under this one's name
            raise
        read = _Read(audio=decoded.audio, checks=decoded.checks, count=decoded.samples.count)
        self.cache.put("read", key, to_json(read))
        self.watch("read", 1.0, "")
        return read, decoded.samples

    def with_speech(self, heard: Heard, samples: Samples) -> Heard:
        if not heard.speech and not any(s.kind in {"hold", "glide", "hum"} for s in heard.sounds):
            raise MediaError(
                "nobody can be heard in this recording",
                self.recording,
                "Check that it plays with sound, then try again",
            )
        self.watch("words", 0.0, "")
        model = self.settings.speech_model
        spoken = transcribe(
            samples,
            heard.sounds,
            heard.speech,
            WhisperRecogniser(speech_weights(model), model, self.settings.threads, self.settings.device),
            language=self.settings.language,
            journal=LineJournal(self.cache.path("words", _key(self.content, "words"), ".jsonl")),
            report=partial(self.watch, "words"),
        )
        if spoken.language not in {"en", "und"} and self.settings.language is None:
            raise MediaError(
                f"this class seems to be spoken in another language than English ({spoken.language})",
                self.recording,
                f"To go on all the same, add --language {spoken.language}: its words are written down, "
                "but exercises are found in English only",
            )
        return heard.model_copy(
            update={
                "language": spoken.language if spoken.language != "und" else "en",
                "speech_model": model,
                "words": spoken.words,
                "checks": (*heard.checks, *spoken.checks),
            }
        )


def _with_transcript(heard: Heard, transcript: Path) -> Heard:

    read = read_transcript(transcript)
    laid = transcript_words(read, heard.end_ms, heard.speech)
    match = check_match(laid.words, heard.speech)
    return heard.model_copy(
        update={
            "language": read.language or heard.language,
            "words": laid.words,
            "word_error_ms": laid.word_error_ms,
            "checks": (*heard.checks, *read.notes, *laid.checks, *match),
        }
    )


def _with_voices(heard: Heard, samples: Samples) -> Heard:
    if heard.word_error_ms > VOICE_ERROR_MS:
        return heard
    told = tell_voices(samples, heard.words)
    return heard.model_copy(update={"words": told.words, "checks": (*heard.checks, *told.checks)})


def _from_transcript_alone(transcript: Path, settings: BuildSettings, watch: Watch) -> Heard:

    watch("read", 0.0, "")
    read = read_transcript(transcript)
    laid = transcript_words(read, None)
    for stage in ("read", "sound", "words"):
        watch(stage, 1.0, "from the transcript" if stage == "words" else "no recording")
    return Heard(
        start_ms=0,
        end_ms=laid.duration_ms,
        recording=Recording(path=None, sha256=None, seconds=laid.duration_ms / 1000),
        language=settings.language or read.language or "en",
        speech_model=None,
        words=laid.words,
        checks=(*read.notes, *laid.checks),
        word_error_ms=laid.word_error_ms,
    )


def _found(measured: _Measured) -> str:
    held = sum(sound.kind in {"hold", "hum", "glide", "hiss"} for sound in measured.sounds)
    return counted(held, "held sound")


def _key(content: str, stage: str, *more: str) -> str:
    order = ("read", "sound", "words", "voices")
    versions = [str(VERSIONS[name]) for name in order[: order.index(stage) + 1]]
    return _digest("\n".join([content, *versions, *more]).encode())


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()
