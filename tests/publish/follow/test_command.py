"""``segmenter follow-along`` and the options of the home sheet: mistakes are told in a line, before long work."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner

from segmenter.cli import main
from segmenter.lesson import lesson_from_json, to_json
from tests.lessons import rich_lesson


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    lesson = rich_lesson()
    named = lesson.model_copy(update={"recording": lesson.recording.model_copy(update={"path": "class.m4a"})})
    (tmp_path / "lesson.json").write_text(to_json(named), encoding="utf-8")
    (tmp_path / "class.m4a").write_bytes(b"never opened: a class without a picture is planned from the lesson")
    return tmp_path


def failed(*arguments: str) -> str:
    result = CliRunner().invoke(main, arguments)
    assert result.exit_code == 1
    assert "Traceback" not in result.output
    return result.output.strip().splitlines()[-1]


def test_a_folder_without_a_lesson(tmp_path: Path) -> None:
    assert "no finished lesson" in failed("follow-along", str(tmp_path))


def test_a_chapter_that_is_not_there_is_answered_with_the_list(folder: Path) -> None:
    assert "1 = Hello (0:00); 2 = Steady ah (0:10)" in failed("follow-along", str(folder), "--only", "2,7")


def test_what_a_person_hid_is_not_shown(folder: Path) -> None:
    file = folder / "lesson.json"
    lesson = lesson_from_json(file.read_bytes())
    hidden = lesson.chapters[1].model_copy(update={"hidden": True})
    chapters = (lesson.chapters[0], hidden, lesson.chapters[2])
    file.write_text(to_json(lesson.model_copy(update={"chapters": chapters})), encoding="utf-8")
    assert "1 = Hello (0:00); 2 = Capitals (1:05)" in failed("follow-along", str(folder), "--only", "7")


def test_no_dose_is_taken_from_the_command_line() -> None:
    assert CliRunner().invoke(main, ["follow-along", "x", "--reps", "0"]).exit_code == 2


def test_an_address_that_is_none_stops_the_build_at_once(folder: Path) -> None:
    said = failed("build", str(folder / "class.m4a"), "-o", str(folder / "new"), "--address", "my page")
    assert "not a web address" in said
    assert not (folder / "new").exists()
