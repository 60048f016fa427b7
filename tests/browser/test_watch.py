"""Watching: stops, jumps, captions, links, and what is always in view."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Opener
from tests.browser.driving import AT, PAUSED, panel, to, until
from tests.browser.sample import MARKUP

pytestmark = pytest.mark.browser


def test_twenty_stops_in_a_row_halt_within_a_quarter_second(visit: Opener) -> None:
    # HTML standard, "time marches on": cues may be up to 250 ms late.
    page = visit("stops")
    page.click("[data-open=s1]")
    late = []
    for at in range(500, 9500, 450):
        panel(page).wait_for()
        assert page.evaluate(PAUSED)
        late.append(float(page.locator("#media").get_attribute("data-late") or "nan"))
        assert abs(page.evaluate(AT) - at / 1000) <= 0.25
        page.locator("#practice .skip:visible").click()
    assert len(late) == 20
    assert [round(by, 3) for by in late if not -0.01 <= by <= 0.25] == []


def test_player_waits_and_goes_on_where_the_class_does(page: Page) -> None:
    page.click("[data-open=c2]")
    panel(page).wait_for()
    page.wait_for_timeout(300)
    assert 2.6 <= page.evaluate(AT) <= 2.85
    page.locator("#practice .skip:visible").click()
    until(page, f"{AT} >= 3.0 && !{PAUSED}")


def test_stops_can_be_turned_off(page: Page) -> None:
    page.click("[data-open=c2]")
    page.click("#watch .settings summary")
    page.uncheck("#watch [data-choice=auto]")
    until(page, f"{AT} > 3.2")
    assert not panel(page).is_visible()
    expect(page.locator("#now-next")).to_contain_text("Time for you at 0:05")


def test_jumping_over_a_stop_does_not_open_it(page: Page) -> None:
    page.click("[data-open=c2]")
    page.click("#after")
    until(page, f"{AT} > 3.8")
    assert not panel(page).is_visible()
    expect(page.locator("#now-title")).to_have_text(f"Long “ah” {MARKUP}")
    expect(page.locator("#now-dose")).to_contain_text("2 times, hold 12 seconds")


def test_exercise_part_dose_and_next_stop_are_in_view(visit: Opener) -> None:
    page = visit(hash_="#t=1.2")
    expect(page.locator("#now-part")).to_have_text("Now: how it is done")
    expect(page.locator("#now-next")).to_have_text("Stops for you in 0:02, at 0:02")
    page.evaluate("window.scrollTo(0, document.body.scrollHeight)")
    for part in ("#now-title", "#now-part", "#now-dose", "#now-next"):
        expect(page.locator(part)).to_be_in_viewport()


PLAYED = (
    "() => { const media = document.getElementById('media'); window.played = [];"
    "const note = () => { if (!media.paused && !media.seeking) window.played.push(media.currentTime);"
    "requestAnimationFrame(note); }; note(); }"
)


def test_what_an_editor_hid_is_jumped_over(visit: Opener) -> None:
    page = visit("hidden", hash_="#t=3.2")
    page.evaluate(PLAYED)
    page.click("#play")
    until(page, f"{AT} > 6.2")
    page.click("#play")
    played = page.evaluate("window.played")
    assert min(played) < 3.5  # it came from before the hidden part, which is from 3.5 to 6
    assert [at for at in played if 3.75 < at < 5.95] == []
    expect(page.locator("#now-title")).to_have_text("Lip press")
    # The closing is hidden, too: the class ends before it.
    to(page, "#t=8.9")
    page.click("#play")
    until(page, f"{AT} >= 9 && {PAUSED}")
    assert page.evaluate(AT) < 9.25


def test_nobody_lands_in_what_is_hidden(visit: Opener) -> None:
    page = visit("hidden")
    expect(page.locator("#entries .row")).to_have_count(3)
    page.locator("#q").fill("ah")
    expect(page.locator("#found")).to_contain_text("Nothing found")
    to(page, "#t=4.5")
    until(page, f"{AT} === 6")
    place = page.locator("#place")
    place.fill("9")
    until(page, f"Math.abs({AT} - 8.95) < 0.01")
    place.fill("5")
    until(page, f"{AT} === 6")
    assert page.locator("#strip b").count() == 2


def test_explanation_can_be_skipped(visit: Opener) -> None:
    page = visit(hash_="#t=1.2")
    page.click("#skip-talk")
    until(page, f"{AT} >= 1.9")
    expect(page.locator("#now-part")).to_have_text("Now: doing it")
    expect(page.locator("#skip-talk")).to_be_hidden()


def test_back_again_before_and_after(visit: Opener) -> None:
    page = visit(hash_="#t=5.8")
    page.click("#back")
    until(page, f"{AT} < 0.2")
    to(page, "#t=4.9")
    page.click("#again")
    until(page, f"{AT} >= 3.5 && {AT} < 4.5")
    page.click("#before")
    expect(page.locator("#now-title")).to_have_text("Shoulder rolls")
    expect(page.locator("#before")).to_be_disabled()


def test_speed_and_captions_follow_the_choice_and_are_remembered(page: Page) -> None:
    to(page, "#t=1.5")
    page.click("#watch .settings summary")
    for key, value in (
        ("speed", "0.5"),
        ("caption-size", "largest"),
        ("caption-place", "top"),
        ("caption-back", "light"),
    ):
        page.locator(f"[name={key}][value='{value}']").check()
    caption = page.locator("#caption")
    expect(caption).to_have_attribute("data-place", "top")
    big = caption.locator("p").evaluate("node => getComputedStyle(node).fontSize")
    assert float(big.removesuffix("px")) >= 32
    page.reload()
    page.wait_for_selector("body[data-ready=yes]")
    assert page.evaluate("document.getElementById('media').playbackRate") == 0.5
    expect(page.locator("#caption")).to_have_attribute("data-size", "largest")
    page.click("#watch .settings summary")
    page.locator("[name=caption-place][value=below]").check()
    expect(page.locator("#caption-below #caption-text")).to_have_text("Roll your shoulders three times.")
    page.locator("[name=caption-place][value=off]").check()
    expect(page.locator("#caption-text")).to_be_hidden()


def test_on_a_telephone_captions_leave_the_face_free(visit: Opener) -> None:
    page = visit(hash_="#t=1.5", viewport={"width": 360, "height": 740})
    below = page.locator("#caption-below #caption-text")
    expect(below).to_be_visible()
    assert "\n" not in below.inner_text()
    picture, words = (page.locator(name).bounding_box() for name in ("#media", "#caption-text"))
    assert picture and words and words["y"] >= picture["y"] + picture["height"]
    page.click("#watch .settings summary")
    expect(page.locator("[name=caption-place][value=below]")).to_be_checked()
    page.locator("[name=caption-place][value=bottom]").check()
    expect(page.locator("#frame #caption-text")).to_be_visible()


def test_hold_in_class_shows_a_running_clock(visit: Opener) -> None:
    page = visit(hash_="#t=4.5")
    expect(page.locator("#pace")).to_be_visible()
    expect(page.locator("#pace-word")).to_have_text("Hold")
    to(page, "#t=5.05")
    expect(page.locator("#pace")).to_be_hidden()


def test_counted_breathing_in_class_shows_the_pace(visit: Opener) -> None:
    page = visit("breath", hash_="#t=2.2")
    expect(page.locator("#pace-word")).to_have_text("Breathe in")
    expect(page.locator("#pace-number")).to_have_text("2")
    to(page, "#t=5.2")
    expect(page.locator("#pace-word")).to_have_text("Breathe out")
    expect(page.locator("#pace-number")).to_have_text("3")


def test_link_to_a_moment_opens_there_and_waits(visit: Opener) -> None:
    page = visit(hash_="#t=6.5")
    expect(page.locator("#now-title")).to_have_text("Lip press")
    assert page.evaluate(PAUSED)
    page.click("#link")
    address = page.locator("#link-text").input_value()
    assert address.endswith("#t=6")
    assert page.evaluate("getSelection().toString() || document.getElementById('link-text').selectionEnd") != 0
    to(page, "#chapter=c2")
    page.go_back()
    expect(page.locator("#now-title")).to_have_text("Lip press")


def test_markup_stays_text(page: Page) -> None:
    assert page.locator("main img").count() == 0
    assert page.title() == "Voice and breath class"
    expect(page.locator("[data-open=c3] .name")).to_have_text(f"Long “ah” {MARKUP}")
    for place in ("#chapter=c3", "#set", "#print", "#list"):
        to(page, place)
    page.locator("[data-open=c3] + .pick").click()
    to(page, "#set")
    expect(page.locator("#set-entries")).to_contain_text(MARKUP)
    to(page, "#t=3.8")
    expect(page.locator("#caption-text")).to_have_text("Say ah if 5 < 6 & you like.")
    assert page.locator("img").count() == 0
    assert "broken" not in page.title().replace(MARKUP, "")


def test_nothing_is_fetched_but_the_recording(browser: Browser, folder: Path) -> None:
    with browser.new_context() as context:
        asked: list[str] = []
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.goto((folder / "index.html").as_uri())
        page.click("[data-open=c2]")
        panel(page).wait_for()
        own = {(folder / name).as_uri() for name in ("index.html", "class #1.mp4")}
        assert {url for url in asked if not url.startswith("data:")} <= own
        # The policy refuses what a script might try.
        assert page.evaluate("fetch('http://127.0.0.1:9/').then(() => 'sent', () => 'refused')") == "refused"


def test_page_to_read_works_without_a_player(visit: Opener) -> None:
    page = visit("read")
    page.click("[data-open=c3]")
    expect(page.locator("#beside .words")).to_contain_text("Say ah if 5 < 6 & you like.")
    page.click("#beside .stops button")
    panel(page).wait_for()
    page.click("#p-start")
    page.click("#p-done")
    assert not panel(page).is_visible()


def test_sound_alone_shows_captions_below(visit: Opener) -> None:
    page = visit("sound", hash_="#t=1.5")
    expect(page.locator("#caption-below #caption-text")).to_have_text("Roll your shoulders three times.")
    expect(page.locator("#large")).to_have_count(0)


def test_missing_recording_is_told(visit: Opener) -> None:
    page = visit("lost", hash_="#t=1.5")
    expect(page.locator("#fault")).to_have_text(
        "The recording “not there.mp4” does not play. Keep it in the same folder as this page. "
        "If it is there, try another browser."
    )
