"""My set: chosen, ordered, played with practice, ticked, saved and erased on this device."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Opener
from tests.browser.driving import AT, PAUSED, panel, to, until

pytestmark = pytest.mark.browser
PRESS = "document.getElementById('play').click()"
NEXT = "requestAnimationFrame(look)"


def chosen(page: Page, *ids: str) -> None:
    for each in ids:
        page.click(f"[data-open={each}] + .pick")
    to(page, "#set")


def test_empty_set_says_what_to_do(page: Page) -> None:
    to(page, "#set")
    expect(page.locator("#set-empty")).to_contain_text("Nothing chosen yet")
    expect(page.locator("#set-play")).to_be_hidden()
    expect(page.locator("#days-none")).to_be_visible()


def test_set_plays_in_its_order_with_practice_and_ticks(page: Page) -> None:
    chosen(page, "c2", "c4")
    page.click("[data-in-set=c4] button:has-text('Earlier')")
    assert [n.get_attribute("data-in-set") for n in page.query_selector_all("#set-entries > li")] == ["c4", "c2"]
    page.click("#set-play")
    expect(page.locator("#now-part")).to_contain_text("My set: 1 of 2")
    panel(page).wait_for()
    expect(page.locator("#p-title")).to_have_text("Lip press")
    page.locator("#practice .skip:visible").click()
    panel(page).wait_for()  # after the end of the first, the second plays
    expect(page.locator("#p-title")).to_have_text("Shoulder rolls")
    page.click("#p-start")
    page.click("#p-done")
    expect(page.locator("#set-said")).to_contain_text("What you skipped is not ticked")
    assert page.evaluate(PAUSED)
    expect(page.locator("#days")).to_contain_text("1 exercise: Shoulder rolls")
    page.click("#set-play")  # goes on with what is not ticked
    panel(page).wait_for()
    expect(page.locator("#p-title")).to_have_text("Lip press")
    page.click("#wish-more")
    page.click("#wish-start")
    page.click("#p-done")
    panel(page).wait_for()
    page.locator("#practice .skip:visible").click()
    expect(page.locator("#set-said")).to_have_text("You have done your set for today.")
    expect(page.locator("#days")).to_contain_text("2 exercises: Shoulder rolls, Lip press")


def test_exercise_without_a_stop_is_practised_in_the_set(visit: Opener) -> None:
    page = visit("unstopped")
    # Watching the class, nobody is stopped there; who likes can practise by hand.
    to(page, "#chapter=u1")
    expect(page.locator("#beside .stops button")).to_have_text("Practise now 4 times")
    to(page, "#list")
    chosen(page, "u1", "u2")
    page.click("#set-play")
    panel(page).wait_for()
    assert 1.9 <= page.evaluate(AT) <= 2.2
    expect(page.locator("#p-dose")).to_have_text("4 times")  # the dose for home, not the one of the class
    page.click("#p-start")
    page.click("#p-done")
    # Two doses were said, and which one is meant is not known: the viewer is asked.
    panel(page).wait_for()
    expect(page.locator("#p-title")).to_have_text("Lip spread")
    expect(page.locator("#p-question")).to_be_visible()
    expect(page.locator("#p-said")).to_have_text("At home: 4 timesAt home: 6 times")
    expect(page.locator("#p-unsaid")).to_contain_text("These numbers were said in class. You choose")
    page.keyboard.press("Escape")
    assert page.evaluate(PAUSED)
    page.click("#play")
    expect(page.locator("#set-said")).to_have_text("You have done your set for today.")


def test_exercise_without_a_stop_stops_nobody_in_the_class(visit: Opener) -> None:
    page = visit("unstopped", hash_="#t=1.5")
    page.click("#play")
    until(page, f"{AT} > 2.6")
    assert not panel(page).is_visible()


def test_ticks_last_and_can_be_saved_and_erased(page: Page, tmp_path: Path) -> None:
    chosen(page, "c2")
    page.click("[data-in-set=c2] .tick")
    page.reload()
    page.wait_for_selector("body[data-ready=yes]")
    expect(page.locator("[data-in-set=c2] .tick")).to_have_attribute("aria-pressed", "true")
    with page.expect_download() as waiting:
        page.click("#export")
    waiting.value.save_as(tmp_path / "days.csv")
    rows = (tmp_path / "days.csv").read_text("utf-8-sig").splitlines()
    assert rows[0] == '"Day","Exercise"'
    assert rows[1].endswith(',"Shoulder rolls"')
    page.click("#erase")
    page.click("#erase-no")
    expect(page.locator("[data-in-set=c2]")).to_be_visible()
    page.click("#erase")
    page.click("#erase-yes")
    expect(page.locator("#set-empty")).to_be_visible()
    assert page.evaluate("Object.keys(localStorage).filter(key => key.split('.').length > 2)") == []


def test_resume_where_stopped(page: Page) -> None:
    page.click("[data-open=c2]")
    # Stopped by the page itself: a busy machine would let the class run on to its practice.
    page.evaluate(
        f"() => new Promise(done => {{ const look = () => {AT} > 1.6 ? done({PRESS}) : {NEXT}; look(); }})"
    )
    to(page, "#list")
    resume = page.locator("#resume")
    expect(resume).to_have_text("Go on where you stopped: Shoulder rolls, 0:01")
    page.reload()
    page.wait_for_selector("body[data-ready=yes]")
    resume.click()
    until(page, f"{AT} >= 1 && !{PAUSED}")
