"""How heavy, how soon ready, how exact at stops the lesson page is: ``python -m tests.evaluation.page [--write]``.

``--write`` puts the table into README.md.
"""

from __future__ import annotations

import argparse
import shutil
import statistics
import sys
import tempfile
from pathlib import Path

from playwright.sync_api import Browser, sync_playwright

from segmenter.publish.page.page import render
from tests.browser.conftest import ARGS, film
from tests.browser.sample import long_lesson, stops_lesson
from tests.evaluation.readme import show

READY = "performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"


def main() -> int:
    """Measure, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation.page", description=__doc__)
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    chosen = parser.parse_args()
    program = shutil.which("chromium") or shutil.which("chromium-browser")
    if program is None:
        sys.stderr.write("chromium is needed for this\n")
        return 1
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        folder = Path(name)
        media = film(folder).name
        (folder / "long.html").write_text(render(long_lesson(), media), "utf-8")
        (folder / "stops.html").write_text(render(stops_lesson(), media), "utf-8")
        browser = driver.chromium.launch(executable_path=program, args=ARGS)
        late = lateness(browser, folder)
        rows = [
            (
                "two hours, 60 exercises: page without media",
                f"{(folder / 'long.html').stat().st_size / 1000:.0f} kB",
            ),
            ("it can be used after (median of 5)", f"{readiness(browser, folder):.0f} ms"),
            (f"latest of {len(late)} stops in a row, past its moment", f"{max(late) * 1000:.0f} ms"),
        ]
        browser.close()
    show("page", "lesson page", rows, write=chosen.write)
    return 0


def readiness(browser: Browser, folder: Path) -> float:
    """Milliseconds from the start of opening until every button works."""
    times = []
    for _ in range(5):
        page = browser.new_page()
        page.goto((folder / "long.html").as_uri())
        page.wait_for_selector("body[data-ready=yes]", state="attached")
        times.append(float(page.evaluate(READY)))
        page.close()
    return statistics.median(times)


def lateness(browser: Browser, folder: Path) -> list[float]:
    """Seconds by which the player stands past each stop."""
    page = browser.new_page()
    page.goto((folder / "stops.html").as_uri())
    page.click("[data-open=s1]")
    late = []
    for _ in stops_lesson().chapters[0].practice:
        page.locator("#practice[open]").wait_for()
        late.append(float(page.locator("#media").get_attribute("data-late") or "nan"))
        page.locator("#practice .skip:visible").click()
    return late


if __name__ == "__main__":
    sys.exit(main())
