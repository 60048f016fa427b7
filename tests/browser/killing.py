"""The desk as a process of its own, killed without warning while a person edits or publishes in a browser."""

from __future__ import annotations

import json
import random
import re
import subprocess
import sys
from pathlib import Path

from playwright.sync_api import Browser, BrowserContext, Page, expect

from segmenter.edits.journal import active, read_entries
from segmenter.publish.page.pack import unpack
from tests.browser.desk import wait
from tests.lessons import rich_lesson
from tests.review.serving import shelved

LESSON = "Voice"


class DeskProcess:
    """``segmenter desk`` as a user starts it; `start` again after `kill` takes the same place."""

    def __init__(self, lessons: Path) -> None:
        self.lessons = lessons
        self.port = 0
        self._process: subprocess.Popen[str] | None = None

    def start(self) -> str:
        """Start the desk and return its link."""
        command = [sys.executable, "-m", "segmenter", "desk", str(self.lessons), "--no-browser"]
        command += ["--port", str(self.port)]
        self._process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        assert self._process.stdout is not None
        for line in self._process.stdout:
            if found := re.search(r"http://\S+:(\d+)/open\?key=\S+", line):
                self.port = int(found[1])
                return found[0]
        raise AssertionError("the desk did not start")

    def kill(self) -> None:
        """End it as ``kill -9`` does."""
        assert self._process is not None
        self._process.kill()
        self._process.wait()
        assert self._process.stdout is not None
        self._process.stdout.close()


class Victim:
    """A lesson, its desk and a browser; each round ends in a kill and looks what is left."""

    def __init__(self, browser: Browser, lessons: Path, seed: int = 7) -> None:
        self.folder = shelved(lessons, LESSON, rich_lesson())
        self.desk = DeskProcess(lessons)
        self.chance = random.Random(seed)
        self.titles: list[str] = []
        self.context: BrowserContext = browser.new_context()
        self.context.set_default_timeout(60_000)
        page = self.context.new_page()
        page.goto(self.desk.start())
        page.wait_for_selector("body[data-ready=yes]")
        page.close()
        self.page = self.window()

    def __enter__(self) -> Victim:
        return self

    def __exit__(self, *_: object) -> None:
        self.desk.kill()
        self.context.close()

    def window(self) -> Page:
        """A window with the second chapter open."""
        page = self.context.new_page()
        page.goto(f"http://127.0.0.1:{self.desk.port}/lesson/{LESSON}/")
        page.wait_for_selector("body[data-ready=yes]")
        page.locator("#paper .title").nth(1).click()
        page.get_by_label("Called").wait_for()
        return page

    def title(self) -> str:
        """The title of the second chapter as it is on the disk."""
        edits = [edit for edit in active(read_entries(self.folder / "edits.json")) if edit.do == "retitle"]
        return str(edits[-1].title) if edits else ""

    def while_editing(self, number: int) -> None:
        """Type, be killed in the middle of it, type on, and close the window before the desk is back."""
        field = self.page.get_by_label("Called")
        field.fill("")
        field.press_sequentially(f"Round {number} before", delay=self.chance.uniform(5, 60))
        self.page.wait_for_timeout(self.chance.uniform(0, 1500))
        self.desk.kill()
        field.press_sequentially(" and after", delay=self.chance.uniform(5, 60))
        wanted = field.input_value()
        assert wanted == f"Round {number} before and after"
        self.page.wait_for_timeout(1000)  # what was typed before the last second must be there
        self.page.close()
        self.desk.start()
        self.page = self.window()
        wait(self.page, lambda: self.title() == wanted, f"“{wanted}” on the disk")
        expect(self.page.locator("#paper .title").nth(1)).to_have_text(wanted)

    def while_publishing(self, number: int, longest_ms: float) -> bool:
        """Publish and be killed at some moment of it; return whether the new files had already come."""
        new = f"Published {number}."
        self.titles.append(new)
        self.publish(new)
        self.page.wait_for_timeout(self.chance.uniform(0, longest_ms))
        self.desk.kill()
        self.desk.start()
        assert self.title() == new
        found = {name: {one for one in self.titles if one in text} for name, text in self.files().items()}
        assert len(set(map(frozenset, found.values()))) == 1, f"files of different publishings: {found}"
        (published,) = found["lesson.json"]
        assert not list(self.folder.glob(".work/publish.*"))
        return published == new

    def publish(self, title: str) -> None:
        """Change the title and press “Publish now”."""
        self.page.keyboard.press("Escape")
        self.page.get_by_label("Called").fill(title)
        wait(self.page, lambda: self.title() == title, "the title on the disk")
        self.page.locator("#publish-open").click()
        self.page.locator("#publish-go").click()

    def files(self) -> dict[str, str]:
        """The texts of published files in which the chapter's title stands, by name."""
        names = ("lesson.json", "chapters.txt", "chapters.vtt", "chapters.json", "transcript.html", "upload.txt",
                 "sheet.csv", "timeline.svg")  # fmt: skip
        texts = {name: (self.folder / name).read_text(encoding="utf-8") for name in names}
        packed = re.search(r'id="data"[^>]*>([^<]+)<', (self.folder / "index.html").read_text(encoding="utf-8"))
        assert packed is not None
        return {**texts, "index.html": json.dumps(unpack(packed[1]), ensure_ascii=False)}

    def time_to_publish(self) -> float:
        """Milliseconds that publishing takes from the press to the word that it is done."""
        self.titles = ["Published at leisure."]
        self.publish(self.titles[0])
        start = self.page.evaluate("() => performance.now()")
        expect(self.page.locator("#publish-said")).to_contain_text("published", timeout=120_000)
        return float(self.page.evaluate("() => performance.now()")) - float(start)
