"""Many windows on one lesson: each sees all, nothing is overwritten unseen, and a step costs little."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.edits.apply import apply_edits, is_late
from segmenter.edits.journal import Journal, active
from segmenter.edits.kinds import EDIT, Edit, Retitle
from segmenter.lesson import Lesson, to_json
from segmenter.review.editing import OpenLesson, RefusedError, StaleError
from tests.browser.sample import long_lesson
from tests.edits.making import EDITS, drafts
from tests.lessons import rich_lesson


def opened(folder: Path, draft: Lesson) -> OpenLesson:
    (folder / "draft.json").write_text(to_json(draft), encoding="utf-8")
    return OpenLesson(folder)


def raw(edit: Edit) -> object:
    return json.loads(EDIT.dump_json(edit, by_alias=True, exclude_none=True))


@settings(max_examples=60)
@given(drafts(), st.lists(st.one_of(EDITS, st.sampled_from(["undo", "redo"])), max_size=10))
def test_step_by_step_is_the_same_as_all_at_once(
    tmp_path_factory: pytest.TempPathFactory, draft: Lesson, acts: list[Edit | str]
) -> None:
    folder = tmp_path_factory.mktemp("lesson")
    lesson = opened(folder, draft)
    for act in acts:
        seen = lesson.view().version
        try:
            if act == "undo":
                lesson.undo(seen)
            elif act == "redo":
                lesson.redo(seen)
            elif not isinstance(act, str):
                lesson.edit(raw(act), seen)
        except RefusedError:
            continue
    edits = [edit for edit in active(Journal(folder).read()) if not is_late(edit)]
    expected = apply_edits(draft, edits)
    made = lesson.view().lesson
    assert [c for c in expected.checks if c.code != "edit-without-place"] == list(made.checks)
    assert made.model_copy(update={"checks": ()}) == expected.model_copy(update={"checks": ()})


def test_a_window_that_is_behind_is_told_and_overwrites_nothing(tmp_path: Path) -> None:
    one = opened(tmp_path, rich_lesson())
    other = OpenLesson(tmp_path)
    seen = other.view().version
    one.edit(raw(Retitle(at_ms=11_000, title="Mine")), one.view().version)
    with pytest.raises(StaleError):
        other.edit(raw(Retitle(at_ms=11_000, title="Theirs")), seen)
    assert other.view().lesson.chapters[1].title == "Mine", "and sees it at once"
    news = other.since(seen)
    assert [row if isinstance(row, str) else row["title"] for row in news["chapters"]] == ["a", "Mine", "c"]


def test_what_is_sent_twice_counts_once(tmp_path: Path) -> None:
    lesson = opened(tmp_path, rich_lesson())
    seen = lesson.view().version
    lesson.edit(raw(Retitle(at_ms=11_000, title="Mine")), seen, "key-1")
    lesson.edit(raw(Retitle(at_ms=11_000, title="Mine")), seen, "key-1")
    assert len(Journal(tmp_path).read()) == 1


def test_a_change_takes_the_place_of_its_own_kind_only(tmp_path: Path) -> None:
    lesson = opened(tmp_path, rich_lesson())
    first = lesson.edit({"do": "hide", "at": 70}, lesson.view().version, "a")
    again = lesson.edit({"do": "hide", "at": 70}, first["version"], "b")
    assert (first["record"], again["record"]) == (1, None), "nothing changed: no record"
    lesson.edit({"do": "retitle", "at": 11, "title": "Mi", "amends": 1}, again["version"], "c")
    news = lesson.edit({"do": "retitle", "at": 11, "title": "Mine", "amends": 2}, lesson.view().version, "d")
    assert lesson.view().lesson.chapters[2].hidden
    assert [row["text"] for row in news["changes"]] == ["chapter named “Mine”", "chapter hidden from viewers"]


def test_a_change_without_a_place_is_refused_with_its_reason(tmp_path: Path) -> None:
    lesson = opened(tmp_path, rich_lesson())
    with pytest.raises(RefusedError, match="only begin between its neighbours"):
        lesson.edit({"do": "move-boundary", "at": 10, "to": 79.99}, lesson.view().version)
    assert not (tmp_path / "edits.json").exists()


def test_a_better_draft_is_seen_and_edits_without_place_can_be_placed_again(tmp_path: Path) -> None:
    lesson = opened(tmp_path, rich_lesson())
    seen = lesson.view().version
    lesson.edit(raw(Retitle(at_ms=10_000, until_ms=65_000, title="Mine")), seen)
    draft = rich_lesson()
    cut = 37_500
    halves = (
        draft.chapters[0],
        draft.chapters[1].model_copy(update={"end_ms": cut}),
        draft.chapters[1].model_copy(update={"start_ms": cut, "id": "d"}),
        draft.chapters[2],
    )
    better = draft.model_copy(update={"chapters": halves})
    (tmp_path / "draft.json").write_text(to_json(better), encoding="utf-8")
    news = lesson.since(seen)
    assert "no chapter runs from about 0:10 to 1:05" in news["changes"][0]["why"]
    news = lesson.place(1, cut, 65_000, lesson.view().version, None)
    assert news["changes"][-1]["why"] is None
    assert [chapter.title for chapter in lesson.view().lesson.chapters][2] == "Mine"


def test_a_step_in_a_class_of_two_hours_tells_two_chapters_only(tmp_path: Path) -> None:
    """Counts of work, not seconds: sixty chapters, and the answer holds the two that met there."""
    lesson = opened(tmp_path, long_lesson())
    seen = lesson.view().version
    news = lesson.edit({"do": "move-boundary", "at": 1200, "to": 1200.1}, seen)
    assert sum(not isinstance(row, str) for row in news["chapters"]) == 2
    assert "words" not in news
    whole = len(json.dumps(lesson.since(None)))
    assert len(json.dumps(news)) * 5 < whole
