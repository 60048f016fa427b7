"""The commands over many lessons, as they are typed: what they print, what they write, how they end."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from segmenter.cli import main
from tests.library.shelf import a_class, put


@pytest.fixture(scope="module")
def lessons(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("lessons")
    put(root / "2026-01-05", a_class("January", ["chin-tuck", "siren"]))
    put(root / "2026-04-01", a_class("April", ["chin-tuck"], reps=8))
    return root


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, list(map(str, arguments)))


def test_the_index_is_brought_up_to_date_and_says_what_it_left_out(tmp_path: Path) -> None:
    put(tmp_path / "good", a_class("Good", ["siren"]))
    (tmp_path / "bad").mkdir()
    (tmp_path / "bad" / "lesson.json").write_text("no lesson")
    first = run("library", tmp_path)
    assert (first.exit_code, first.stdout) == (0, "1 lesson in the index: 2 new, 0 changed, 0 gone\n")
    assert first.stderr.startswith("Left out: bad: ")
    (tmp_path / "good" / "lesson.json").unlink()
    again = json.loads(run("library", "--json", tmp_path).stdout)
    assert (again["total"], again["gone"], list(again["unreadable"])) == (1, ["good"], ["bad"])


@pytest.mark.parametrize("command", [["library"], ["find", "chin"], ["coverage"], ["desk", "--no-browser"]])
def test_a_lesson_is_no_library(tmp_path: Path, command: list[str]) -> None:
    lesson = put(tmp_path / "2026-01-05", a_class("January", ["chin-tuck"]))
    before = sorted(lesson.iterdir())
    told = run(*command, lesson)
    assert told.exit_code == 1
    assert (
        told.stderr == f"Error: {lesson}: this folder is a lesson itself. Name the folder around it: {tmp_path}\n"
    )
    assert sorted(lesson.iterdir()) == before, "files of a library in a lesson would be handed on with it"


def test_moments_are_found_with_links_that_open_them(lessons: Path) -> None:
    told = run("find", "chin tuck", lessons)
    assert told.exit_code == 0
    assert (lessons / "2026-04-01" / "index.html").as_uri() in told.stdout
    rows = json.loads(run("find", "--json", "--most", "1", "chin tuck", lessons).stdout)
    assert len(rows) == 1
    nothing = run("find", "xylophone", lessons)
    assert (nothing.exit_code, nothing.stdout) == (0, "")
    assert nothing.stderr == "Nothing fits. Try fewer or other words.\n"


def test_coverage_tells_what_rests_and_writes_its_files(lessons: Path, tmp_path: Path) -> None:
    told = run("coverage", lessons, "--since", "2026-03-01", "-o", tmp_path / "out")
    assert told.exit_code == 0
    assert "Not since 2026-01-05: Pitch\n" in told.stdout
    assert told.stdout.endswith(f"The page: {tmp_path / 'out' / 'coverage.html'}\n")
    with (tmp_path / "out" / "coverage.csv").open(encoding="utf-8-sig", newline="") as file:
        assert any("2026-04" in cell for row in csv.reader(file) for cell in row)
    wrong = run("coverage", lessons, "--since", "March")
    assert wrong.exit_code == 1
    assert wrong.stderr.count("\n") == 1


def test_chapters_of_two_classes_become_a_lesson(lessons: Path, tmp_path: Path) -> None:
    january, april = lessons / "2026-01-05", lessons / "2026-04-01"
    made = run("compose", "Monday set", f"{january}#2", april, "-o", tmp_path / "monday")
    assert made.exit_code == 0, made.stderr
    assert made.stdout.endswith(f"{tmp_path / 'monday' / 'index.html'}\n")
    chapters = json.loads((tmp_path / "monday" / "lesson.json").read_text("utf-8"))["chapters"]
    assert [chapter["exercise"] for chapter in chapters] == ["siren", "chin-tuck"]
    assert [chapter["credit"] for chapter in chapters] != [None, None]
    missing = run("compose", "Monday set", f"{january}#9", "-o", tmp_path / "none")
    assert (missing.exit_code, missing.stderr.count("\n")) == (1, 1)
    assert not (tmp_path / "none").exists()
