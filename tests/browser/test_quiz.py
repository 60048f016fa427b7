"""Quiz: the class waits after the clue; the answer is nowhere before it is spoken or asked for."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opener
from tests.browser.driving import AT, PAUSED, to, until

pytestmark = pytest.mark.browser


def test_answer_is_not_in_the_source(folder: Path) -> None:
    source = (folder / "index.html").read_text("utf-8").lower()
    assert "elephant" not in source


def test_class_stops_after_the_clue_for_as_long_as_liked(page: Page) -> None:
    page.click("[data-open=c5]")
    page.locator("#think[open]").wait_for()
    assert page.evaluate(PAUSED)
    assert 8.0 <= page.evaluate(AT) <= 8.25
    expect(page.locator("#t-clue")).to_have_text("It is grey and never forgets.")
    assert "Elephant" not in page.evaluate("document.body.innerText")
    page.click("#t-show")
    expect(page.locator("#t-answer")).to_have_text("Answer: Elephant")
    assert page.evaluate(PAUSED)
    page.click("#t-on")
    until(page, f"{AT} > 8.3 && !{PAUSED}")


def test_answer_is_hidden_until_spoken(page: Page) -> None:
    page.locator("#q").fill("elephant")
    expect(page.locator("#found")).to_contain_text("Nothing found")
    page.click("[data-open=c5]")
    page.locator("#think[open]").wait_for()
    assert "lephant" not in page.locator("#watch").inner_html()
    page.click("#t-on")
    expect(page.locator("#beside .answer")).to_have_text("Answer: Elephant")
    assert page.evaluate(AT) >= 8.4
    to(page, "#list")
    expect(page.locator("#found")).to_have_text("1 place found")


def test_jumping_into_the_answer_does_not_tell_it(page: Page) -> None:
    to(page, "#t=8.6")
    page.wait_for_timeout(300)
    assert "lephant" not in page.locator("#watch").inner_html()


def test_answer_can_be_asked_for(page: Page) -> None:
    to(page, "#chapter=c5")
    page.click("#beside .quiz button")
    expect(page.locator("#beside .answer")).to_have_text("Answer: Elephant")
    assert page.evaluate(PAUSED)


def test_quiz_does_not_stop_when_stops_are_off(visit: Opener) -> None:
    page = visit()
    page.evaluate("localStorage.setItem('class-page.auto', 'false')")
    page.reload()
    page.wait_for_selector("body[data-ready=yes]")
    page.click("[data-open=c5]")
    until(page, f"{AT} > 8.7")
    assert not page.locator("#think[open]").is_visible()
