"""Captions are made again only when what goes into them changed, and are then those that `compose` makes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from segmenter.edits.apply import apply_edits
from segmenter.edits.kinds import AddHold, Edit, Hide, MoveBoundary, RemoveStop, ReplaceWords, Retitle, SetAsked
from segmenter.lesson import Lesson
from segmenter.publish import caption_store
from segmenter.publish.caption_store import CaptionStore
from segmenter.publish.captions import compose
from tests.lessons import rich_lesson


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> list[Lesson]:
    """Every lesson that captions are really made of."""
    seen: list[Lesson] = []

    def counting(lesson: Lesson) -> Any:
        seen.append(lesson)
        return compose(lesson)

    monkeypatch.setattr(caption_store, "compose", counting)
    return seen


@pytest.mark.parametrize(
    ("edit", "again"),
    [
        (Retitle(at_ms=11_000, title="Long ah"), False),
        (Retitle(at_ms=11_000, title="Hold the ee"), True),  # gives the sound of the hold its name
        (SetAsked(at_ms=11_000, asked=()), False),
        (Hide(at_ms=70_000), False),
        (ReplaceWords(at_ms=0, was="chair", text="stool"), True),
        (MoveBoundary(at_ms=10_000, to_ms=12_000), True),
        (AddHold(at_ms=14_000, end_ms=18_000), True),
        (RemoveStop(at_ms=60_000), True),
    ],
)
def test_made_again_only_where_something_in_them_changed(
    edit: Edit, again: bool, made: list[Lesson], tmp_path: Path
) -> None:
    draft = rich_lesson()
    quiet = draft.model_copy(update={"words": tuple(w for w in draft.words if w.text not in {"ah", "ah,"})})
    CaptionStore(tmp_path)(quiet)
    changed = apply_edits(quiet, [edit])
    assert CaptionStore(tmp_path)(changed) == compose(changed)
    assert len(made) == 1 + again


def test_a_broken_or_missing_store_does_no_harm(made: list[Lesson], tmp_path: Path) -> None:
    lesson = rich_lesson()
    assert CaptionStore(tmp_path / "nowhere")(lesson) == compose(lesson)
    assert not (tmp_path / "nowhere").exists(), "looking at a folder leaves nothing in it"
    CaptionStore(tmp_path)(lesson)
    (kept,) = tmp_path.glob("captions-*.json")
    kept.write_text("{", encoding="utf-8")
    assert CaptionStore(tmp_path)(lesson) == compose(lesson)
    assert CaptionStore(tmp_path)(lesson) == compose(lesson)
    assert len(made) == 3, "not kept, kept, broken and kept again"


def test_other_rules_make_other_captions(
    made: list[Lesson], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    CaptionStore(tmp_path)(rich_lesson())
    monkeypatch.setattr(caption_store, "_rules", lambda: "others")
    CaptionStore(tmp_path)(rich_lesson())
    assert len(made) == 2
