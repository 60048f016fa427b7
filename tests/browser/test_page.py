"""The lesson page in a real browser, opened from disk."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.browser.sample import MARKUP

pytestmark = pytest.mark.browser

AT = "document.getElementById('media').currentTime"
PAUSED = "document.getElementById('media').paused"
# Conformance targets of WCAG 2.2 level AA, under the names axe-core gives them (axe-core API documentation).
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


def violations(page: Page) -> list[str]:
    found = Axe().run(page, options={"runOnly": {"type": "tag", "values": TAGS}}).response
    return [f"{rule['id']}: {node['html']}" for rule in found["violations"] for node in rule["nodes"]]


def until(page: Page, condition: str) -> None:
    """Wait for a condition. The driver's own way evaluates text inside the page, which the policy refuses."""
    for _ in range(160):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never came true: {condition}")


def panel(page: Page) -> Any:
    return page.locator("#practice[open]")


def test_player_stops_for_practice_and_waits(page: Page) -> None:
    # HTML standard, "time marches on": up to 250 ms late is allowed for cues.
    page.click("[data-open=c2]")
    for mark, resume in ((2.6, 3.0), (5.2, 5.4), (7.0, 7.2)):
        panel(page).wait_for(timeout=8000)
        assert page.evaluate(PAUSED)
        assert 0 <= page.evaluate(AT) - mark <= 0.25
        page.wait_for_timeout(300)
        assert 0 <= page.evaluate(AT) - mark <= 0.25
        page.locator("#practice .skip:visible").click()
        until(page, f"{AT} >= {resume} && !{PAUSED}")


def test_stops_can_be_turned_off(page: Page) -> None:
    page.click("[data-open=c2]")
    page.click(".settings summary")
    page.uncheck("#auto")
    until(page, f"{AT} > 3.2")
    assert not panel(page).is_visible()
    expect(page.locator("#now-next")).to_contain_text("Time to practise at 0:05")


def test_jumping_over_a_stop_does_not_open_it(page: Page) -> None:
    page.click("[data-open=c2]")
    page.click("#after")
    until(page, f"{AT} > 3.8")
    assert not panel(page).is_visible()
    expect(page.locator("#now-title")).to_have_text(f"Long “ah” {MARKUP}")
    expect(page.locator("#now-dose")).to_contain_text("2 times")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_no_accessibility_fault(page: Page, scheme: Any) -> None:
    page.emulate_media(color_scheme=scheme)
    assert violations(page) == []
    page.evaluate("location.hash = '#chapter=c3'")
    page.click(".settings summary")
    assert violations(page) == []
    page.click(".beside:visible [data-stop='0']")
    panel(page).wait_for()
    assert violations(page) == []
    page.keyboard.press("Escape")
    page.evaluate("location.hash = '#chapter=c4'")
    page.click(".beside:visible [data-stop='0']")
    assert violations(page) == []


def test_whole_way_by_keyboard(page: Page) -> None:
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")  # second exercise plays
    panel(page).wait_for(timeout=8000)
    focused = "document.activeElement.id"
    assert page.evaluate(focused) == "p-title"
    page.keyboard.press("Tab")
    assert page.evaluate(focused) == "hold"
    page.keyboard.press("Enter")
    expect(page.locator("#hold")).to_have_text("Stop")
    expect(page.locator("#p-live")).to_contain_text("Rest", timeout=3000)
    expect(page.locator("#p-figure")).to_have_text("1")
    page.keyboard.press("Tab")
    assert page.evaluate(focused) == "one-more"
    page.keyboard.press("Enter")
    expect(page.locator("#p-live")).to_contain_text("Well done")
    for _ in range(2):
        page.keyboard.press("Tab")
    assert page.evaluate(focused) == "done"
    page.keyboard.press("Enter")
    until(page, f"{AT} > 5.4 && !{PAUSED}")


def test_rounds_are_counted_one_after_the_other(page: Page) -> None:
    page.evaluate("location.hash = '#chapter=c2'")
    page.click(".beside:visible [data-stop='0']")
    for _ in range(3):
        page.click("#one-more")
    expect(page.locator("#done")).not_to_have_class("act")
    page.click("#next-set")
    expect(page.locator("#p-figure")).to_have_text("0")
    for _ in range(3):
        page.click("#one-more")
    expect(page.locator("#done")).to_have_class("act")
    page.click("#one-fewer")
    expect(page.locator("#p-figure")).to_have_text("2")


def test_unstated_number_is_asked_for(page: Page) -> None:
    page.evaluate("location.hash = '#chapter=c4'")
    page.click(".beside:visible [data-stop='0']")
    expect(page.locator("#p-question")).to_have_text("How many would you like to do?")
    expect(page.locator("#p-wish")).to_have_text("Not chosen yet")
    expect(page.locator("#wish-start")).to_be_hidden()
    page.click("#wish-more")
    page.click("#wish-more")
    page.click("#wish-start")
    expect(page.locator("#p-unit")).to_have_text("of 2")


def test_answer_is_hidden_until_asked_for_or_spoken(page: Page) -> None:
    search = page.locator("#q")
    search.fill("elephant")
    expect(page.locator("#found")).to_contain_text("Nothing found")
    assert "Elephant" not in page.locator("main").inner_text()
    page.click("[data-open=c5]")
    expect(page.locator(".beside:visible .answer")).to_have_text("Answer: Elephant", timeout=5000)
    assert page.evaluate(AT) >= 8.4  # not before it was spoken
    page.click(".to-list")
    expect(page.locator("#found")).to_have_text("1 place found")


def test_answer_can_be_asked_for(page: Page) -> None:
    page.evaluate("location.hash = '#chapter=c5'")
    page.click("text=Show the answer")
    expect(page.locator(".beside:visible .answer")).to_have_text("Answer: Elephant")
    assert page.evaluate(PAUSED)


def test_search_hit_and_links_jump(page: Page) -> None:
    page.locator("#q").fill("WELCOME")
    page.click(".hit")
    until(page, f"{AT} >= 0.2 && {AT} < 2")
    page.evaluate("location.hash = '#t=6.5'")
    expect(page.locator("#now-title")).to_have_text("Lip press")


def test_captions_are_on_and_stay_text(page: Page) -> None:
    kept = page.evaluate(
        "(() => { const track = [...document.getElementById('media').textTracks].find(t => t.kind === 'captions');"
        "return [track.mode, track.cues.length, track.cues[2].getCueAsHTML().textContent]; })()"
    )
    assert kept == ["showing", 7, "Say ah if 5 < 6 & you like."]


def test_markup_stays_text(page: Page) -> None:
    assert page.locator("main img").count() == 0
    assert page.title() == "Voice and breath class"
    expect(page.locator("[data-open=c3] .name")).to_have_text(f"Long “ah” {MARKUP}")


def test_nothing_is_fetched_but_the_recording(browser: Browser, folder: Path) -> None:
    with browser.new_context() as context:
        asked: list[str] = []
        page = context.new_page()
        page.on("request", lambda request: asked.append(request.url))
        page.goto((folder / "index.html").as_uri())
        page.click("[data-open=c2]")
        panel(page).wait_for(timeout=8000)
        own = {(folder / name).as_uri() for name in ("index.html", "class #1.mp4")}
        assert {url for url in asked if not url.startswith("data:")} <= own
        # The policy refuses what a script might try.
        assert page.evaluate("fetch('http://127.0.0.1:9/').then(() => 'sent', () => 'refused')") == "refused"


@pytest.mark.parametrize("width", [320, 1280])
def test_page_flows_without_sideways_scrolling(page: Page, width: int) -> None:
    # WCAG 2.2, criterion 1.4.10 (320 px); main controls 48 px, above its criterion 2.5.5 (44 px).
    page.set_viewport_size({"width": width, "height": 640})
    for place in ("#list", "#chapter=c3", "#chapter=c5"):
        page.evaluate(f"location.hash = '{place}'")
        page.wait_for_timeout(50)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        sizes = page.evaluate(
            "[...document.querySelectorAll('button, summary')].filter(b => b.offsetParent)"
            ".map(b => [b.offsetWidth, b.offsetHeight, b.scrollWidth - b.clientWidth])"
        )
        assert all(wide >= 48 and high >= 48 and over <= 0 for wide, high, over in sizes), (place, sizes)


def test_text_contrast_is_seven_to_one(page: Page) -> None:
    # WCAG 2.2, criterion 1.4.6, with the relative luminance of its glossary.
    def luminance(colour: str) -> float:
        parts = [int(colour[n : n + 2], 16) / 255 for n in (1, 3, 5)]
        r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
        return 0.2126 * r + 0.7152 * g + 0.0722 * b

    def contrast(one: str, two: str) -> float:
        low, high = sorted((luminance(one), luminance(two)))
        return (high + 0.05) / (low + 0.05)

    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)
        names = ["paper", "sheet", "ink", "soft", "do", "on-do", "care", "care-paper", "line"]
        read = "n => getComputedStyle(document.documentElement).getPropertyValue('--' + n).trim()"
        colour = {name: page.evaluate(read, name) for name in names}
        assert all(re.fullmatch("#[0-9a-f]{6}", value) for value in colour.values())
        pairs = [("ink", "paper"), ("ink", "sheet"), ("soft", "paper"), ("soft", "sheet"), ("do", "paper")]
        pairs += [("on-do", "do"), ("care", "care-paper"), ("ink", "care-paper"), ("soft", "care-paper")]
        assert {
            pair: contrast(colour[pair[0]], colour[pair[1]])
            for pair in pairs
            if contrast(colour[pair[0]], colour[pair[1]]) < 7
        } == {}
        assert min(contrast(colour["line"], colour[back]) for back in ("paper", "sheet")) >= 3  # criterion 1.4.11


def test_page_to_read_works_without_a_player(browser: Browser, folder: Path) -> None:
    with browser.new_context() as context:
        page = context.new_page()
        page.goto((folder / "read.html").as_uri())
        page.click("[data-open=c3]")
        expect(page.locator(".beside:visible .words")).to_contain_text("Say ah if 5 < 6 & you like.")
        page.click(".beside:visible [data-stop='0']")
        panel(page).wait_for()
        page.click("#done")
        assert violations(page) == []


def test_print_shows_every_exercise(page: Page) -> None:
    page.emulate_media(media="print")
    shown = page.locator("main").inner_text()
    for words in (
        "Shoulder rolls",
        "Lip press",
        "No number was said",
        "Keep the voice easy.",
        "your own clinician",
    ):
        assert words in shown
    assert "Elephant" not in shown
