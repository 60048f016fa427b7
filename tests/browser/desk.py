"""The example class on the desk: its words come from its own script, so that no recogniser is needed."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page

from segmenter.edits.journal import active, read_entries
from segmenter.edits.kinds import Edit
from segmenter.times import ms_from_seconds, stamp
from tests.review.serving import Running

EXAMPLE = "voice-and-swallow-class"
MEDIA = Path(__file__).parents[2] / "examples" / f"{EXAMPLE}.mp4"
TRUTH = MEDIA.with_suffix(".truth.json")


def example_words(folder: Path) -> Path:
    """Write the sentences of the example's script as captions."""
    rows = json.loads(TRUTH.read_text(encoding="utf-8"))["sentences"]
    cues = [
        f"{stamp(ms_from_seconds(row['start']))} --> {stamp(ms_from_seconds(row['end']))}\n{row['text']}"
        for row in rows
    ]
    made = folder / f"{EXAMPLE}.vtt"
    made.write_text("WEBVTT\n\n" + "\n\n".join(cues) + "\n", encoding="utf-8")
    return made


def enter(context: BrowserContext, desk: Running, faults: list[str]) -> Page:
    """Open the desk by its link; errors on its pages are noted."""
    page = context.new_page()
    page.set_default_timeout(60_000)
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on("console", lambda m: faults.append(m.text) if m.type == "error" else None)
    page.goto(desk.link)
    page.wait_for_selector("body[data-ready=yes]")
    return page


def add_example(page: Page, folder: Path) -> None:
    """Hand the example and its words to the home page, and wait until it is ready."""
    page.set_input_files("#file", [MEDIA, example_words(folder)])
    page.wait_for_selector(".job.working .stages .here")
    page.get_by_role("link", name="Check the lesson").wait_for(timeout=600_000)


def review(page: Page, desk: Running, name: str) -> None:
    page.goto(f"{desk.origin}/lesson/{name}/")
    page.wait_for_selector("body[data-ready=yes]")


def edits(folder: Path) -> list[Edit]:
    return active(read_entries(folder / "edits.json"))


def wait(page: Page, done: Callable[[], bool], what: str) -> None:
    """Wait until something is true outside the page."""
    for _ in range(2400):  # as patient as a busy machine needs
        if done():
            return
        page.wait_for_timeout(50)
    pytest.fail(f"never came true: {what}")


def saved(page: Page, folder: Path, do: str, count: int = 1) -> Edit:
    """Wait until an edit of this kind is on the disk, and return the newest."""
    wait(page, lambda: sum(edit.do == do for edit in edits(folder)) == count, f"{count} times {do}")
    return [edit for edit in edits(folder) if edit.do == do][-1]
