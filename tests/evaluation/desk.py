"""How quick and how safe the review desk is: ``python -m tests.evaluation.desk [--kills 20] [--write]``.

Measures on a class of two hours in sixty chapters how long the review screen takes until it answers, how long a
step of a chapter's start takes from the press to the new time on the screen, and how long publishing takes after
a small change, there and in a class of one hour; each also in processor time of desk and page together, which other
programs do not change. Mends ten planted faults and counts the actions. Kills the desk's process again and again,
half of the times while somebody types and half while publishing, and looks whether anything was lost.
"""

from __future__ import annotations

import argparse
import statistics
import tempfile
import time
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path

from playwright.sync_api import Browser, CDPSession, Page, expect, sync_playwright

from segmenter.edits.journal import Journal
from segmenter.edits.kinds import Edit, ReplaceWords, Retitle, SetAsked
from segmenter.lesson import Lesson
from segmenter.publishing import republish
from tests.browser.conftest import ARGS
from tests.browser.killing import Victim
from tests.browser.sample import long_lesson
from tests.browser.task import mend, with_ten_faults
from tests.evaluation.readme import put
from tests.lessons import spoken
from tests.review.serving import Running, running, shelved

README = Path(__file__).parents[2] / "README.md"
STEPS, TURNS = 30, 3
SAID = ("hold", "sound", "breathe")
"""A word for each turn: one that was changed before is not there any more."""
PATIENCE_MS = 300_000
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
Row = tuple[str, str, str]


def hours(count: int) -> Lesson:
    """One hour or two, with thirty chapters and 9,000 words an hour."""
    lesson = long_lesson()
    words = [
        word for n in range(1800) for word in spoken("hold the sound and breathe out for as long as", n * 4000)
    ]
    made = [word.model_copy(update={"end_ms": min(word.end_ms, after.start_ms)}) for word, after in pairwise(words)]
    chapters = lesson.chapters[: 30 * count]
    end = chapters[-1].end_ms
    recording = lesson.recording.model_copy(update={"seconds": end / 1000})
    said = tuple(word for word in made if word.end_ms <= end)
    return lesson.model_copy(update={"captions": (), "words": said, "chapters": chapters, "recording": recording})


class Work:
    """Processor time of this process, in which the desk runs, and of a page's main thread."""

    def __init__(self, session: CDPSession) -> None:
        self._session = session
        session.send("Performance.enable")
        self.start()

    def _page(self) -> float:
        rows = self._session.send("Performance.getMetrics")["metrics"]
        return float(next(row["value"] for row in rows if row["name"] == "TaskDuration"))

    def start(self) -> None:
        """Begin to measure."""
        self._from = (time.process_time(), self._page())

    def taken(self) -> float:
        """Seconds since `start`."""
        return time.process_time() - self._from[0] + self._page() - self._from[1]


def opening(page: Page, desk: Running) -> Row:
    """How long the review screen takes until it answers."""
    work = Work(page.context.new_cdp_session(page))
    clock, processor = [], []
    for _ in range(TURNS):
        work.start()
        start = time.perf_counter()
        page.goto(f"{desk.origin}/lesson/Long/", wait_until="commit")
        page.wait_for_selector("body[data-ready=yes]")
        clock.append(time.perf_counter() - start)
        processor.append(work.taken())
    return "opens in", f"{statistics.median(clock):.2f} s", f"{statistics.median(processor):.2f} s"


def stepping(page: Page) -> Row:
    """How long a step of a chapter's start takes."""
    page.locator("#paper .title").nth(30).click()
    page.wait_for_selector(".chapter.open .form")
    page.wait_for_timeout(3_000)  # captions of two hours are made meanwhile, once
    work = Work(page.context.new_cdp_session(page))
    steps = [float(page.evaluate(STEP)) for _ in range(STEPS)]
    processor = work.taken() / STEPS
    words = f"a step of a chapter's start answers in (median of {STEPS})"
    return words, f"{statistics.median(steps):.0f} ms", f"{processor * 1000:.0f} ms"


def publishing(folder: Path, words: str, edit: Callable[[int], Edit]) -> Row:
    """How long publishing takes after a small change."""
    clock, processor = [], []
    for n in range(TURNS):
        Journal(folder).append(edit(n))
        start, used = time.perf_counter(), time.process_time()
        republish(folder)
        clock.append(time.perf_counter() - start)
        processor.append(time.process_time() - used)
    return words, f"{statistics.median(clock):.2f} s", f"{statistics.median(processor):.2f} s"


def speed(browser: Browser, lessons: Path) -> list[Row]:
    """Measure the class of two hours."""
    with running(lessons) as desk:
        folder = shelved(lessons, "Long", hours(2))
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.set_default_timeout(PATIENCE_MS)
        page.goto(desk.link)
        rows = [opening(page, desk), stepping(page)]
        page.close()
    short = shelved(lessons, "Short", hours(1))
    dose, title, word = (
        lambda n: SetAsked(at_ms=n, asked=()),
        lambda n: Retitle(at_ms=n, title=f"Title {n}"),
        lambda n: ReplaceWords(at_ms=0, was=SAID[n], text=f"h{n}"),
    )
    return [
        *rows,
        publishing(folder, "publishes again after a dose changed in", dose),
        publishing(folder, "after a title changed in", title),
        publishing(folder, "after a word changed throughout in", word),
        publishing(short, "one hour: publishes again after a dose changed in", dose),
        publishing(short, "one hour: after a title changed in", title),
        publishing(short, "one hour: after a word changed throughout in", word),
    ]


def task(browser: Browser, lessons: Path) -> Row:
    """Mend the ten planted faults."""
    with running(lessons) as desk:
        shelved(lessons, "Tuesday", with_ten_faults())
        page = browser.new_page(viewport={"width": 1440, "height": 900})
        page.set_default_timeout(PATIENCE_MS)
        page.goto(desk.link)
        page.goto(f"{desk.origin}/lesson/Tuesday/")
        page.wait_for_selector("body[data-ready=yes]")
        actions = mend(page)
        page.close()
    return "ten planted faults mended, and published", f"{actions} actions", ""


def kills(browser: Browser, lessons: Path, count: int) -> list[Row]:
    """Kill the desk; whoever loses anything ends this with an error."""
    if not count:
        return []
    with Victim(browser, lessons) as victim:
        for number in range(count // 2):
            victim.while_editing(number)
        longest = victim.time_to_publish()
        new = sum(victim.while_publishing(number, longest) for number in range(count - count // 2))
    return [
        ("killed (`kill -9`) while somebody types, texts lost", f"0 of {count // 2}", ""),
        (
            f"killed while publishing ({new} times the new files had come), folders of mixed files",
            f"0 of {count - count // 2}",
            "",
        ),
    ]


def main() -> None:
    """Measure and print."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--kills", type=int, default=20)
    asked.add_argument("--write", action="store_true", help="put the table into README.md")
    given = asked.parse_args()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path="/usr/bin/chromium", args=ARGS)
        expect.set_options(timeout=PATIENCE_MS)
        root = Path(name)
        rows = [*speed(browser, root / "a"), task(browser, root / "b"), *kills(browser, root / "c", given.kills)]
        browser.close()
    lines = ["| two hours in 60 chapters, at the desk | measured | in processor time |", "| --- | ---: | ---: |"]
    table = "\n".join([*lines, *(f"| {words} | {clock} | {used} |" for words, clock, used in rows)])
    print(table)
    if given.write:
        put(README, "desk", table)


if __name__ == "__main__":
    main()
