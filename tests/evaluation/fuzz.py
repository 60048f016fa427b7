"""Input that nobody meant: ``python -m tests.evaluation.fuzz [--examples 2000] [--runs 20000] [--write]``.

Random input near to good one for every parser and for the desk (hypothesis), coverage-guided input for the
parsers that are plain code of this project (atheris, where it is installed), and a corpus of broken recordings
that are probed, decoded and built. A crash is anything but an answer or a refusal in plain words, a hang is
more than a minute for one input. With ``--hours`` a silent recording of that length is built as well, and may
take a tenth of it.
"""

from __future__ import annotations

import argparse
import importlib.util
import re
import subprocess
import sys
import tempfile
import time
import traceback
from dataclasses import dataclass, field
from pathlib import Path

from hypothesis import HealthCheck, given, settings

from tests.evaluation.readme import put
from tests.faults.asking import Asked, Question, questions
from tests.faults.breaking import run
from tests.faults.broken_media import corpus
from tests.faults.parsers import PARSERS, SEEDS, fed, near
from tests.lessons import rich_lesson
from tests.media_files import sound
from tests.review.serving import shelved

README = Path(__file__).parents[2] / "README.md"
HANG_S = 60


@dataclass
class Tally:
    """What one kind of input did."""

    name: str
    tried: int = 0
    taken: int = 0
    crashes: int = 0
    hangs: int = 0
    lost: int = 0
    slowest: float = 0.0
    patience_s: float = HANG_S
    seen: set[str] = field(default_factory=set)

    def after(self, began: float) -> None:
        """Note how long an input took."""
        took = time.monotonic() - began
        self.slowest = max(self.slowest, took)
        self.hangs += took > self.patience_s

    def crashed(self, error: Exception) -> None:
        """Count a crash and show each kind once."""
        self.crashes += 1
        self.lost += "gone" in str(error)
        last = traceback.extract_tb(error.__traceback__)[-1]
        kind = f"{type(error).__name__} in {last.filename}:{last.lineno}"
        if kind not in self.seen:
            self.seen.add(kind)
            print(f"  {self.name}: {kind}: {str(error)[:300]}", flush=True)

    def row(self) -> str:
        """One line of the table."""
        cells = (self.tried, self.taken, self.crashes, self.hangs, self.lost, f"{self.slowest:.1f} s")
        return f"| {self.name} | {' | '.join(map(str, cells))} |"


def parser(name: str, examples: int) -> Tally:
    """Random input for one parser."""
    tally = Tally(name)

    @settings(max_examples=examples, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(near(name))
    def feed(data: bytes) -> None:
        tally.tried += 1
        began = time.monotonic()
        try:
            tally.taken += fed(name, data)
        except Exception as error:
            tally.crashed(error)
        tally.after(began)

    feed()
    return tally


def guided(name: str, runs: int, place: Path) -> Tally:
    """Coverage-guided input for one parser, in a process of its own, which ends at the first crash."""
    tally = Tally(f"{name}, guided by coverage")
    seeds = place / re.sub(r"\W+", "-", name)
    seeds.mkdir()
    for number, seed in enumerate(SEEDS[name]):
        (seeds / str(number)).write_bytes(seed)
    command = [sys.executable, "-m", "tests.faults.guided", name, str(seeds), f"-runs={runs}", f"-timeout={HANG_S}"]
    ended = subprocess.run([*command, f"-artifact_prefix={place}/"], capture_output=True, text=True, check=False)
    counts = [int(found) for found in re.findall(r"^#(\d+)", ended.stderr, re.MULTILINE)]
    tally.tried = max(counts, default=0)
    tally.taken = len(list(seeds.iterdir()))
    tally.hangs = ended.stderr.count("ERROR: libFuzzer: timeout")
    tally.crashes = int(ended.returncode != 0) - tally.hangs
    if ended.returncode:
        print(f"  {tally.name}: {ended.stderr[-1500:]}", flush=True)
    return tally


def desk(examples: int, place: Path) -> Tally:
    """Questions to the desk."""
    tally = Tally("questions to the desk")
    shelved(place / "lessons", "Voice", rich_lesson())
    asked = Asked(place / "lessons")

    @settings(max_examples=examples, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(questions())
    def ask(question: Question) -> None:
        began = time.monotonic()
        try:
            status = asked.ask(question)
            tally.tried += status != 0
            tally.taken += status == 200
        except Exception as error:
            tally.tried += 1
            tally.crashed(error)
        tally.after(began)

    ask()
    asked.close()
    return tally


def recordings(files: list[Path], name: str, place: Path, patience_s: float = HANG_S) -> Tally:
    """Builds of recordings, the whole way; the words come from a transcript, so that none is turned away early."""
    tally = Tally(name, patience_s=patience_s)
    words = place / "words.vtt"
    words.write_text("WEBVTT\n\n00:01.000 --> 00:04.000\nSit tall and hold a long ah for three seconds.\n")
    for number, file in enumerate(files):
        tally.tried += 1
        before = file.read_bytes() if file.stat().st_size < 10**8 else b""
        began = time.monotonic()
        folder = place / f"built-{number}"
        ran = run("build", str(file), "-o", str(folder), "--transcript", str(words), "--quiet")
        tally.after(began)
        tally.taken += ran.code == 0
        tally.lost += bool(before) and file.read_bytes() != before
        if not ran.plainly:
            tally.crashes += 1
            print(f"  {file.name}: {ran.crashed or ran.said}", flush=True)
        if name != "broken recordings":
            print(f"  {file.name}: status {ran.code} {ran.said.strip()}", flush=True)
    return tally


def main() -> None:
    """Print the table, and put it into README with ``--write``."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--examples", type=int, default=2000, help="for each parser, and for the desk")
    asked.add_argument("--runs", type=int, default=20_000, help="of each parser, guided by coverage")
    asked.add_argument("--flips", type=int, default=8, help="recordings of each container with flipped bits")
    asked.add_argument("--hours", type=float, default=0, help="length of a silent recording")
    asked.add_argument("--write", action="store_true")
    wanted = asked.parse_args()
    rows: list[Tally] = []

    def add(tally: Tally) -> None:
        rows.append(tally)
        print(tally.row(), flush=True)

    with tempfile.TemporaryDirectory() as temporary:
        place = Path(temporary)
        for name in PARSERS:
            add(parser(name, wanted.examples))
        add(desk(wanted.examples, place))
        if wanted.runs and importlib.util.find_spec("atheris") is not None:
            for name in PARSERS:
                add(guided(name, wanted.runs, place))
        else:
            print("no input was guided by coverage: atheris is not installed, or no runs were wanted")
        add(recordings(corpus(place, 1, wanted.flips), "broken recordings", place))
        if wanted.hours:
            long = sound(place / "long.flac", f"anullsrc=r=16000:cl=mono:d={wanted.hours * 3600}")
            add(recordings([long], f"{wanted.hours:g} h of silence", place, wanted.hours * 360))
    head = "| input | tried | taken | crashes | hangs | data lost | slowest |"
    table = "\n".join([head, "| --- | ---: | ---: | ---: | ---: | ---: | ---: |", *(row.row() for row in rows)])
    print(table)
    if wanted.write:
        put(README, "fuzz", table)


if __name__ == "__main__":
    main()
