"""Small steps that several browser tests take."""

from __future__ import annotations

import pytest
from playwright.sync_api import Locator, Page

AT = "document.getElementById('media').currentTime"
PAUSED = "document.getElementById('media').paused"
FOCUSED = "document.activeElement.id"


def until(page: Page, condition: str) -> None:
    """Wait for a condition. The driver's own way evaluates text inside the page, which the policy refuses."""
    for _ in range(750):
        if page.evaluate(condition):
            return
        page.wait_for_timeout(40)
    pytest.fail(f"never came true: {condition}")


def panel(page: Page) -> Locator:
    return page.locator("#practice[open]")


def to(page: Page, place: str) -> None:
    page.evaluate(f"location.hash = '{place}'")
    page.wait_for_timeout(60)


def practise(page: Page, chapter: str) -> None:
    """Open the practice of a chapter by hand, without playing."""
    to(page, f"#chapter={chapter}")
    page.click("#beside .stops button")
    panel(page).wait_for()
