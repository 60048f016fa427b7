"""The whole way from a recording to a lesson folder, with the real weights on the example class."""

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from fractions import Fraction
from pathlib import Path

import av
import jsonschema
import pytest
import webvtt

from segmenter.cache import LineJournal
from segmenter.lesson import Lesson, json_schema, lesson_from_json, to_json
from segmenter.pipeline import Built, build
from segmenter.publish.base import WRITERS
from segmenter.publish.chapters import one_line
from tests.evaluation.example import MEDIA, TRUTH, rows

pytestmark = pytest.mark.model


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    return build(MEDIA, tmp_path_factory.mktemp("example") / "lesson")


def test_every_file_of_the_folder_is_there(built: Built) -> None:
    names = {path.name for path in built.folder.iterdir()}
    assert names >= {*WRITERS, "lesson.json", "draft.json", "index.html", MEDIA.name}
    assert {path.name for path in built.files} <= names
    assert not list((built.folder / ".work").glob("*.s16")), "decoded sound is thrown away when the lesson stands"


def test_the_lesson_keeps_the_contract(built: Built) -> None:
    text = (built.folder / "lesson.json").read_text(encoding="utf-8")
    jsonschema.Draft202012Validator(json.loads(json_schema())).validate(json.loads(text))
    assert to_json(lesson_from_json(text)) == text == to_json(built.lesson)


def test_what_was_made_up_is_found_again(built: Built) -> None:
    """The example's script is the truth: where every sound was put is known to the sample."""
    found = dict(rows(built.lesson, json.loads(TRUTH.read_text(encoding="utf-8"))))
    assert float(found["chapter boundaries within 5 s, F1"]) >= 0.8
    assert int(found["exercise time with the right family"].rstrip("%")) >= 85
    assert found["held sounds found"] == "7 of 7"
    assert float(found["largest error of a held sound's length"].split()[0]) <= 0.25
    assert found["practice stops found within 1 s, and found in all"] == "1 of 1, 1"
    assert found["quiz items with an answer"] == "3 of 3"


def test_players_see_chapters_and_captions(built: Built) -> None:
    """Read back by PyAV (FFmpeg's libraries) and webvtt-py."""
    with av.open(built.folder / MEDIA.name) as media, av.open(MEDIA) as original:
        kept = [(s.type, s.codec_context.name) for s in (*media.streams.video, *media.streams.audio)]
        assert kept == [(s.type, s.codec_context.name) for s in (*original.streams.video, *original.streams.audio)]
        assert len(media.streams.subtitles) == 1
        inside = [
            (c["metadata"]["title"], round(float(c["start"] * (c["time_base"] or Fraction(0))) * 1000))
            for c in media.chapters()
        ]
    assert inside == [(one_line(c.title), c.start_ms) for c in built.lesson.chapters]
    cues = webvtt.read(str(built.folder / "captions.vtt"))
    assert len(cues) == len(built.lesson.captions)


def test_a_second_build_does_nothing_twice_and_keeps_edits(built: Built, tmp_path: Path) -> None:
    folder = tmp_path / "again"
    shutil.copytree(built.folder, folder)
    (folder / "edits.json").write_text('[{"do": "retitle", "at": 70.0, "title": "My long ah"}]')
    told: list[tuple[str, str]] = []
    again = build(MEDIA, folder, watch=lambda stage, share, found: told.append((stage, found)))
    assert ("words", "done before") in told
    assert "My long ah" in [chapter.title for chapter in again.lesson.chapters]
    assert "My long ah" in (folder / "chapters.txt").read_text(encoding="utf-8")
    assert "My long ah" not in (folder / "draft.json").read_text(encoding="utf-8")


def test_a_killed_run_goes_on_where_it_stood(built: Built, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = tmp_path / "killed"
    command = [sys.executable, "-m", "segmenter", "build", str(MEDIA), "-o", str(folder), "--quiet"]
    run = subprocess.Popen(command)
    journal: list[Path] = []
    while run.poll() is None and not (journal and journal[0].stat().st_size > 0):
        journal = list((folder / ".work").glob("words-*.jsonl"))
        time.sleep(0.05)
    assert run.poll() is None, "the run ended before it could be killed"
    os.kill(run.pid, signal.SIGTERM if sys.platform == "win32" else signal.SIGKILL)
    run.wait()
    kept = [line["key"] for line in whole_lines(journal[0].read_bytes())]
    assert kept
    assert not (folder / "lesson.json").exists()
    added: list[str] = []
    put = LineJournal.put

    def put_and_tell(journal: LineJournal, key: str, value: str) -> None:
        added.append(key)
        put(journal, key, value)

    monkeypatch.setattr(LineJournal, "put", put_and_tell)
    resumed = build(MEDIA, folder).lesson
    assert added
    assert not set(kept) & set(added), "what was done was done again"
    # Sums in the speech model end in other last digits on some processors from one process to the next.
    assert values(resumed) == pytest.approx(values(built.lesson), abs=0.05)


def whole_lines(journal: bytes) -> list[dict[str, str]]:
    """Entries of a journal without one that a kill has cut."""
    return [json.loads(line) for line in journal.split(b"\n") if line.endswith(b"}")]


def values(lesson: Lesson) -> dict[str, object]:
    """All values of a lesson but its folder, by their place."""
    found: dict[str, object] = {}
    todo: list[tuple[str, object]] = [("", json.loads(lesson.model_dump_json(exclude={"made_by"})))]
    while todo:
        place, value = todo.pop()
        if isinstance(value, dict):
            todo += [(f"{place}.{key}", inner) for key, inner in value.items()]
        elif isinstance(value, list):
            todo += [(f"{place}[{at}]", inner) for at, inner in enumerate(value)]
        else:
            found[place] = value
    return found
