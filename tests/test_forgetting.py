"""Erasing a lesson: nothing of the class is left, nothing of anybody else is touched."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner
from filelock import FileLock

from segmenter.cli import main
from segmenter.errors import FolderError
from segmenter.forgetting import forget
from segmenter.lesson import to_json
from segmenter.library.index import refresh
from segmenter.library.search import search
from segmenter.library.store import NAME
from segmenter.made import Made
from segmenter.publishing import republish
from segmenter.understand.catalogue import load_catalogue
from tests.lessons import lesson_of, spoken
from tests.media_files import make

RARE = "Quinceberry"


def library(root: Path) -> Path:
    """A library of two lessons, one of which holds a word that must be forgotten."""
    lessons = root / "lessons"
    for name, word in (("one", RARE), ("two", "Ordinary")):
        recording = make(root / f"{name} recording.mp4", 12)
        lesson = lesson_of(spoken(f"Hello {word} breathe in and out", 500), seconds=12.0)
        (lessons / name).mkdir(parents=True)
        (lessons / name / "draft.json").write_text(to_json(lesson), encoding="utf-8")
        republish(lessons / name, Made(recording=str(recording), hand_on=True))
    (lessons / ".desk").mkdir()
    jobs = [{"id": "1", "lesson": "one", "recording": f"/home/{RARE}.mp4"}, {"id": "2", "lesson": "two"}]
    (lessons / ".desk" / "queue.json").write_text(json.dumps(jobs))
    refresh(lessons, load_catalogue())
    return lessons


def anywhere(root: Path, word: str) -> list[str]:
    wanted = (word.encode(), word.lower().encode())
    files = (path for path in root.rglob("*") if path.is_file())
    return [str(path) for path in files if any(each in path.read_bytes() for each in wanted)]


def test_no_byte_of_the_class_is_left_and_the_other_lesson_is_whole(tmp_path: Path) -> None:
    lessons = library(tmp_path)
    assert anywhere(lessons, RARE)
    other = {path: path.read_bytes() for path in (lessons / "two").rglob("*") if path.is_file()}
    told = forget(lessons / "one")
    assert anywhere(lessons, RARE) == []
    assert not (lessons / "one").exists()
    assert told.recording == str(tmp_path / "one recording.mp4")
    assert (tmp_path / "one recording.mp4").exists()
    assert {path: path.read_bytes() for path in other} == other
    refresh(lessons, load_catalogue())
    assert search(lessons, "ordinary")
    assert search(lessons, RARE) == []


def test_files_of_a_person_stay_and_are_named(tmp_path: Path) -> None:
    folder = library(tmp_path) / "one"
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "precious.txt").write_text("mine")
    (folder / "my notes.txt").write_text("mine")
    (folder / "stills").mkdir(exist_ok=True)
    (folder / "stills" / "own drawing.jpg").write_text("mine")
    try:
        (folder / "for-viewers" / "link").symlink_to(elsewhere)
        (folder / "upload.txt").unlink()
        (folder / "upload.txt").symlink_to(elsewhere / "precious.txt")
    except OSError:
        pytest.skip("this system makes no links")
    told = forget(folder)
    assert told.left == ("my notes.txt", "stills")
    assert (elsewhere / "precious.txt").read_text() == "mine"
    assert "my notes.txt" in told.text()
    assert not (folder / NAME).exists()


def test_what_is_no_lesson_or_is_worked_on_is_refused(tmp_path: Path) -> None:
    (tmp_path / "holiday.jpg").write_text("mine")
    with pytest.raises(FolderError, match="no lesson folder"):
        forget(tmp_path)
    with pytest.raises(FolderError, match="no lesson folder"):
        forget(tmp_path / "nowhere")
    folder = library(tmp_path) / "one"
    before = sorted(path.name for path in folder.iterdir())
    (folder / ".work").mkdir(exist_ok=True)
    with FileLock(folder / ".work" / "lock"), pytest.raises(FolderError, match="a build is working"):
        forget(folder)
    assert sorted(path.name for path in folder.iterdir()) == before


def test_it_asks_before_it_erases(tmp_path: Path) -> None:
    folder = library(tmp_path) / "one"
    kept = CliRunner().invoke(main, ["forget", str(folder)], input="n\n")
    assert kept.exit_code == 1
    assert (folder / "lesson.json").exists()
    gone = CliRunner().invoke(main, ["forget", str(folder)], input="y\n")
    assert gone.exit_code == 0
    assert "Out of reach" in gone.output
    assert not folder.exists()
