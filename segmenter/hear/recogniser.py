"""What turns up to 30 s of sound into words: the engine, and what it answers."""

from __future__ import annotations

import functools
import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any, Protocol

from pydantic import TypeAdapter, ValidationError

from segmenter.errors import ModelError
from segmenter.hear.samples import Signal


@dataclass(frozen=True)
class RecognisedWord:
    """One word as it was recognised; `text` keeps its leading space, times are seconds in the window."""

    text: str
    start_s: float
    end_s: float
    probability: float


@dataclass(frozen=True)
class Recognised:
    """What was recognised in one window; `no_speech` is the probability that nobody talked."""

    words: tuple[RecognisedWord, ...]
    language: str
    language_probability: float
    no_speech: float = 0.0

    def to_json(self) -> str:
        """Return it as JSON for the journal."""
        return json.dumps(asdict(self), ensure_ascii=False)

    @classmethod
    def from_json(cls, text: str) -> Recognised:
        """Read what `to_json` wrote.

        Raises
        ------
        ValueError
            If it is anything else.
        """
        try:
            return _KEPT.validate_json(text)
        except ValidationError as error:
            raise ValueError("these words cannot be read") from error


_KEPT = TypeAdapter(Recognised)


class Recogniser(Protocol):
    """Turns up to 30 s of sound into words."""

    @property
    def name(self) -> str:
        """Name and size of the model, for the record."""

    def recognise(self, signal: Signal, language: str | None, prompt: str | None = None) -> Recognised:
        """Return the words of `signal` (16 kHz); `language` None means to find it out.

        `prompt` is text of the kind that is expected; a recogniser may heed it.
        """


def _is_about_memory(error: Exception) -> bool:
    # The engine has several words for it.
    return isinstance(error, MemoryError) or any(word in str(error).lower() for word in ("alloc", "memory"))


def _no_memory(folder: Path) -> ModelError:
    return ModelError(
        "there is not enough memory to write down the words",
        folder,
        "Close other programs, or use --speech-model tiny, and run the same command again: it goes on",
    )


class WhisperRecogniser:
    """The Whisper model family, in eight-bit numbers; loaded at the first window, kept for the next build.

    Parameters
    ----------
    model_folder : Path
        Folder with model.bin, as `segmenter.resources.speech_weights` returns it.
    name : str
        Name for the record.
    threads : int
        0 means as many as there are processors, at most four.
    device : str
        ``cpu``, ``cuda``, or ``auto`` for a graphics processor where there is one.
    """

    def __init__(self, model_folder: Path, name: str, threads: int = 0, device: str = "cpu") -> None:
        self.name = name
        self._folder = model_folder
        self._threads = threads or min(4, os.cpu_count() or 1)
        self._device = device

    def recognise(self, signal: Signal, language: str | None, prompt: str | None = None) -> Recognised:
        """Return the words of one window.

        Raises
        ------
        ModelError
            If the weights cannot be loaded, or memory runs out.
        """
        engine = _engine(self._folder, self._threads, self._device)
        try:
            segments, info = engine.transcribe(
                signal,
                language=language,
                initial_prompt=prompt,
                beam_size=5,
                word_timestamps=True,
                condition_on_previous_text=False,
                temperature=(0.0, 0.2, 0.4, 0.6),
            )
            found = list(segments)
        except (MemoryError, RuntimeError) as error:
            if _is_about_memory(error):
                raise _no_memory(self._folder) from error
            raise
        words = tuple(
            RecognisedWord(word.word, float(word.start), float(word.end), float(word.probability))
            for segment in found
            for word in segment.words or ()
        )
        no_speech = sum(segment.no_speech_prob for segment in found) / len(found) if found else 0.0
        return Recognised(words, info.language, float(info.language_probability), float(no_speech))


@functools.lru_cache(maxsize=1)
def _engine(folder: Path, threads: int, device: str) -> Any:
    """Load the weights; a worker that builds many lessons does so once."""
    import ctranslate2  # type: ignore[import-untyped]  # noqa: PLC0415 (seconds to load)
    from faster_whisper import WhisperModel  # noqa: PLC0415

    there = ctranslate2.get_cuda_device_count() > 0
    if device == "cuda" and not there:
        raise ModelError("no graphics processor that can be used was found", None, "Use --device cpu")
    on = "cuda" if there and device != "cpu" else "cpu"
    try:
        model = WhisperModel(
            str(folder), device=on, compute_type="int8" if on == "cpu" else "int8_float16", cpu_threads=threads
        )
    except (MemoryError, RuntimeError, ValueError, OSError) as error:
        if _is_about_memory(error):
            raise _no_memory(folder) from error
        raise ModelError(
            f"the speech model cannot be loaded ({error})",
            folder,
            "Choose base or tiny, which are installed with this program",
        ) from error
    ctranslate2.set_random_seed(0)
    decode = model.generate_with_fallback

    def decode_once_by_chance(*args: Any, **kwargs: Any) -> Any:
        """Decode; after words drawn at random the next window gets an engine whose chance starts anew.

        A worker thread is seeded only when it starts, so what a doubtful window gives would else depend on
        how many came before it: a run that goes on where it stood would end in other words.
        """
        answer = decode(*args, **kwargs)
        _, _, temperature, _ = answer
        if temperature > 0:
            _engine.cache_clear()
        return answer

    model.generate_with_fallback = decode_once_by_chance
    return model
