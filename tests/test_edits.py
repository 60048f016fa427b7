"""A person's edit always wins, and none is ever lost."""

from pathlib import Path

import pytest

from segmenter.edits.apply import apply_edits
from segmenter.edits.journal import entries_to_json, read_edits
from segmenter.edits.kinds import (
    Edit,
    Reclassify,
    Retitle,
    SetAsked,
    SetStill,
    SetWord,
)
from segmenter.errors import LessonError
from segmenter.lesson import Ask, Word
from tests.test_lesson import lesson

EDITS: list[Edit] = [
    Retitle(at_ms=1500, title="Long ah"),
    Reclassify(at_ms=1500, kind="exercise", family="voice", exercise="sustained-vowel"),
    SetAsked(at_ms=500, asked=(Ask(start_ms=1, end_ms=2, where="home", reps=(6, 6)),)),
    SetWord(at_ms=420, was="massacre", text="tongue-hold"),
]


def test_edits_win_and_survive_another_draft() -> None:
    words = (Word(text="massacre", start_ms=400, end_ms=700),)
    first = apply_edits(lesson(1000, 2000, words=words), EDITS)
    assert [c.title for c in first.chapters] == ["Part 1", "Long ah"]
    assert first.chapters[1].family == "voice"
    assert first.chapters[0].asked[0].reps == (6, 6)
    assert (first.words[0].text, first.words[0].heard) == ("tongue-hold", "massacre")
    moved = (Word(text="massacre", start_ms=650, end_ms=900),)
    second = apply_edits(lesson(700, 1200, 2000, words=moved), EDITS)
    assert [c.title for c in second.chapters] == ["Part 1", "Part 2", "Long ah"]
    assert second.words[0].text == "tongue-hold"
    assert not second.checks


def test_an_edit_without_a_place_becomes_a_check() -> None:
    made = apply_edits(lesson(1000), EDITS)
    assert [check.code for check in made.checks] == ["edit-without-place"] * 3


def test_applying_edits_twice_equals_once() -> None:
    words = (Word(text="massacre", start_ms=400, end_ms=700),)
    once = apply_edits(lesson(1000, 2000, words=words), EDITS[:3])
    twice = apply_edits(once, EDITS[:3])
    assert [c.model_copy(update={"reasons": ()}) for c in twice.chapters] == [
        c.model_copy(update={"reasons": ()}) for c in once.chapters
    ]


def test_edits_read_back_and_a_broken_file_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "edits.json"
    assert read_edits(path) == []
    path.write_text(entries_to_json(EDITS))
    assert [edit.model_copy(update={"id": None}) for edit in read_edits(path)] == EDITS
    path.write_text('[{"do": "sing", "at": 1}]')
    with pytest.raises(LessonError, match="Nothing was changed"):
        read_edits(path)
    assert "sing" in path.read_text()


def test_a_person_chooses_the_picture_of_an_exercise(tmp_path: Path) -> None:
    edit = SetStill(at_ms=1500, still_ms=1234)
    made = apply_edits(lesson(1000, 2000), [edit])
    assert [chapter.still_ms for chapter in made.chapters] == [None, 1234]
    (tmp_path / "edits.json").write_text(entries_to_json([edit]), encoding="utf-8")
    assert read_edits(tmp_path / "edits.json") == [edit.model_copy(update={"id": 1})]
