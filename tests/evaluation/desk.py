"""How quick the review desk is on a class of two hours in sixty chapters: ``python -m tests.evaluation.desk``.

Prints how long the review screen takes until it answers, how long a step of a chapter's start takes from the
press to the new time on the screen, and how long publishing takes after a small change.
"""

from __future__ import annotations

import statistics
import tempfile
import time
from itertools import pairwise
from pathlib import Path

from playwright.sync_api import sync_playwright

from segmenter.edits.journal import Journal
from segmenter.edits.kinds import SetAsked
from segmenter.lesson import Lesson
from segmenter.publishing import republish
from tests.browser.conftest import ARGS
from tests.browser.sample import long_lesson
from tests.lessons import spoken
from tests.review.serving import running, shelved

STEPS = 30
# From the press to the new time on the screen, measured in the page: the driver's own time is left out.
STEP = """
() => new Promise((done) => {
  const shown = () => document.querySelector(".chapter.open .border b").textContent;
  const [before, start] = [shown(), performance.now()];
  document.querySelector(".chapter.open .border button:nth-child(3)").click();
  const look = () => (shown() === before ? setTimeout(look, 1) : done(performance.now() - start));
  look();
})
"""


def two_hours() -> Lesson:
    """Sixty chapters and 18,000 words."""
    lesson = long_lesson()
    words = [
        word for n in range(1800) for word in spoken("hold the sound and breathe out for as long as", n * 4000)
    ]
    made = tuple(
        word.model_copy(update={"end_ms": min(word.end_ms, after.start_ms)}) for word, after in pairwise(words)
    )
    return lesson.model_copy(update={"captions": (), "words": made})


def main() -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name, running(Path(name)) as desk, sync_playwright() as driver:
        folder = shelved(Path(name), "Long", two_hours())
        browser = driver.chromium.launch(executable_path="/usr/bin/chromium", args=ARGS)
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.goto(desk.link)
        opening = []
        for _ in range(3):
            start = time.perf_counter()
            page.goto(f"{desk.origin}/lesson/Long/", wait_until="commit")
            page.wait_for_selector("body[data-ready=yes]")
            opening.append(time.perf_counter() - start)
        page.locator("#paper .title").nth(30).click()
        page.wait_for_selector(".chapter.open .form")
        steps = [page.evaluate(STEP) for _ in range(STEPS)]
        browser.close()
        publishing = []
        for n in range(3):
            Journal(folder).append(SetAsked(at_ms=1000 + n, asked=()))
            start = time.perf_counter()
            republish(folder)
            publishing.append(time.perf_counter() - start)
    print(f"opens in                 {statistics.median(opening):.2f} s (median of 3; first {opening[0]:.2f} s)")
    print(f"a step answers in        {statistics.median(steps):.0f} ms (median of {STEPS}, worst {max(steps):.0f})")
    print(f"publishes a small change {statistics.median(publishing):.2f} s (median of 3)")


if __name__ == "__main__":
    main()
