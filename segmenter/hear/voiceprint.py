"""What a voice sounds like, as 256 numbers: near for the same voice, apart for another.

The network and the features it was trained on: Wan et al., Generalized End-to-End Loss for
Speaker Verification, ICASSP 2018; weights in ``models/voices`` (its README tells their origin).
Prints live in memory only, for as long as one recording is compared with itself.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view
from numpy.typing import NDArray

from segmenter.errors import ModelError
from segmenter.hear.samples import RATE, Signal

Floats = NDArray[np.float32]

SHA256 = "4a6e86d98ab86bdaf0e32b6ceda3794815f51be2e517ddea3eae8b9ee0428ee9"
"""Of ``encoder.npz``."""
HOP_MS = 10
LONGEST = 160
"""Frames the network was trained on: 1.6 s."""
SHORTEST = 40
"""Frames (0.4 s) under which a print says next to nothing."""
STEP = 20
"""Lengths are cut to a multiple of this, so that many pieces run together."""
SIZE = 256
LEVEL_DB = -30.0
"""Level at which the network was trained; each piece is brought to it, so that a far voice is no other voice."""
_LAYERS = 3
_WINDOW = 400
_HOP = RATE * HOP_MS // 1000
_BANDS = 40
_TOGETHER = 64


def features(sound: Signal) -> Floats:
    """Return mel power every 10 ms at the working level, shape ``(frames, 40)``; 16 kHz in.

    Slaney's mel scale and area-normalised filters over a power spectrum of 25 ms, not logarithmic:
    what the weights were trained on.
    """
    loud = float(np.sqrt(np.mean(sound.astype(np.float64) ** 2))) if len(sound) else 0.0
    if loud == 0.0:
        return np.zeros((len(sound) // _HOP, _BANDS), np.float32)
    scaled = np.pad(sound * np.float32(10 ** (LEVEL_DB / 20) / loud), _WINDOW // 2)
    frames = sliding_window_view(scaled, _WINDOW)[::_HOP]
    hann = (0.5 - 0.5 * np.cos(2 * np.pi * np.arange(_WINDOW) / _WINDOW)).astype(np.float32)
    power = np.abs(np.fft.rfft(frames * hann, axis=1)) ** 2
    return np.asarray(power, dtype=np.float32) @ _bank()


def prints(pieces: Sequence[Floats]) -> Floats:
    """Return the print of each piece of features, shape ``(pieces, 256)``, each of length 1.

    A piece is used up to its first 160 frames; one under 40 frames gives zeros.

    Raises
    ------
    ModelError
        If the weights are missing or damaged.
    """
    found = np.zeros((len(pieces), SIZE), np.float32)
    lengths = [min(len(piece), LONGEST) // STEP * STEP for piece in pieces]
    for length in sorted(set(lengths)):
        if length < SHORTEST:
            continue
        same = [at for at, own in enumerate(lengths) if own == length]
        for first in range(0, len(same), _TOGETHER):
            batch = same[first : first + _TOGETHER]
            found[batch] = _encode(np.stack([pieces[at][:length] for at in batch]))
    return found


def _encode(batch: Floats) -> Floats:
    weights = _weights()
    layer = batch
    for number in range(_LAYERS):
        into = layer @ weights[f"in{number}"] + weights[f"bias{number}"]
        layer = _lstm(into, weights[f"back{number}"], keep=number < _LAYERS - 1)
    raw = np.maximum(layer[:, -1] @ weights["out"] + weights["out_bias"], 0)
    return np.asarray(raw / np.maximum(np.linalg.norm(raw, axis=1, keepdims=True), 1e-9), dtype=np.float32)


def _lstm(into: Floats, back: Floats, *, keep: bool) -> Floats:
    """Run one layer (Hochreiter & Schmidhuber, 1997); all states, or the last alone."""
    count, steps, _ = into.shape
    state: Floats = np.zeros((count, SIZE), np.float32)
    cell: Floats = np.zeros((count, SIZE), np.float32)
    states = np.empty((count, steps if keep else 1, SIZE), np.float32)
    for step in range(steps):
        gates = into[:, step] + state @ back
        # sigma(x) = (1 + tanh(x / 2)) / 2: one function for all four gates, and it never overflows.
        gates[:, : 2 * SIZE] *= 0.5
        gates[:, 3 * SIZE :] *= 0.5
        np.tanh(gates, out=gates)
        enter, forget = (1 + gates[:, :SIZE]) / 2, (1 + gates[:, SIZE : 2 * SIZE]) / 2
        cell = np.asarray(forget * cell + enter * gates[:, 2 * SIZE : 3 * SIZE], dtype=np.float32)
        state = np.asarray((1 + gates[:, 3 * SIZE :]) / 2 * np.tanh(cell), dtype=np.float32)
        states[:, step if keep else 0] = state
    return states


@lru_cache(maxsize=1)
def _weights() -> dict[str, Floats]:
    path = weights_path()
    try:
        with np.load(path, allow_pickle=False) as stored:
            raw = {name: stored[name].astype(np.float32) for name in stored.files}
        return {
            **{f"in{n}": np.ascontiguousarray(raw[f"weight_ih_l{n}"].T) for n in range(_LAYERS)},
            **{f"back{n}": np.ascontiguousarray(raw[f"weight_hh_l{n}"].T) for n in range(_LAYERS)},
            **{f"bias{n}": raw[f"bias_ih_l{n}"] + raw[f"bias_hh_l{n}"] for n in range(_LAYERS)},
            "out": np.ascontiguousarray(raw["linear.weight"].T),
            "out_bias": raw["linear.bias"],
        }
    except (OSError, ValueError, KeyError) as error:
        raise ModelError("the weights that tell voices apart cannot be read", path, _REINSTALL) from error


_REINSTALL = "Install segmenter again: pip install --force-reinstall segmenter"


def weights_path() -> Path:
    """Return where the weights are, in a checkout or an installed package.

    Raises
    ------
    ModelError
        If they are in neither.
    """
    package = Path(__file__).parents[1]
    for models in (package / "models", package.parent / "models"):
        if (models / "voices" / "encoder.npz").is_file():
            return models / "voices" / "encoder.npz"
    raise ModelError("the weights that tell voices apart are missing", package / "models", _REINSTALL)


@lru_cache(maxsize=1)
def _bank() -> Floats:
    # Slaney, Auditory Toolbox, 1998: linear below 1 kHz, logarithmic above.
    top = 15 + np.log(RATE / 2 / 1000) * 27 / np.log(6.4)
    mel = np.linspace(0, top, _BANDS + 2)
    edges = np.where(mel < 15, mel * 200 / 3, 1000 * np.exp((mel - 15) * np.log(6.4) / 27))
    hertz = np.fft.rfftfreq(_WINDOW, 1 / RATE)
    up = (hertz[:, None] - edges[:-2]) / (edges[1:-1] - edges[:-2])
    down = (edges[2:] - hertz[:, None]) / (edges[2:] - edges[1:-1])
    return np.asarray(np.clip(np.minimum(up, down), 0, None) * 2 / (edges[2:] - edges[:-2]), dtype=np.float32)
