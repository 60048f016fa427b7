"""Practising: counting, holding, resting, breathing, and asking what was not said. The clock is wound by hand."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opener
from tests.browser.driving import AT, FOCUSED, PAUSED, panel, practise, until

pytestmark = pytest.mark.browser

HEARD = (
    "window.heard = []; const live = document.getElementById('p-live');"
    "new MutationObserver(() => window.heard.push(live.textContent))"
    ".observe(live, {childList: true, characterData: true, subtree: true})"
)


def test_cautions_and_the_clinician_come_before_the_first_practice(page: Page) -> None:
    practise(page, "c3")
    care = page.locator("#p-care")
    expect(care).to_contain_text("Stop if your throat hurts.")
    expect(care).to_contain_text("your own clinician")
    before = "document.getElementById('p-care').compareDocumentPosition(document.getElementById('p-start')) & 4"
    assert page.evaluate(before)


def test_rounds_are_counted_one_after_the_other(page: Page) -> None:
    practise(page, "c2")
    page.click("#p-start")
    for _ in range(3):
        page.click("#p-act")
    expect(page.locator("#p-done")).not_to_have_class("wide act")
    page.click("#p-next-set")
    expect(page.locator("#p-figure")).to_have_text("0")
    for _ in range(3):
        page.click("#p-act")
    expect(page.locator("#p-done")).to_have_class("wide act")
    page.click("#p-undo")
    expect(page.locator("#p-figure")).to_have_text("2")
    page.click("#p-more")
    expect(page.locator("#p-line")).to_have_text("2 of 4 done, Round 2 of 2")
    page.click("#p-fewer")
    page.click("#p-fewer")
    expect(page.locator("#p-line")).to_have_text("2 of 2 done, Round 2 of 2")


def test_nothing_moves_on_without_the_viewer(visit: Opener) -> None:
    page = visit(still=True)
    practise(page, "c2")
    page.click("#p-start")
    for _ in range(3):
        page.click("#p-act")
    page.clock.run_for(3_600_000)
    expect(page.locator("#p-line")).to_have_text("3 of 3 done, Round 1 of 2")
    assert panel(page).is_visible()


def test_hold_counts_its_seconds_then_the_rest(visit: Opener) -> None:
    page = visit(still=True)
    practise(page, "c3")
    page.click("#p-start")
    expect(page.locator("#p-phase")).to_have_text("Get ready")
    page.clock.run_for(3_100)
    expect(page.locator("#p-phase")).to_have_text("Hold")
    page.clock.run_for(7_000)
    expect(page.locator("#p-figure")).to_have_text("7")
    page.click("#p-pause")
    page.clock.run_for(60_000)
    expect(page.locator("#p-figure")).to_have_text("7")
    page.click("#p-pause")
    page.clock.run_for(5_000)
    expect(page.locator("#p-phase")).to_have_text("Rest")
    expect(page.locator("#p-line")).to_have_text("1 of 2 done")
    page.clock.run_for(60_000)
    expect(page.locator("#p-note")).to_contain_text("The rest is over")
    expect(page.locator("#p-line")).to_have_text("1 of 2 done")


def test_next_hold_starts_by_itself_only_if_chosen(visit: Opener) -> None:
    page = visit(still=True)
    practise(page, "c3")
    page.click("#practice .settings summary")
    page.check("[data-choice='by-itself']")
    page.click("#p-start")
    page.clock.run_for(16_000)  # getting ready and the first hold
    expect(page.locator("#p-line")).to_have_text("1 of 2 done")
    page.clock.run_for(20_000)  # the rest and the second hold, with nothing pressed
    expect(page.locator("#p-line")).to_have_text("2 of 2 done")
    expect(page.locator("#p-note")).to_contain_text("Well done")


def test_hold_is_announced_now_and_then_not_each_second(visit: Opener) -> None:
    # ARIA practice, "live regions": a polite region read each second would never be silent.
    page = visit(still=True)
    practise(page, "c3")
    page.click("#p-start")
    page.evaluate(HEARD)
    page.clock.run_for(3_100)
    for _ in range(12):
        page.clock.run_for(1_000)
    heard = page.evaluate("window.heard")
    assert 3 <= len(heard) <= 6, heard
    assert heard[0] == "Hold"
    assert {"5", "10"} <= set(heard)
    assert heard[-1].startswith("12 seconds. Rest")


def test_short_hold_is_told_and_can_still_count(visit: Opener) -> None:
    page = visit(still=True)
    practise(page, "c3")
    page.click("#p-start")
    page.clock.run_for(7_500)
    page.click("#p-act")
    expect(page.locator("#p-note")).to_contain_text("Stopped at 4 seconds")
    expect(page.locator("#p-line")).to_have_text("0 of 2 done")
    page.click("#p-one")
    expect(page.locator("#p-line")).to_have_text("1 of 2 done")


def test_counted_breathing_is_paced(visit: Opener) -> None:
    page = visit("breath", still=True)
    practise(page, "b1")
    page.click("#p-start")
    page.clock.run_for(3_100)
    expect(page.locator("#p-phase")).to_have_text("Breathe in")
    page.clock.run_for(2_000)
    expect(page.locator("#p-phase")).to_have_text("Breathe out")
    expect(page.locator("#p-unit")).to_have_text("of 3")
    for _ in range(10):
        page.clock.run_for(1_000)
    expect(page.locator("#p-line")).to_have_text("2 of 2 done")
    expect(page.locator("#p-note")).to_contain_text("Well done")


def test_unstated_number_is_asked_for(page: Page) -> None:
    practise(page, "c4")
    expect(page.locator("#p-question")).to_have_text("How many would you like to do?")
    expect(page.locator("#p-wish")).to_have_text("Not chosen yet")
    expect(page.locator("#wish-start")).to_be_hidden()
    page.click("#wish-more")
    page.click("#wish-more")
    page.click("#wish-start")
    expect(page.locator("#p-unit")).to_have_text("of 2")


def test_unstated_number_may_stay_open(page: Page) -> None:
    practise(page, "c4")
    page.click("#wish-open")
    for _ in range(3):
        page.click("#p-act")
    expect(page.locator("#p-line")).to_have_text("3 done")


def test_tick_and_voice_sound_only_if_chosen(visit: Opener) -> None:
    page = visit(still=True)
    page.evaluate(
        "window.spoken = []; window.made = 0; const Own = window.AudioContext;"
        "window.AudioContext = class extends Own { constructor() { super(); window.made += 1; } };"
        "speechSynthesis.speak = (words) => window.spoken.push(words.text); null"
    )
    practise(page, "c2")
    page.click("#p-start")
    page.click("#p-act")
    assert page.evaluate("[window.spoken.length, window.made]") == [0, 0]
    page.click("#practice .settings summary")
    page.check("[data-choice=tick]")
    page.check("[data-choice=voice]")
    page.click("#p-act")
    assert page.evaluate("[window.spoken, window.made]") == [["2"], 1]


def test_whole_way_by_keyboard(page: Page) -> None:
    page.focus("[data-open=c2]")
    page.keyboard.press("Enter")
    panel(page).wait_for()
    assert page.evaluate(FOCUSED) == "p-title"
    _tab_to(page, "p-start")
    page.keyboard.press("Enter")
    assert page.evaluate(FOCUSED) == "p-act"
    for _ in range(3):
        page.keyboard.press("Space")
    _tab_to(page, "p-next-set")
    page.keyboard.press("Enter")
    assert page.evaluate(FOCUSED) == "p-act"
    for _ in range(3):
        page.keyboard.press("Enter")
    expect(page.locator("#p-live")).to_contain_text("Well done")
    _tab_to(page, "p-done")
    page.keyboard.press("Enter")
    until(page, f"{AT} > 3.0 && !{PAUSED}")
    assert page.evaluate(FOCUSED) == "play"


def _tab_to(page: Page, wanted: str) -> None:
    for _ in range(20):
        page.keyboard.press("Tab")
        if page.evaluate(FOCUSED) == wanted:
            return
    pytest.fail(f"the Tab key never reached {wanted}")
