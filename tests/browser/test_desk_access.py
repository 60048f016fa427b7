"""Every state of the desk by the rules of WCAG 2.2 (axe-core), contrast, targets and reflow."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Literal

import pytest
from playwright.sync_api import Page

from tests.browser.measures import low_contrast, small_targets
from tests.browser.test_access import violations
from tests.review.serving import Running

pytestmark = pytest.mark.browser

Window = tuple[Page, Running, Path]


def plain(page: Page) -> None:
    page.wait_for_selector("#checks li")


def opened(page: Page) -> None:
    page.locator("#paper .title").nth(1).click()
    page.locator(".form").wait_for()


def word(page: Page) -> None:
    page.locator(".w").nth(30).click()
    page.locator("#word-bar").wait_for()


def publishing(page: Page) -> None:
    page.locator("#publish-open").click()
    page.get_by_text("Choose which files").click()


def keys(page: Page) -> None:
    page.locator("#keys-open").click()


def changed(page: Page) -> None:
    opened(page)
    page.get_by_label("Called").fill("Another title")
    page.locator(".mine-mark").first.wait_for()
    page.get_by_text("What you changed").click()
    page.get_by_role("button", name="Hide from viewers").click()
    page.locator(".hidden-mark").first.wait_for()


@pytest.mark.parametrize("state", [plain, opened, word, publishing, keys, changed])
def test_the_review_screen_has_no_violation(desk_page: Window, state: Callable[[Page], None]) -> None:
    page, _, _ = desk_page
    state(page)
    assert violations(page) == []
    assert small_targets(page, 24) == []  # WCAG 2.2, 2.5.8: 24 by 24 pixels


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_contrast_is_seven_to_one(desk_page: Window, scheme: Literal["light", "dark"]) -> None:
    page, desk, _ = desk_page
    page.emulate_media(color_scheme=scheme)
    paper = page.evaluate("() => getComputedStyle(document.body).backgroundColor.match(/[0-9.]+/g).map(Number)")
    assert (sum(paper[:3]) < 3 * 128) == (scheme == "dark")
    opened(page)
    word(page)
    assert low_contrast(page) == []
    page.goto(desk.origin)
    page.wait_for_selector(".card")
    assert low_contrast(page) == []


def test_home_has_no_violation(desk_page: Window) -> None:
    page, desk, _ = desk_page
    page.goto(desk.origin)
    page.wait_for_selector(".card")
    assert violations(page) == []


@pytest.mark.parametrize("width", [320, 768])
def test_nothing_runs_over_on_small_screens(desk_page: Window, width: int) -> None:
    """WCAG 2.2, 1.4.10: no scrolling sideways at 320 pixels."""
    page, desk, _ = desk_page
    page.set_viewport_size({"width": width, "height": 800})
    opened(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.goto(desk.origin)
    page.wait_for_selector(".card")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
