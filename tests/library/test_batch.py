"""Batches: every recording exactly once, whatever dies, and a record of it all."""

from __future__ import annotations

import csv
import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from threadpoolctl import threadpool_info

from segmenter.errors import FolderError, MediaError, SettingError
from segmenter.lesson import lesson_from_json
from segmenter.library import batch
from segmenter.library.batch import MOST_TRIES, run_batch
from segmenter.library.building import build_one
from segmenter.library.cluster import needed, run_on_cluster
from segmenter.library.jobs import Job, find_jobs
from segmenter.library.places import entries, fetched, put_back
from segmenter.library.record import PAGE, RECORD, TABLE, read_record
from segmenter.settings import BuildSettings
from tests.library.pretended import dying, quick, troubled
from tests.media_files import make

KILL = pytest.mark.skipif(sys.platform == "win32", reason="there is no SIGKILL")
SETTINGS = BuildSettings(speech_model="tiny")


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(batch, "FIRST_WAIT_S", 0.05)
    monkeypatch.setattr(batch, "BUSY_WAIT_S", 0.1)


def some(count: int) -> list[Job]:
    return [Job(f"class {number}.mp4", f"class {number}") for number in range(count)]


def built(output: Path) -> Counter[str]:
    return Counter(line.rsplit(" ", 2)[0] for line in (output / "built.txt").read_text().splitlines())


def test_jobs_come_from_folders_and_lists_and_have_names_of_their_own(tmp_path: Path) -> None:
    for name in ("b.mp4", "2025/a.mp4", "2026/a.mp4", "2026/a.m4a", "notes.txt", ".hidden/c.mp4", "x?.mp4"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).touch()
    lesson = tmp_path / "old lesson"
    lesson.mkdir()
    (lesson / "lesson.json").touch()
    (lesson / "copy.mp4").touch()
    jobs = find_jobs(str(tmp_path))
    assert [job.name for job in jobs] == ["2025 a mp4", "2026 a m4a", "2026 a mp4", "b", "x"]
    listed = tmp_path / "list.txt"
    listed.write_text("# this term\nb.mp4\n2026/a.mp4 # loud\n\nb.mp4\ngone.mp4\n", encoding="utf-8")
    assert [Path(job.recording).name for job in find_jobs(str(listed))] == ["b.mp4", "a.mp4", "gone.mp4"]
    with pytest.raises(FolderError, match="no such folder or list"):
        find_jobs(str(tmp_path / "nowhere"))
    (tmp_path / "empty").mkdir()
    with pytest.raises(MediaError, match="no recording"):
        find_jobs(str(tmp_path / "empty"))


def test_workers_share_the_work_and_the_processors(tmp_path: Path) -> None:
    ended = run_batch(some(9), tmp_path, SETTINGS, workers=3, work=quick)
    assert [one.state for one in ended] == ["done"] * 9
    rows = [line.rsplit(" ", 2) for line in (tmp_path / "built.txt").read_text().splitlines()]
    assert len({process for _, process, _ in rows}) > 1
    assert {int(threads) for *_, threads in rows} == {max(1, (os.cpu_count() or 1) // 3)}
    again = run_batch(some(9), tmp_path, SETTINGS, workers=2, work=quick)
    assert [one.state for one in again] == ["there"] * 9
    assert set(built(tmp_path).values()) == {1}


@KILL
def test_linear_algebra_of_a_worker_keeps_to_its_threads(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen: list[int] = []

    def look(*_: object) -> None:
        seen.extend(pool["num_threads"] for pool in threadpool_info())
        raise MediaError("enough seen", None, "")

    np.ones((2, 2)) @ np.ones((2, 2))
    monkeypatch.setattr("segmenter.pipeline.build", look)
    build_one(some(1)[0], str(tmp_path), replace(SETTINGS, threads=1))
    assert set(seen) == {1}


def test_workers_that_die_are_replaced_and_every_lesson_is_finished_once(tmp_path: Path) -> None:
    jobs = [*some(10), Job("cursed.mp4", "cursed9")]
    ended = run_batch(jobs, tmp_path, SETTINGS, workers=2, work=dying)
    assert [one.state for one in ended] == [*["done"] * 10, "failed"]
    assert "died 4 times" in ended[-1].problem
    assert built(tmp_path) == Counter(job.name for job in jobs[:10])
    events = Counter((row["event"], row["name"]) for row in read_record(tmp_path))
    assert events["died", "cursed9"] == MOST_TRIES
    assert sum(count for (event, _), count in events.items() if event == "died") == MOST_TRIES + 5


def test_trouble_is_tried_again_but_a_bad_recording_is_not(tmp_path: Path) -> None:
    jobs = [Job("fine.mp4", "fine"), Job("=bad.mp4", "bad")]
    ended = {one.job.name: one for one in run_batch(jobs, tmp_path, SETTINGS, work=troubled)}
    assert (ended["fine"].state, ended["bad"].state) == ("done", "failed")
    starts = Counter(row["name"] for row in read_record(tmp_path) if row["event"] == "started")
    assert starts == {"fine": 3, "bad": 1}
    with (tmp_path / TABLE).open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert (rows[0]["Recording"], rows[0]["Why not"]) == ("'=bad.mp4", "this is no recording")
    assert "this is no recording" in (tmp_path / PAGE).read_text(encoding="utf-8")


def test_two_batches_at_once_build_each_lesson_once(tmp_path: Path) -> None:
    jobs, results = some(12), list[list[str]]()

    def one() -> None:
        results.append([outcome.state for outcome in run_batch(jobs, tmp_path, SETTINGS, workers=2, work=quick)])

    threads = [threading.Thread(target=one) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert built(tmp_path) == Counter(job.name for job in jobs)
    assert all(set(states) <= {"done", "there"} for states in results)
    assert sum(states.count("done") for states in results) == 12
    assert len(read_record(tmp_path)) == len((tmp_path / RECORD).read_text().splitlines()), "no line is torn"


@KILL
def test_a_batch_that_is_killed_takes_its_workers_along_and_goes_on_later(tmp_path: Path) -> None:
    code = (
        "from pathlib import Path\n"
        "from segmenter.library.batch import run_batch\n"
        "from tests.library.test_batch import SETTINGS, some\n"
        "from tests.library.pretended import quick\n"
        f"if __name__ == '__main__':\n    run_batch(some(60), Path({str(tmp_path)!r}), SETTINGS, workers=2, work=quick)"  # noqa: E501
    )
    script = tmp_path / "run.py"
    script.write_text(code)
    root = str(Path(__file__).parents[2])
    running = subprocess.Popen([sys.executable, str(script)], env={**os.environ, "PYTHONPATH": root})
    log = tmp_path / "built.txt"
    for _ in range(1200):
        if log.exists() and len(log.read_text().splitlines()) >= 5:
            break
        time.sleep(0.05)
    running.send_signal(signal.SIGKILL)
    running.wait()
    time.sleep(0.5)
    at_kill = log.read_text()
    time.sleep(0.5)
    assert log.read_text() == at_kill, "its workers ended with it"
    assert 5 <= len(at_kill.splitlines()) < 60
    ended = run_batch(some(60), tmp_path, SETTINGS, workers=2, work=quick)
    assert {one.state for one in ended} == {"done", "there"}
    assert set(built(tmp_path)) == {job.name for job in some(60)}
    assert set(built(tmp_path).values()) == {1}


def test_a_torn_line_of_the_record_is_passed_over(tmp_path: Path) -> None:
    run_batch(some(1), tmp_path, SETTINGS, work=quick)
    with (tmp_path / RECORD).open("a") as file:
        file.write('{"event": "star')
    assert [row["event"] for row in read_record(tmp_path)] == ["started", "ended"]


@pytest.mark.model
def test_real_recordings_good_and_bad(tmp_path: Path) -> None:
    recordings = tmp_path / "recordings"
    recordings.mkdir()
    example = Path(__file__).parents[2] / "examples" / "voice-and-swallow-class.mp4"
    from segmenter.programs import run, url

    run(["-t", "24", "-i", url(example), "-c", "copy", "-y", url(recordings / "cut.mp4")], example)
    make(recordings / "tone.mp4", 2.0)
    (recordings / "text.mp4").write_text("no recording")
    (recordings / "empty.wav").touch()
    output = tmp_path / "lessons"
    ended = {one.job.name: one for one in run_batch(find_jobs(str(recordings)), output, SETTINGS, workers=2)}
    assert {name: one.state for name, one in ended.items()} == {
        "cut": "done", "tone": "failed", "text": "failed", "empty": "failed",
    }  # fmt: skip
    assert all(
        "Error" not in one.problem and len(one.problem) > 20 for one in ended.values() if one.state == "failed"
    )
    lesson_from_json((output / "cut" / "lesson.json").read_bytes())
    job = Job(str(recordings / "cut.mp4"), "cut")
    assert build_one(job, str(output), SETTINGS).state == "there"
    assert build_one(job, str(output), BuildSettings(speech_model="tiny", title="Another")).state == "done"


def test_places_of_fsspec_are_read_and_written(tmp_path: Path) -> None:
    fsspec = pytest.importorskip("fsspec", reason="the extra cluster is not installed")
    memory = fsspec.filesystem("memory")
    memory.pipe("/archive/2026/a.wav", b"sound")
    memory.pipe("/archive/readme.txt", b"text")
    assert entries("memory://archive") == ["memory://archive/2026/a.wav", "memory://archive/readme.txt"]
    (job,) = find_jobs("memory://archive")
    with fetched(job.recording) as path:
        assert path.read_bytes() == b"sound"
    assert not path.exists()
    for name in ("index.html", "lesson.json", "stills/01.jpg", ".work/cache"):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(name)
    put_back(tmp_path, "memory://lessons/a")
    assert sorted(memory.find("/lessons")) == [
        "/lessons/a/index.html", "/lessons/a/lesson.json", "/lessons/a/stills/01.jpg",
    ]  # fmt: skip


def test_a_cluster_builds_the_same_and_heeds_what_a_job_needs(tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed", reason="the extra cluster is not installed")
    with distributed.LocalCluster(
        n_workers=2, threads_per_worker=1, resources={"memory": 2}, dashboard_address=None, host="127.0.0.1"
    ) as cluster:
        address = cluster.scheduler_address
        ended = run_on_cluster(some(6), tmp_path, SETTINGS, address, resources={"memory": 1}, work=quick)
        assert [one.state for one in ended] == ["done"] * 6
        again = run_on_cluster(some(6), tmp_path, SETTINGS, address, work=quick)
        assert [one.state for one in again] == ["there"] * 6
    assert set(built(tmp_path).values()) == {1}
    with pytest.raises(SettingError, match="cannot be reached"):
        run_on_cluster(some(1), tmp_path, SETTINGS, address, work=quick)


def test_what_a_job_needs_is_written_as_name_and_number() -> None:
    assert needed(["gpu=1", "memory = 2.5"]) == {"gpu": 1.0, "memory": 2.5}
    with pytest.raises(SettingError, match="gpu=1"):
        needed(["gpu"])


def test_a_batch_without_workers_is_refused(tmp_path: Path) -> None:
    with pytest.raises(SettingError, match="at least one worker"):
        run_batch(some(1), tmp_path, SETTINGS, workers=0, work=quick)


def test_the_record_says_when_who_and_how(tmp_path: Path) -> None:
    run_batch(some(1), tmp_path, SETTINGS, work=quick)
    started, ended = (json.loads(line) for line in (tmp_path / RECORD).read_text().splitlines())
    assert (started["event"], started["recording"], started["tries"]) == ("started", "class 0.mp4", 0)
    assert (ended["event"], ended["state"], ended["last"], ended["exercises"]) == ("ended", "done", True, 3)
