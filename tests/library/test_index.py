"""The index: what is new, changed, moved, gone or damaged; always the same as one made anew."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from segmenter.errors import FolderError
from segmenter.library.index import lessons_below, refresh
from segmenter.library.search import find, search
from segmenter.library.store import NAME
from segmenter.understand.catalogue import load_catalogue
from tests.library.shelf import a_class, put

CATALOGUE = load_catalogue()


def test_lessons_are_added_changed_moved_and_forgotten(tmp_path: Path) -> None:
    one = put(tmp_path / "2026-01-05", a_class("January", ["chin-tuck"]))
    put(tmp_path / "spring" / "2026-04-01", a_class("April", ["siren"]))
    told = refresh(tmp_path, CATALOGUE)
    assert (told.total, told.added) == (2, ["2026-01-05", "spring/2026-04-01"])
    assert refresh(tmp_path, CATALOGUE).added == []

    put(one, a_class("January", ["single-leg-stance"]))
    told = refresh(tmp_path, CATALOGUE)
    assert (told.added, told.changed, told.gone) == ([], ["2026-01-05"], [])
    assert search(tmp_path, "chin tuck") == [], "the words it had before are forgotten"
    assert [moment.folder for moment in search(tmp_path, "counter")] == ["2026-01-05"]

    (tmp_path / "spring" / "2026-04-01").rename(tmp_path / "2026-04-01")
    told = refresh(tmp_path, CATALOGUE)
    assert (told.added, told.gone) == (["2026-04-01"], ["spring/2026-04-01"])
    assert {moment.folder for moment in search(tmp_path, "owl")} == {"2026-04-01"}


def test_an_index_brought_up_to_date_equals_one_made_anew(tmp_path: Path) -> None:
    folders = [put(tmp_path / f"2026-01-{day:02}", a_class(f"Class {day}", ["chin-tuck"])) for day in range(1, 9)]
    refresh(tmp_path, CATALOGUE)
    for number, folder in enumerate(folders[:6]):
        put(folder, a_class(f"Other {number}", ["siren", "single-leg-stance"], reps=number + 2))
    folders[6].joinpath("lesson.json").unlink()
    refresh(tmp_path, CATALOGUE)
    kept = {text: search(tmp_path, text) for text in ("left", "chin", "owl", "class", "other 3")}
    with sqlite3.connect(tmp_path / NAME) as index:
        # Raises if the words in the index are not those of the lessons (SQLite, FTS5, section 6.4).
        index.execute("INSERT INTO words (words, rank) VALUES ('integrity-check', 1)")
    (tmp_path / NAME).unlink()
    refresh(tmp_path, CATALOGUE)
    assert kept == {text: search(tmp_path, text) for text in kept}


@pytest.mark.parametrize("damage", [b"", b"no database at all", b"SQLite format 3\0" + b"\xff" * 5000])
def test_a_damaged_index_is_made_anew(damage: bytes, tmp_path: Path) -> None:
    put(tmp_path / "a", a_class("A", ["chin-tuck"]))
    refresh(tmp_path, CATALOGUE)
    (tmp_path / NAME).write_bytes(damage)
    assert refresh(tmp_path, CATALOGUE).added == ["a"]
    assert search(tmp_path, "chin")


def test_a_page_torn_out_of_the_index_is_noticed(tmp_path: Path) -> None:
    for number in range(30):
        put(tmp_path / f"{number}", a_class("A", ["chin-tuck", "siren"]))
    refresh(tmp_path, CATALOGUE)
    file = tmp_path / NAME
    whole = file.read_bytes()
    file.write_bytes(whole[:8192] + b"\xa5" * 40_960 + whole[8192 + 40_960 :])
    assert len({moment.folder for moment in find(tmp_path, "owl", CATALOGUE)}) == 30


def test_a_lesson_that_cannot_be_read_is_named_and_the_rest_found(tmp_path: Path) -> None:
    put(tmp_path / "good", a_class("Good", ["chin-tuck"]))
    bad = put(tmp_path / "bad", a_class("Bad", ["chin-tuck"]))
    (bad / "lesson.json").write_text('{"schema": "lesson/1"')
    for _ in range(2):
        told = refresh(tmp_path, CATALOGUE)
        assert list(told.unreadable) == ["bad"]
        assert "lesson" in told.unreadable["bad"]
        assert {moment.folder for moment in search(tmp_path, "chin")} == {"good"}
    put(bad, a_class("Bad", ["chin-tuck"]))
    assert refresh(tmp_path, CATALOGUE).unreadable == {}
    assert {moment.folder for moment in search(tmp_path, "chin")} == {"good", "bad"}


def test_links_hidden_folders_and_what_viewers_get_are_not_looked_into(tmp_path: Path) -> None:
    library, elsewhere = tmp_path / "library", put(tmp_path / "elsewhere", a_class("E", ["chin-tuck"]))
    own = put(library / "own", a_class("O", ["chin-tuck"]))
    put(own / "for-viewers", a_class("O", ["chin-tuck"]))
    put(library / ".hidden", a_class("H", ["chin-tuck"]))
    try:
        (library / "link").symlink_to(elsewhere)
        (library / "round").symlink_to(library)
    except OSError:
        pytest.skip("this system makes no links")
    assert [library / name for name, _ in lessons_below(library)] == [own]


def test_a_folder_that_is_not_there_is_told(tmp_path: Path) -> None:
    with pytest.raises(FolderError, match="no such folder"):
        refresh(tmp_path / "nowhere", CATALOGUE)
