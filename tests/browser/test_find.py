"""Finding: the list, its filter, the search, and the second language."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opener
from tests.browser.driving import AT, PAUSED, to, until

pytestmark = pytest.mark.browser


def test_one_press_plays(page: Page) -> None:
    page.click("[data-open=c2]")
    until(page, f"{AT} > 1 && !{PAUSED}")


def test_list_names_family_dose_and_length(page: Page) -> None:
    row = page.locator("[data-open=c2]")
    expect(row).to_contain_text("Movement, 3 seconds")
    expect(row).to_contain_text("In class: 3 times, 2 rounds")
    expect(row).to_contain_text("Stops once for you to practise")
    expect(page.locator("[data-open=c4]")).to_contain_text("No number was said")


def test_filter_by_family(page: Page) -> None:
    page.click("#filter-buttons button:has-text('Voice')")
    expect(page.locator("#entries .row")).to_have_count(1)
    expect(page.locator("#filtered")).to_have_text("1 exercise is shown")
    expect(page.locator("#filter-buttons [aria-pressed=true]")).to_have_text("Voice")
    page.click("#filter-buttons button:has-text('All')")
    expect(page.locator("#entries .row")).to_have_count(4)


def test_search_hit_jumps(page: Page) -> None:
    page.locator("#q").fill("WELCOME")
    expect(page.locator("#found")).to_have_text("1 place found")
    page.click(".hit")
    until(page, f"{AT} >= 0.2 && {AT} < 2")
    to(page, "#list")
    page.locator("#q").fill("xylophone")
    expect(page.locator("#found")).to_contain_text("Nothing found for “xylophone”")


def test_viewer_changes_the_language(page: Page) -> None:
    page.click("#languages [lang=de]")
    expect(page.locator("#find-title")).to_have_text("Was möchten Sie tun?")
    expect(page.locator("[data-open=c2]")).to_contain_text("In der Stunde: 3-mal, 2 Runden")
    assert page.evaluate("document.documentElement.lang") == "de"
    # What was said in class stays in its language, and says so.
    expect(page.locator("[data-open=c2] .name")).to_have_attribute("lang", "en")
    page.reload()
    expect(page.locator("#find-title")).to_have_text("Was möchten Sie tun?")
    to(page, "#chapter=c3")
    expect(page.locator("#beside .care")).to_contain_text("Plan Ihrer eigenen Therapeutin")
    page.click("#beside .stops button")
    expect(page.locator("#p-dose")).to_have_text("2-mal, 12 Sekunden halten, dazwischen 6 Sekunden ausruhen")


def test_page_can_be_made_in_another_language(visit: Opener) -> None:
    page = visit("german")
    expect(page.locator("#find-title")).to_have_text("Was möchten Sie tun?")
    left = page.evaluate(
        "[...document.querySelectorAll('[data-t]')].filter(n => !n.textContent).map(n => n.dataset.t)"
    )
    assert left == []
