"""Damaged work, a recording that changes, memory that ends: each goes on, or says in one line what to do."""

from __future__ import annotations

import json
import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from segmenter.errors import MediaError, ModelError
from segmenter.folder import claimed
from segmenter.hear.recogniser import Recognised, WhisperRecogniser
from segmenter.hear.samples import RATE
from segmenter.made import read_made
from segmenter.pipeline import build
from segmenter.together import interrupted, settle
from tests.faults.breaking import DAMAGES, Class, drafts, readable, retitle, run, titles
from tests.media_files import make


@pytest.fixture(scope="module")
def lesson(tmp_path_factory: pytest.TempPathFactory) -> Class:
    return Class.made(tmp_path_factory.mktemp("class"))


@pytest.fixture(scope="module")
def whole(lesson: Class) -> Path:
    folder = lesson.recording.with_name("whole")
    assert lesson.build(folder).code == 0
    retitle(folder, "My own")
    return folder


@pytest.mark.parametrize("damage", ["cut", "another form"])
def test_all_finished_pieces_damaged_at_once_are_made_anew(
    lesson: Class, whole: Path, tmp_path: Path, damage: str
) -> None:
    import random

    folder = Path(shutil.copytree(whole, tmp_path / "lesson"))
    for path in (folder / ".work").glob("*.json"):
        path.write_bytes(DAMAGES[damage](path.read_bytes(), random.Random(3)))
    assert read_made(folder).media == "class.mp4", "found again"
    built = lesson.build(folder)
    assert (built.code, built.crashed) == (0, None)
    assert readable(folder)
    assert titles(folder) == ["My own"]


def test_a_damaged_file_of_changes_is_told_and_nothing_is_handed_on(whole: Path, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(whole, tmp_path / "lesson"))
    text = (folder / "edits.json").read_bytes()
    (folder / "edits.json").write_bytes(text[:-4] + b"}, {")
    ran = run("publish", str(folder), "--texts", "--hand-on")
    assert ran.code == 0
    assert "edits-damaged-1.json" in ran.said
    assert (folder / "edits-damaged-1.json").read_bytes() == text[:-4] + b"}, {"
    checks = json.loads((folder / "lesson.json").read_bytes())["checks"]
    assert [check["code"] for check in checks if check["level"] == "stop"][:1] == ["edits-damaged"]
    assert not (folder / "for-viewers").exists()


@pytest.mark.parametrize("stage", ["read", "lesson"])
def test_a_recording_replaced_under_a_build_is_refused(lesson: Class, tmp_path: Path, stage: str) -> None:
    mine = Path(shutil.copy(lesson.recording, tmp_path / "mine.mp4"))
    seen: list[str] = []

    def disturb(at: str, share: float, found: str) -> None:
        if at == stage and share > 0 and not seen:
            seen.append(at)
            make(tmp_path / "other.mp4", 12, "sine=300:r=48000").replace(mine)

    with pytest.raises(MediaError, match="changed while"):
        build(mine, tmp_path / "lesson", transcript=lesson.transcript, watch=disturb)
    assert seen
    assert not (tmp_path / "lesson" / "lesson.json").exists()
    assert not list((tmp_path / "lesson").rglob("*.s16")) or stage == "lesson"


@pytest.mark.parametrize("error", [MemoryError(), RuntimeError("mkl_malloc: failed to allocate memory")])
def test_memory_that_ends_is_told(monkeypatch: pytest.MonkeyPatch, error: Exception) -> None:
    import numpy as np

    class Starved:
        def transcribe(self, *_: Any, **__: Any) -> None:
            raise error

    recogniser = WhisperRecogniser(Path("weights"), "tiny")
    monkeypatch.setattr("segmenter.hear.recogniser._engine", lambda *_: Starved())
    with pytest.raises(ModelError, match="not enough memory"):
        recogniser.recognise(np.zeros(RATE, np.float32), "en")


@pytest.mark.parametrize("text", ["", "{}", "[1]", '{"words": [{"text": 1}], "language": "en"}'])
def test_damaged_words_are_no_words(text: str) -> None:
    with pytest.raises(ValueError, match="cannot be read"):
        Recognised.from_json(text)


@pytest.mark.parametrize(
    "note", ["", "[", "{}", '{"files": ["../../out"], "remove": []}', '{"files": 1, "remove": []}']
)
def test_a_damaged_note_of_files_that_belong_together_is_dropped(tmp_path: Path, note: str) -> None:
    stage = tmp_path / "lesson" / ".work" / "publish.new"
    stage.mkdir(parents=True)
    (stage / "a.txt").write_text("new")
    (stage.parent / "publish.go").write_text(note)
    assert settle(tmp_path / "lesson")
    assert not interrupted(tmp_path / "lesson")
    assert not (tmp_path / "out").exists()


def test_what_a_kill_left_half_written_goes_away(tmp_path: Path) -> None:
    work = tmp_path / "lesson" / ".work"
    work.mkdir(parents=True)
    left = [work / ".decoded-abc-x1_y2z3a.draft.channels", work.parent / ".draft-abcd1234.draft.json"]
    stays = [work.parent / ".edits-abcd1234.draft.json", work.parent / ".mine-abcd1234.json"]
    for path in (*left, *stays):
        path.write_text("half")
    assert len(drafts(work.parent)) == 3
    with claimed(work.parent):
        assert [path.exists() for path in (*left, *stays)] == [False, False, True, True]


@pytest.mark.skipif(os.name == "nt", reason="Windows does not let go of a file that is held")
def test_the_lock_is_gone_before_another_can_take_it(tmp_path: Path) -> None:
    with claimed(tmp_path / "lesson") as work:
        (work / "kept.json").write_text("{}")
        lock = (work / "lock").stat().st_ino
    assert not (work / "lock").exists(), lock
