"""What was covered when: months, what rests, riddles, doses; and the files that tell it."""

from __future__ import annotations

import csv
import time
import xml.etree.ElementTree as ET
from pathlib import Path

import pytest

from segmenter.errors import SettingError
from segmenter.lesson import Recording
from segmenter.library.coverage import Coverage, coverage
from segmenter.library.coverage_files import write_coverage
from segmenter.library.dates import date_in, date_of, day_of
from segmenter.library.index import refresh
from segmenter.understand.catalogue import load_catalogue
from tests.library.shelf import a_class, put

CATALOGUE = load_catalogue()
CLUE = "It has teeth but never bites."


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("library")
    put(root / "2026-01-05", a_class("January", ["chin-tuck", "chin-tuck"], reps=5, clue=CLUE))
    put(root / "2026-01-19", a_class("January again", ["chin-tuck", "siren"], reps=5))
    put(root / "2026-04-01", a_class("=SUM(A1)", ["chin-tuck"], reps=8, clue="It has teeth, but never bites!"))
    refresh(root, CATALOGUE)
    return root


@pytest.fixture(scope="module")
def made(library: Path) -> Coverage:
    return coverage(library, CATALOGUE, "2026-03-01")


def test_months_count_classes_and_minutes(made: Coverage) -> None:
    swallow = made.by_month("family")["Swallowing"]
    assert {month: cell["classes"] for month, cell in swallow.items()} == {"2026-01": 2, "2026-04": 1}
    assert swallow["2026-01"]["seconds"] == 60, "three times twenty seconds"
    assert made.months == ("2026-01", "2026-04")


def test_what_rests_since_a_date(made: Coverage) -> None:
    resting = {one.name: one.last for one in made.families_resting}
    assert "Swallowing" not in resting
    assert resting["Pitch"] == "2026-01-19"
    assert resting["Balance"] is None
    assert [one.last for one in made.exercises_resting] == ["2026-01-19"]


def test_a_riddle_is_known_again_whatever_its_commas(made: Coverage) -> None:
    (riddle,) = made.riddles
    assert [date for date, _ in riddle.asked] == ["2026-01-05", "2026-04-01"]


def test_doses_are_told_when_they_change(made: Coverage) -> None:
    (times,) = made.doses().values()
    assert [(one.date, one.asked_home) for one in times] == [("2026-01-05", "5 times"), ("2026-04-01", "8 times")]


def test_files_read_back_and_run_nothing(made: Coverage, tmp_path: Path) -> None:
    page, table, picture = write_coverage(made, tmp_path / "out")
    with table.open(encoding="utf-8-sig", newline="") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == len(made.taught) == 7
    assert rows[-1]["Class"] == "'=SUM(A1)"
    text = page.read_text(encoding="utf-8")
    assert "Not covered since 2026-03-01" in text
    assert "http://www.w3.org/2000/svg" in text
    assert ET.parse(picture).getroot().tag.endswith("svg")  # noqa: S314


def test_dates_come_from_names_then_from_the_recording_then_from_the_file() -> None:
    lesson = a_class("Voice", ["chin-tuck"])
    noon = time.mktime((2026, 5, 6, 12, 0, 0, 0, 0, -1))
    assert date_of(lesson, "monday", noon) == ("2026-05-06", "file")
    told = lesson.model_copy(
        update={"recording": Recording(path="a.mp4", sha256=None, seconds=20, recorded="2026-02-03")}
    )
    assert date_of(told, "monday", noon) == ("2026-02-03", "recording")
    assert date_of(told, "class 2026_01_02", noon) == ("2026-01-02", "name")
    assert date_in("2026-02-30 and 20260301") == "2026-03-01", "a day that never was is passed over"


def test_a_day_is_asked_for_year_first() -> None:
    assert day_of(" 2026-03-01 ") == "2026-03-01"
    with pytest.raises(SettingError, match="2026-03-01"):
        day_of("1/3/26")


def test_a_library_without_lessons_has_a_page_too(tmp_path: Path) -> None:
    refresh(tmp_path, CATALOGUE)
    page, *_ = write_coverage(coverage(tmp_path, CATALOGUE), tmp_path / "coverage")
    assert "No exercises yet" in page.read_text(encoding="utf-8")
