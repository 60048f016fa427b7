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
from pathlib import Path

from segmenter.programs import ffmpeg_path
from tests.evaluation.example import MEDIA, ROOT
from tests.evaluation.readme import put

THREADS = 2
_MEASURE = """
import json, sys, time
from pathlib import Path
def peak():
    for line in Path('/proc/self/status').read_text().splitlines():
        if line.startswith('VmHWM'):
            return int(line.split()[1]) / 1e6
start = time.monotonic()
{work}
print(json.dumps([time.monotonic() - start, peak()]))
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


def measured(work: str, media: Path, folder: Path) -> tuple[float, float]:
    """Run `work` in a new process; return seconds and peak memory in GB (Linux)."""
    command = [sys.executable, "-c", _MEASURE.format(work=work), str(media), str(folder), str(THREADS)]
    done = subprocess.run(command, check=True, capture_output=True, text=True, cwd=ROOT)
    seconds, memory = json.loads(done.stdout.splitlines()[-1])
    return seconds, memory


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
        plain = min(measured(_PLAIN, MEDIA, folder)[0] for _ in range(2))
        own = min(measured(_BUILD, MEDIA, folder / f"lesson{n}")[0] for n in range(2))
        copies = round(chosen.hours * 12)
        half, _ = measured(_BUILD, looped(copies / 2, folder / "half.mp4"), folder / "half")
        whole, memory = measured(_BUILD, looped(copies, folder / "whole.mp4"), folder / "whole")
    table = "\n".join(
        [
            "| cost (base model, int8, 2 threads) | measured |",
            "| --- | --- |",
            f"| whole build against plain faster-whisper, on the example | {own / plain:.2f} × its time |",
            f"| {chosen.hours:g} h against {chosen.hours / 2:g} h | {whole / half:.2f} × the time |",
            f"| {chosen.hours:g} h of recording take | {whole / (chosen.hours * 3600):.2f} × their length |",
            f"| peak memory for {chosen.hours:g} h | {memory:.2f} GB |",
        ]
    )
    print(table)
    if chosen.write:
        put(ROOT / "README.md", "benchmark", table)


if __name__ == "__main__":
    main()
