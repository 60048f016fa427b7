"""What is lost when things go wrong: ``python -m tests.evaluation.faults [--kills 50] [--write]``.

Builds, publishings and films are killed at random moments, and run again; disks are full or may not be written;
recordings change under a running build; memory ends; every file that is read again is damaged in every way
there is. After each the same command must go on, or say in one line what to do, and no change by a person may
be gone.
"""

from __future__ import annotations

import argparse
import os
import random
import resource
import shutil
import tempfile
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

from segmenter.files import kept_beside
from segmenter.library.record import read_record
from segmenter.programs import run as ffmpeg
from segmenter.programs import url
from tests.evaluation.readme import put
from tests.faults.breaking import (
    DAMAGES,
    Class,
    Ran,
    begun,
    contents,
    damaged_files,
    drafts,
    in_child,
    killed,
    length_of,
    mountable,
    readable,
    remount,
    retitle,
    run,
    small_disk,
    titles,
)

README = Path(__file__).parents[2] / "README.md"
EXAMPLE = Path(__file__).parents[2] / "examples" / "voice-and-swallow-class.mp4"


@dataclass
class Tally:
    """How often one kind of fault was tried, and how that ended."""

    name: str
    tried: int = 0
    went_on: int = 0
    told: int = 0
    crashed: int = 0
    lost: int = 0

    def take(self, first: Ran | None, after: Ran | None, kept: bool) -> None:
        """Count one fault: how the command under it ended, how the next one did, whether all changes are there."""
        self.tried += 1
        bad = [ran for ran in (first, after) if ran is not None and not ran.plainly]
        self.crashed += bool(bad)
        for ran in bad:
            print(f"  {self.name}: {ran.crashed or ran.said}", flush=True)
        self.told += first is not None and first.code != 0 and first.plainly
        self.went_on += after is not None and after.code == 0
        self.lost += not kept
        if not kept or (after is not None and after.code):
            print(f"  {self.name}: kept {kept}, afterwards {after}", flush=True)

    def row(self) -> str:
        """One line of the table."""
        cells = (self.tried, self.told, self.went_on, self.crashed, self.lost)
        return f"| {self.name} | {' | '.join(map(str, cells))} |"


class Bench:
    """A lesson with a person's change in it, copied for every fault."""

    def __init__(self, place: Path, seed: int) -> None:
        self.place = place
        self.chance = random.Random(seed)
        self.lesson = Class.made(place)
        self.whole = place / "whole"
        # In a child: this process must stay free of threads, since it is copied again and again.
        os.waitpid(in_child(self._prepare), 0)
        if not readable(self.whole):
            raise AssertionError("the lesson to be broken was not built")
        self.count = 0

    def _prepare(self) -> None:
        assert self.lesson.build(self.whole).code == 0
        retitle(self.whole, "My own")
        assert run("publish", str(self.whole), "--quiet").code == 0

    def copy(self) -> Path:
        """A fresh copy of the lesson."""
        self.count += 1
        folder = self.place / f"copy-{self.count}"
        shutil.copytree(self.whole, folder)
        return folder

    def again(self, folder: Path) -> Ran:
        """The same build once more."""
        return self.lesson.build(folder)


def kills_of_build(bench: Bench, times: int) -> Tally:
    """Builds are killed; the next one must give the same lesson."""
    tally = Tally("killed while building")
    folder = bench.place / "built"
    build = bench.lesson.building(folder)

    def begin() -> None:
        shutil.rmtree(folder, ignore_errors=True)
        (folder / ".work").mkdir(parents=True)
        retitle(folder, "My own")

    begin()
    longest = length_of(build)
    wanted = contents(folder)["captions.vtt"], contents(folder)["chapters.vtt"]
    while tally.tried < times:
        begin()
        if killed(build, bench.chance.uniform(0, longest)):
            code = begun(*build).wait()
            kept = titles(folder) == ["My own"] and not drafts(folder)
            after = contents(folder)
            same = (after.get("captions.vtt"), after.get("chapters.vtt")) == wanted and readable(folder)
            tally.take(None, Ran(code or int(not same), "Error: another lesson came out", None), kept)
    return tally


def kills_of_publish(bench: Bench, times: int) -> Tally:
    """Publishings are killed; the next one must bring every file up to date."""
    tally = Tally("killed while publishing")
    folder = bench.copy()
    publish = ("publish", str(folder), "--quiet", "--hand-on")
    longest = length_of(publish)
    given = ["My own"]
    while tally.tried < times:
        given.append(f"Title {len(given)}")
        retitle(folder, given[-1])
        if killed(publish, bench.chance.uniform(0, longest)):
            code = begun(*publish).wait()
            names = ("lesson.json", "chapters.vtt", "for-viewers/chapters.vtt")
            new = all((folder / name).exists() and given[-1] in _text(folder / name) for name in names)
            kept = titles(folder) == given and not drafts(folder)
            tally.take(None, Ran(code or int(not new), "Error: some files are older than others", None), kept)
    return tally


def _text(path: Path) -> str:
    return path.read_text(encoding="utf-8")


def kills_of_film(bench: Bench, times: int) -> Tally:
    """Films are killed; the next run must make the film."""
    tally = Tally("killed while making the film")
    folder = bench.copy()
    film = ("follow-along", str(folder), "--quiet", "--wait", "10")
    longest = length_of(film)
    before = contents(folder)
    while tally.tried < times:
        (folder / "follow-along.mp4").unlink(missing_ok=True)
        if killed(film, bench.chance.uniform(0, longest)):
            code = begun(*film).wait()
            made = contents(folder) == before
            kept = titles(folder) == ["My own"] and not drafts(folder)
            tally.take(None, Ran(code or int(not made), "Error: another film came out", None), kept)
    return tally


def kills_of_batch(bench: Bench, times: int) -> Tally:
    """Batches are killed, and their workers with them; the next one must finish every lesson, each once."""
    tally = Tally("killed while building a batch")
    recordings = bench.place / "recordings"
    recordings.mkdir()
    for number in range(3):
        target = recordings / f"class {number}.mp4"
        cut = ["-ss", str(5 + 20 * number), "-t", "14", "-i", url(EXAMPLE), "-c", "copy", "-y", url(target)]
        ffmpeg(cut, EXAMPLE)
    output = bench.place / "lessons"
    batch = ("batch", str(recordings), "-o", str(output), "--workers", "2", "--speech-model", "tiny", "--quiet")
    longest = length_of(batch)
    while tally.tried < times:
        shutil.rmtree(output)
        if killed(batch, bench.chance.uniform(0, longest)):
            code = begun(*batch).wait()
            rows = read_record(output)
            done = [row["name"] for row in rows if row.get("state") == "done"]
            there = {row["name"] for row in rows if row.get("state") in {"done", "there"}}
            whole = all(readable(folder) for folder in output.iterdir() if folder.is_dir())
            once = len(done) == len(set(done)) and len(there) == len(list(recordings.iterdir()))
            tally.take(None, Ran(code or int(not once), f"Error: finished: {done}", None), whole)
    return tally


def disk_full(bench: Bench) -> Tally:
    """Disks of many sizes, each made larger afterwards."""
    tally = Tally("disk full")
    for kilobytes in (16, 100, 300, 500, 700, 900, 1200):
        with small_disk(bench.place / "small", kilobytes) as disk:
            folder = disk / "lesson"
            first = bench.lesson.build(folder)
            remount(disk, "size=200m")
            tally.take(first, bench.lesson.build(folder), readable(folder))
    for spare in (0, 40, 200):
        with small_disk(bench.place / "small", 200_000) as disk:
            folder = Path(shutil.copytree(bench.whole, disk / "lesson"))
            retitle(folder, "Second")
            used = shutil.disk_usage(disk).used // 1024
            remount(disk, f"size={used + spare}k")
            first = run("publish", str(folder), "--quiet")
            remount(disk, "size=200m")
            after = run("publish", str(folder), "--quiet")
            tally.take(first, after, titles(folder) == ["My own", "Second"] and "Second" in _chapters(folder))
    return tally


def _chapters(folder: Path) -> str:
    return _text(folder / "chapters.vtt")


def read_only(bench: Bench) -> Tally:
    """Folders that cannot be written."""
    tally = Tally("folder that may not be written")
    with small_disk(bench.place / "small", 200_000) as disk:
        folder = Path(shutil.copytree(bench.whole, disk / "lesson"))
        retitle(folder, "Second")
        film = ("follow-along", str(folder), "--quiet", "--wait", "10")
        commands: list[Callable[[], Ran]] = [
            lambda: bench.lesson.build(folder),
            lambda: bench.lesson.build(disk / "new"),
            lambda: run("publish", str(folder), "--quiet"),
            lambda: run(*film),
            lambda: run("changes", str(folder)),
        ]
        for command in commands:
            remount(disk, "ro")
            first = command()
            remount(disk, "rw")
            tally.take(first, command(), titles(folder) == ["My own", "Second"])
    return tally


def clock_set_back(bench: Bench) -> Tally:
    """All files are from next year."""
    tally = Tally("clock set back by a year")
    for command in ("build", "publish"):
        folder = bench.copy()
        for path in folder.rglob("*"):
            os.utime(path, (2_000_000_000, 2_000_000_000))
        retitle(folder, "Later")
        done = bench.again(folder) if command == "build" else run("publish", str(folder), "--quiet")
        tally.take(None, done, titles(folder) == ["My own", "Later"] and "Later" in _chapters(folder))
    return tally


def replaced(bench: Bench) -> Tally:
    """The recording is replaced while it is listened to: at each stage, by another file or by more of itself."""
    from segmenter.errors import SegmenterError
    from segmenter.pipeline import build
    from tests.media_files import make

    tally = Tally("recording replaced during the build")
    other = make(bench.place / "other.mp4", 12, "sine=300:r=48000")
    mine = bench.place / "mine.mp4"
    for stage in ("read", "sound", "lesson"):
        for way in ("other", "longer"):
            shutil.copy(bench.lesson.recording, mine)
            folder, done = bench.place / f"replaced-{stage}-{way}", False

            def disturb(at: str, share: float, found: str, stage: str = stage, way: str = way) -> None:
                nonlocal done
                if at == stage and not done:
                    done = True
                    if way == "other":
                        shutil.copy(other, bench.place / "arriving.mp4")
                        (bench.place / "arriving.mp4").replace(mine)
                    else:
                        with mine.open("ab") as file:
                            file.write(bytes(1000))

            try:
                build(mine, folder, transcript=bench.lesson.transcript, watch=disturb)
                first = Ran(0, "", None)
            except SegmenterError as error:
                first = Ran(1, f"Error: {error}", None)
            wrong = first.code == 0 and stage != "read"  # at "read" it is replaced before a byte was looked at
            after = run(
                "build", str(mine), "-o", str(folder), "--transcript", str(bench.lesson.transcript), "--quiet"
            )
            tally.take(first, after, not wrong)
    return tally


def two_at_once(bench: Bench) -> Tally:
    """Two builds begin together in one folder: one works, the other is told, and the lesson is whole."""
    tally = Tally("two builds of one recording at once")
    for number in range(4):
        folder = bench.place / f"two-{number}"
        # Processes of their own: a copy of this one, which has built in threads before, could stand still.
        both = [begun(*bench.lesson.building(folder)) for _ in range(2)]
        ended = [one.wait() for one in both]
        first = Ran(max(ended), "Error: another build is working in this folder", None)
        if 0 not in ended:
            first = Ran(1, "both builds ended in an error", None)
        tally.take(first, bench.lesson.build(folder), readable(folder))
    return tally


def _or_leave(ran: Ran) -> None:
    if ran.code:
        os._exit(1 if ran.plainly else 3)


def memory_ends(bench: Bench) -> Tally:
    """The recogniser gets less and less memory (RLIMIT_AS)."""
    tally = Tally("memory ends in the recogniser")
    spoken = bench.place / "spoken.mp4"
    ffmpeg(["-ss", "5", "-t", "25", "-i", url(EXAMPLE), "-c", "copy", "-y", url(spoken)], spoken)
    folder = bench.place / "spoken-lesson"
    build = ("build", str(spoken), "-o", str(folder), "--speech-model", "tiny", "--quiet")
    said = bench.place / "said"

    def starved(megabytes: int) -> None:
        def less(*_: object) -> None:
            size = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
            resource.setrlimit(resource.RLIMIT_AS, (size + megabytes * 2**20, resource.RLIM_INFINITY))

        from segmenter import hearing
        from segmenter.resources import speech_weights

        def weights(model: str) -> Path:
            found = speech_weights(model)
            less()
            return found

        setattr(hearing, "speech_weights", weights)  # noqa: B010 - not exported
        ran = run(*build)
        resource.setrlimit(resource.RLIMIT_AS, (resource.RLIM_INFINITY, resource.RLIM_INFINITY))
        said.write_text(f"{ran.code}\n{ran.crashed or ''}\n{ran.said}")

    for megabytes in (1, 60, 120):
        said.unlink(missing_ok=True)
        os.waitpid(in_child(lambda m=megabytes: starved(m)), 0)  # type: ignore[misc]
        if not said.exists():
            first = Ran(3, "", "the process was gone without a word")
        else:
            code, crashed, text = said.read_text().split("\n", 2)
            first = Ran(int(code), text, crashed or None)
        tally.take(first, None, True)
    status = os.waitstatus_to_exitcode(os.waitpid(in_child(lambda: _or_leave(run(*build))), 0)[1])
    tally.went_on = tally.tried if status == 0 and readable(folder) else 0
    return tally


def damages(bench: Bench, rounds: int) -> Iterator[Tally]:
    """Every file that is read again is damaged in every way; edits must be whole or kept beside."""
    for first_name in ("edits.json", "draft.json", "lesson.json", "finished pieces in .work"):
        tally = Tally(f"damaged: {first_name}")
        files = [f for f in damaged_files(bench.whole) if (f.name == first_name or ".work" in f.parts)]
        files = [f for f in files if (".work" in f.parts) == (first_name not in {f.name for f in files})]
        for path in files:
            for damage in DAMAGES.values():
                for _ in range(rounds):
                    folder = bench.copy()
                    target = folder / path.relative_to(bench.whole)
                    spoilt = damage(target.read_bytes(), bench.chance)
                    target.write_bytes(spoilt)
                    first = run("publish", str(folder), "--quiet")
                    after = bench.again(folder)
                    edits = folder / "edits.json"
                    beside = {edits.read_bytes(), *(one.read_bytes() for one in kept_beside(edits))}
                    kept = (path.name == "edits.json" and spoilt in beside) or titles(folder) == ["My own"]
                    tally.take(first, after, kept and readable(folder))
                    shutil.rmtree(folder)
        yield tally


def main() -> None:
    """Print the table, and put it into README with ``--write``."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--kills", type=int, default=50)
    asked.add_argument("--rounds", type=int, default=1)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--write", action="store_true")
    wanted = asked.parse_args()
    rows: list[Tally] = []

    def add(tally: Tally) -> None:
        rows.append(tally)
        print(tally.row(), flush=True)

    with tempfile.TemporaryDirectory() as name:
        bench = Bench(Path(name), wanted.seed)
        part = wanted.kills // 5
        add(kills_of_batch(bench, part))
        add(kills_of_publish(bench, 2 * part))
        add(kills_of_film(bench, part))
        add(kills_of_build(bench, wanted.kills - 4 * part))
        add(memory_ends(bench))
        add(two_at_once(bench))
        # From here on this process itself builds.
        if mountable():
            add(disk_full(bench))
            add(read_only(bench))
        else:
            print(
                "no small disks can be mounted here: full disks and folders that may not be written were not tried"
            )
        add(clock_set_back(bench))
        add(replaced(bench))
        for tally in damages(bench, wanted.rounds):
            add(tally)
    head = "| fault | tried | told in one line | went on afterwards | tracebacks | work lost |"
    table = "\n".join([head, "| --- | ---: | ---: | ---: | ---: | ---: |", *(row.row() for row in rows)])
    print(table)
    if wanted.write:
        put(README, "faults", table)


if __name__ == "__main__":
    main()
