"""Words found and replaced, changes placed again in another draft, a split beside a border, a closed window."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from segmenter.edits.kinds import ReplaceWords, Retitle, Split
from segmenter.lesson import to_json
from tests.browser.desk import enter, review, saved
from tests.browser.task import with_ten_faults
from tests.browser.test_access import violations
from tests.review.serving import Running, running, shelved

pytestmark = pytest.mark.browser

Window = tuple[Page, Running, Path]


@pytest.fixture
def window(browser: Browser, tmp_path: Path) -> Iterator[Window]:
    folder = shelved(tmp_path / "lessons", "Tuesday", with_ten_faults())
    context, faults = browser.new_context(viewport={"width": 1280, "height": 900}), list[str]()
    with running(tmp_path / "lessons") as desk:
        page = enter(context, desk, faults)
        review(page, desk, "Tuesday")
        yield page, desk, folder
    context.close()
    assert faults == []


def test_a_phrase_is_found_and_replaced_and_remembered_for_the_next_class(window: Window) -> None:
    page, desk, folder = window
    page.keyboard.press("r")
    page.keyboard.type("the store")
    expect(page.locator("#replace-found")).to_contain_text("Said 3 times, first at 3:11")
    page.get_by_label("Put in their place").fill("the straw")
    page.locator("#replace-remember").check()
    assert violations(page) == []
    page.keyboard.press("Enter") if page.locator("#replace-go:focus").count() else page.locator(
        "#replace-go"
    ).click()
    edit = saved(page, folder, "replace-words")
    assert isinstance(edit, ReplaceWords)
    assert (edit.was, edit.text) == ("the store", "the straw")
    expect(page.locator("#replace-found")).to_contain_text("Not said in this class")
    expect(page.locator("#replace-go")).to_be_disabled()
    assert json.loads((desk.desk.shelf.own / "remembered.json").read_text()) == [["the store", "the straw"]]


def test_a_later_draft_keeps_changes_and_one_without_place_is_placed_again(window: Window) -> None:
    page, _, folder = window
    page.locator("#paper .title").nth(2).click()
    page.get_by_label("Called").fill("Mine")
    saved(page, folder, "retitle")
    draft = with_ten_faults()
    c = draft.chapters[2]
    halves = [c.model_copy(update={"end_ms": 103_000}), c.model_copy(update={"id": "y", "start_ms": 103_000})]
    better = draft.model_copy(update={"chapters": (*draft.chapters[:2], *halves, *draft.chapters[3:])})
    (folder / "draft.json").write_text(to_json(better), encoding="utf-8")
    lost = page.locator("#changes li", has_text="This has no place any more")
    expect(lost).to_contain_text("no chapter runs from about 1:16 to 2:10 any more")
    assert violations(page) == []
    page.locator("#paper .title").nth(3).click()
    page.get_by_role("button", name="Put it where I am").click()
    expect(page.locator("#paper .title").nth(3)).to_have_text("Mine")
    expect(lost).to_have_count(0)


def test_a_new_chapter_beside_a_border_is_told_to_have_moved_it(window: Window) -> None:
    page, _, folder = window
    page.locator("#paper .title").nth(1).click()
    count = page.locator("#paper .title").count()
    page.locator("#play").focus()
    page.keyboard.press("ArrowRight")
    page.keyboard.press("s")
    edit = saved(page, folder, "split")
    assert isinstance(edit, Split)
    expect(page.locator("#told")).to_contain_text("The chapter that began at 0:20.0 begins at 0:21.0 now.")
    assert page.locator("#paper .title").count() == count
    expect(page.locator("#told")).to_be_in_viewport()
    for _ in range(4):
        page.keyboard.press("ArrowRight")
    page.keyboard.press("s")
    expect(page.locator("#told")).to_contain_text("A chapter begins at 0:25.0")
    expect(page.locator("#paper .title")).to_have_count(count + 1)


def test_a_window_that_closes_in_the_middle_of_a_word_has_said_it(window: Window) -> None:
    page, desk, folder = window
    page.locator("#paper .title").nth(1).click()
    page.get_by_label("Called").fill("Half a wo")
    page.goto(desk.origin)  # at once
    review(page, desk, "Tuesday")
    edit = saved(page, folder, "retitle")
    assert isinstance(edit, Retitle)
    assert edit.title == "Half a wo"
