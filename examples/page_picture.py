"""Photograph page and desk of the example for README: ``python examples/page_picture.py LESSON_FOLDER``."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

MOMENT = 166.4
"""Seconds: a hold is running, and a stop is near."""
OPEN = "Hard swallow"
"""The chapter that is open at the desk."""


def lesson_page(browser: Browser, folder: Path, target: Path) -> None:
    """The page of a viewer, in the middle of a hold."""
    page = browser.new_page(viewport={"width": 1280, "height": 860})
    page.goto(f"{(folder / 'index.html').resolve().as_uri()}#t={MOMENT}")
    page.wait_for_selector("body[data-ready=yes]")
    page.wait_for_timeout(1500)  # until the film shows the moment
    page.screenshot(path=target)


def desk_page(browser: Browser, folder: Path, target: Path) -> None:
    """The desk of a clinician, with one chapter open; the lesson is copied, so that nothing in it changes."""
    with tempfile.TemporaryDirectory() as shelf:
        shutil.copytree(folder, Path(shelf) / "Voice and swallow class")
        command = [sys.executable, "-m", "segmenter", "desk", shelf, "--no-browser", "--port", "0"]
        desk = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
        try:
            said = iter(desk.stdout or ())
            link = next(found[0] for line in said if (found := re.search(r"http://\S+", line)))
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            page.goto(link)
            page.goto(link.partition("/open")[0] + "/lesson/Voice%20and%20swallow%20class/")
            page.wait_for_selector("body[data-ready=yes]")
            page.locator("#paper .title", has_text=OPEN).click()
            page.wait_for_selector(".chapter.open .form")
            page.wait_for_timeout(2500)  # until captions and the film are there
            page.screenshot(path=target)
        finally:
            desk.terminate()
            desk.wait()


def main(folder: Path, here: Path) -> None:
    """Make both pictures."""
    with sync_playwright() as driver:
        program = shutil.which("chromium") or shutil.which("chromium-browser")
        browser = driver.chromium.launch(executable_path=program, args=["--no-sandbox", "--disable-gpu"])
        lesson_page(browser, folder, here / "lesson-page.png")
        desk_page(browser, folder, here / "desk-page.png")
        browser.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(__file__).parent)
