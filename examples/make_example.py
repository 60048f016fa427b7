"""Make the example class: ``python examples/make_example.py``.

Writes ``voice-and-swallow-class.mp4`` and ``voice-and-swallow-class.truth.json`` beside this file.
"""

from __future__ import annotations

import json
import subprocess
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import imageio_ffmpeg
import numpy as np
from numpy.typing import NDArray
from picture import FPS, HEIGHT, WIDTH, Look, drawn, looks
from render import RATE, PiperUtterer, Samples, render
from scipy.io import wavfile
from script import SCRIPT, TITLE

HERE = Path(__file__).resolve().parent
NAME = "voice-and-swallow-class"


def frame_levels(samples: Samples) -> NDArray[np.float64]:
    """Return the level in dBFS of the sound under each frame of the picture."""
    count = int(np.ceil(len(samples) / RATE * FPS))
    edges = (np.arange(count) * RATE / FPS).astype(int)
    lengths = np.diff(np.append(edges, len(samples)))
    power = np.add.reduceat(samples**2, edges) / lengths
    return 10 * np.log10(power + 1e-12)


def write_video(path: Path, samples: Samples, frames: Iterable[Look]) -> None:
    """Encode picture and sound as H.264 and AAC in one mp4."""
    with tempfile.TemporaryDirectory() as folder:
        sound = Path(folder) / "sound.wav"
        wavfile.write(sound, RATE, np.round(samples * 32767).astype(np.int16))
        command = [imageio_ffmpeg.get_ffmpeg_exe(), "-y", "-loglevel", "error"]
        command += ["-f", "rawvideo", "-pix_fmt", "rgb24", "-s", f"{WIDTH}x{HEIGHT}", "-r", str(FPS), "-i", "-"]
        command += ["-i", str(sound), "-c:v", "libx264", "-preset", "medium", "-crf", "23", "-g", str(FPS * 4)]
        command += ["-pix_fmt", "yuv420p", "-threads", "1", "-c:a", "aac", "-b:a", "96k", "-ar", "44100"]
        command += ["-map_metadata", "-1", "-metadata", f"title={TITLE}", "-movflags", "+faststart", str(path)]
        with subprocess.Popen(command, stdin=subprocess.PIPE) as process:
            if process.stdin is None:
                raise RuntimeError("no pipe to ffmpeg")
            for look in frames:
                process.stdin.write(drawn(look).tobytes())
            process.stdin.close()
            if process.wait():
                raise RuntimeError(f"ffmpeg could not write {path}: see its message above")


def main() -> None:
    samples, truth = render(SCRIPT, PiperUtterer())
    write_video(HERE / f"{NAME}.mp4", samples, looks(truth, frame_levels(samples)))
    kept: dict[str, Any] = {"title": TITLE, "language": "en", "media": f"{NAME}.mp4"}
    kept |= {key: value for key, value in truth.items() if key != "picture"}
    text = json.dumps(kept, indent=1, ensure_ascii=False) + "\n"
    (HERE / f"{NAME}.truth.json").write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
