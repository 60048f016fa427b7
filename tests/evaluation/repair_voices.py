"""Two synthetic voices for the evaluation of the repair: a trained one and a rule-made one."""

from __future__ import annotations

import importlib
import io
import subprocess
import sys
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

RATE = 22_050
Voice = Callable[[str], NDArray[np.float64]]
EXAMPLES = Path(__file__).parents[2] / "examples"


def joe() -> Voice:
    """Return the voice of the example class."""
    render = _renderer()
    speak = render.PiperUtterer()
    return lambda text: np.asarray(render.levelled(render.trimmed(speak(text))))


def espeak() -> Voice:
    """Return a British voice made by rules; needs the program espeak-ng."""
    render = _renderer()

    def speak(text: str) -> NDArray[np.float64]:
        made = subprocess.run(
            ["espeak-ng", "-v", "en-gb-x-rp", "-s", "150", "--stdout", text],  # noqa: S607
            check=True,
            capture_output=True,
        ).stdout
        with wave.open(io.BytesIO(made)) as sound:
            if sound.getframerate() != RATE:
                raise ValueError(f"the voice does not speak at {RATE} samples a second")
            frames = sound.readframes(sound.getnframes())
        # A stream does not know its length in advance, so the header's count cannot be trusted.
        samples = np.frombuffer(frames[: len(frames) // 2 * 2], dtype="<i2").astype(np.float64) / 32768
        return np.asarray(render.levelled(render.trimmed(samples)))

    return speak


def _renderer() -> Any:
    sys.path.insert(0, str(EXAMPLES))
    try:
        return importlib.import_module("render")
    finally:
        sys.path.remove(str(EXAMPLES))
