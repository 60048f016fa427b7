"""Time, growth and memory of a whole build: ``python -m tests.evaluation.benchmark [--hours 2] [--write]``.

Prints ratios of one run, since seconds differ from machine to machine: the build against plain
faster-whisper with the same weights, threads and beam on the same file; a recording of N hours
(the example, looped) against one of half its length; and peak memory of the long one.
Each measurement runs in a process of its own.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

from segmenter.programs import ffmpeg_path
from tests.evaluation.example import MEDIA, ROOT
from tests.evaluation.readme import put

THREADS = 2
_MEASURE = """
import json, os, sys, time
from pathlib import Path
def peak():
    for line in Path('/proc/self/status').read_text().splitlines():
        if line.startswith('VmHWM'):
            return int(line.split()[1]) / 1e6
start = time.monotonic()
{work}
print(json.dumps([time.monotonic() - start, sum(os.times()[:4]), peak()]))
"""
_BUILD = """
from segmenter.pipeline import build
from segmenter.settings import BuildSettings
build(Path(sys.argv[1]), Path(sys.argv[2]), BuildSettings(threads=int(sys.argv[3])))
"""
_PLAIN = """
from faster_whisper import WhisperModel
from segmenter.resources import speech_weights
model = WhisperModel(str(speech_weights('base')), device='cpu', compute_type='int8', cpu_threads=int(sys.argv[3]))
segments, _ = model.transcribe(sys.argv[1], beam_size=5, word_timestamps=True)
list(segments)
"""


@dataclass(frozen=True)
class Cost:
    """What a piece of work took: seconds by the clock and of processor, peak memory in GB (Linux)."""

    seconds: float
    processor_s: float
    memory_gb: float


def measured(work: str, media: Path, folder: Path) -> Cost:
    """Run `work` in a new process."""
    command = [sys.executable, "-c", _MEASURE.format(work=work), str(media), str(folder), str(THREADS)]
    done = subprocess.run(command, check=True, capture_output=True, text=True, cwd=ROOT)
    return Cost(*json.loads(done.stdout.splitlines()[-1]))


def looped(times: float, target: Path) -> Path:
    """Write the example `times` over, streams copied."""
    command = [ffmpeg_path(), "-v", "error", "-stream_loop", str(int(times) - 1), "-i", str(MEDIA), "-c", "copy"]
    subprocess.run([*command, "-y", str(target)], check=True)
    return target


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--hours", type=float, default=2.0, help="length of the long recording")
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        pairs = [
            (measured(_PLAIN, MEDIA, folder), measured(_BUILD, MEDIA, folder / f"lesson{n}")) for n in range(3)
        ]
        plain, own = min(p.seconds for p, _ in pairs), min(o.seconds for _, o in pairs)
        worked = min(o.processor_s for _, o in pairs) / min(p.processor_s for p, _ in pairs)
        copies = round(chosen.hours * 12)
        half = measured(_BUILD, looped(copies / 2, folder / "half.mp4"), folder / "half")
        whole = measured(_BUILD, looped(copies, folder / "whole.mp4"), folder / "whole")
    hours, half_hours = f"{chosen.hours:g} h", f"{chosen.hours / 2:g} h"
    table = "\n".join(
        [
            "| cost (base model, int8, 2 threads) | measured |",
            "| --- | --- |",
            f"| whole build against plain faster-whisper, on the example | {own / plain:.2f} × its time |",
            f"| the same, in processor time | {worked:.2f} × |",
            f"| {hours} against {half_hours} | {whole.seconds / half.seconds:.2f} × the time |",
            f"| the same, in processor time | {whole.processor_s / half.processor_s:.2f} × |",
            f"| {hours} of recording take | {whole.seconds / (chosen.hours * 3600):.2f} × their length |",
            f"| peak memory for {hours} | {whole.memory_gb:.2f} GB |",
        ]
    )
    print(table)
    if chosen.write:
        put(ROOT / "README.md", "benchmark", table)


if __name__ == "__main__":
    main()
