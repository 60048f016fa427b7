"""A real browser, and a lesson folder made for it."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import imageio_ffmpeg
import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from segmenter.publish.page.page import render
from tests.browser.desk import EXAMPLE, add_example, enter, review
from tests.browser.sample import (
    breath_lesson,
    hidden_lesson,
    long_lesson,
    sample_lesson,
    stops_lesson,
    unstopped_lesson,
)
from tests.review.serving import Running, running

expect.set_options(timeout=30_000)  # as patient as the driver itself: a busy machine is no fault of the page

ARGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
    "--autoplay-policy=user-gesture-required",
]  # fmt: skip


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    program = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)
    if program is None:
        if os.environ.get("SEGMENTER_REQUIRE_BROWSER") == "1":
            pytest.fail("no chromium on this machine, and SEGMENTER_REQUIRE_BROWSER=1 asks for one")
        pytest.skip("no chromium on this machine")
    with sync_playwright() as driver:
        running = driver.chromium.launch(executable_path=program, args=ARGS)
        yield running
        running.close()


def film(folder: Path) -> Path:
    """Make a film of ten seconds; its name needs quoting in a link."""
    source = ["-f", "lavfi", "-i", "testsrc2=size=320x180:rate=25:duration=10"]
    source += ["-f", "lavfi", "-i", "sine=frequency=220:duration=10"]
    coding = ["-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p", "-c:a", "aac", "-shortest"]
    made = folder / "class #1.mp4"
    program = imageio_ffmpeg.get_ffmpeg_exe()
    subprocess.run([program, "-nostdin", "-v", "error", *source, *coding, str(made)], check=True)
    return made


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every kind of page, beside one film."""
    made = tmp_path_factory.mktemp("lesson")
    name = film(made).name
    sound = sample_lesson()
    sound = sound.model_copy(update={"recording": sound.recording.model_copy(update={"video": None})})
    pages = {
        "index": render(sample_lesson(), name),
        "read": render(sample_lesson(), None),
        "sound": render(sound, name),
        "german": render(sample_lesson(), name, "de"),
        "breath": render(breath_lesson(), name),
        "stops": render(stops_lesson(), name),
        "hidden": render(hidden_lesson(), name),
        "unstopped": render(unstopped_lesson(), name),
        "long": render(long_lesson(), name),
        "lost": render(sample_lesson(), "not there.mp4"),
    }
    for page_name, text in pages.items():
        (made / f"{page_name}.html").write_text(text, "utf-8")
    return made


Opener = Callable[..., Page]
MORNING = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@pytest.fixture
def visit(browser: Browser, folder: Path) -> Iterator[Opener]:
    """Open a page of the folder as by a double-click; errors on it fail the test."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def open_page(name: str = "index", *, hash_: str = "", still: bool = False, **options: Any) -> Page:
        context = browser.new_context(**{"viewport": {"width": 768, "height": 1024}, **options})
        contexts.append(context)
        opened = context.new_page()
        opened.on("pageerror", lambda error: faults.append(str(error)))
        lost = "ERR_FILE_NOT_FOUND"
        opened.on("console", lambda m: faults.append(m.text) if m.type == "error" and lost not in m.text else None)
        if still:
            opened.clock.install(time=MORNING)
        opened.goto((folder / f"{name}.html").as_uri() + hash_)
        opened.wait_for_selector("body[data-ready=yes]")
        if still:  # from here on time passes only when a test says so
            opened.clock.pause_at(MORNING + timedelta(minutes=1))
        return opened

    yield open_page
    for context in contexts:
        context.close()
    assert faults == []


@pytest.fixture
def page(visit: Opener) -> Page:
    """The lesson page at the width of a small tablet."""
    return visit()


@pytest.fixture(scope="session")
def example_desk(browser: Browser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Running, Path]]:
    """A desk to which the example was added through its home page, and the lesson's folder."""
    root = tmp_path_factory.mktemp("desk")
    with running(root / "lessons") as desk:
        context = browser.new_context()
        faults: list[str] = []
        add_example(enter(context, desk, faults), root)
        context.close()
        assert faults == []
        yield desk, root / "lessons" / EXAMPLE


@pytest.fixture
def desk_page(browser: Browser, example_desk: tuple[Running, Path]) -> Iterator[tuple[Page, Running, Path]]:
    """A window on a fresh copy of the example's lesson; errors on its pages fail the test."""
    desk, source = example_desk
    fresh = source.with_name(f"copy {len(list(source.parent.iterdir()))}")
    shutil.copytree(source, fresh)
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    faults: list[str] = []
    page = enter(context, desk, faults)
    review(page, desk, fresh.name)
    yield page, desk, fresh
    context.close()
    assert faults == []
