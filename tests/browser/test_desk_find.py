"""Finding a moment from the desk's home: typed, read, followed by keyboard."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from segmenter.lesson import Word
from tests.browser.desk import enter
from tests.browser.test_access import violations
from tests.library.shelf import a_class
from tests.review.serving import running, shelved

pytestmark = pytest.mark.browser


def test_a_moment_is_found_by_words_and_opened_where_it_is(browser: Browser, tmp_path: Path) -> None:
    context, faults = browser.new_context(), list[str]()
    root = tmp_path / "lessons"
    markup = a_class("<b>Legs</b>", ["single-leg-stance"])
    words = (*markup.words, Word(text="<img src=x onerror=alert(1)>", start_ms=15_000, end_ms=15_400))
    shelved(root, "2026-04-01 legs", markup.model_copy(update={"words": words}))
    shelved(root, "2026-01-05 voice", a_class("Voice", ["chin-tuck", "siren"]))
    with running(root) as desk:
        page = enter(context, desk, faults)
        box = page.get_by_label("Find in all lessons")
        box.fill("chin tuck left")
        box.press("Enter")
        expect(page.locator("#find-told")).to_have_text("1 moment")
        found = page.locator("#find-list a")
        expect(found).to_have_text("Chin tuck at 0:02")
        assert not page.locator("#lesson-list").is_visible()
        assert violations(page) == []
        box.fill("onerror")
        box.press("Enter")
        expect(page.locator("#find-list")).to_contain_text("<img src=x onerror=alert(1)>")
        box.fill("nothing of the kind")
        box.press("Enter")
        expect(page.locator("#find-told")).to_contain_text("Nothing fits")
        page.get_by_role("button", name="Show all lessons").click()
        expect(page.locator("#lesson-list .card")).to_have_count(2)
        expect(box).to_be_focused()
        box.fill("owl")
        box.press("Enter")
        page.locator("#find-list a").focus()
        page.keyboard.press("Enter")
        page.wait_for_selector("body[data-ready=yes]")
        page.wait_for_url("**/lesson/**")
        expect(page.locator("#clock")).to_contain_text("0:20")
    context.close()
    assert faults == []
