"""Photograph the lesson page of the example for README: ``python examples/page_picture.py LESSON_FOLDER``."""

from __future__ import annotations

import shutil
import sys
from pathlib import Path

from playwright.sync_api import sync_playwright

MOMENT = 166.4
"""Seconds: a hold is running, and a stop is near."""


def main(folder: Path, target: Path) -> None:
    with sync_playwright() as driver:
        program = shutil.which("chromium") or shutil.which("chromium-browser")
        browser = driver.chromium.launch(executable_path=program, args=["--no-sandbox", "--disable-gpu"])
        page = browser.new_page(viewport={"width": 1280, "height": 860})
        page.goto(f"{(folder / 'index.html').resolve().as_uri()}#t={MOMENT}")
        page.wait_for_selector("body[data-ready=yes]")
        page.wait_for_timeout(1500)  # until the film shows the moment
        page.screenshot(path=target)
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(__file__).with_name("lesson-page.png"))
