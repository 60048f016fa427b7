"""A real browser, and a lesson folder made for it."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import imageio_ffmpeg
import pytest
from playwright.sync_api import Browser, Page, sync_playwright

from segmenter.publish.page.page import render
from tests.browser.sample import sample_lesson

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


@pytest.fixture(scope="session")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A lesson folder with a ten-second film; its name needs quoting in a link."""
    made = tmp_path_factory.mktemp("lesson")
    source = ["-f", "lavfi", "-i", "testsrc2=size=320x180:rate=25:duration=10"]
    source += ["-f", "lavfi", "-i", "sine=frequency=220:duration=10"]
    coding = ["-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p", "-c:a", "aac", "-shortest"]
    film = made / "class #1.mp4"
    program = imageio_ffmpeg.get_ffmpeg_exe()
    subprocess.run([program, "-nostdin", "-v", "error", *source, *coding, str(film)], check=True)
    (made / "index.html").write_text(render(sample_lesson(), film.name), "utf-8")
    (made / "read.html").write_text(render(sample_lesson(), None), "utf-8")
    return made


@pytest.fixture
def page(browser: Browser, folder: Path) -> Iterator[Page]:
    """The lesson page as opened by a double-click, at the width of a small tablet."""
    with browser.new_context(viewport={"width": 768, "height": 1024}) as context:
        opened = context.new_page()
        faults: list[str] = []
        opened.on("pageerror", lambda error: faults.append(str(error)))
        opened.on("console", lambda line: faults.append(line.text) if line.type == "error" else None)
        opened.goto((folder / "index.html").as_uri())
        opened.wait_for_selector("body[data-ready=yes]", timeout=5000)
        yield opened
        assert faults == []
