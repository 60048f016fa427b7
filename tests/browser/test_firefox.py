"""The lesson page in a browser with another engine: it opens, halts, counts, and keeps the rules there, too."""

from __future__ import annotations

import subprocess
from collections.abc import Iterator
from importlib.resources import files
from pathlib import Path

import axe_playwright_python
import imageio_ffmpeg
import pytest

from segmenter.publish.page.page import render
from tests.browser.firefox import Firefox, firefox
from tests.browser.measures import CONTRAST, TARGETS
from tests.browser.sample import MARKUP, long_lesson, sample_lesson, stops_lesson
from tests.browser.test_access import TAGS

pytestmark = pytest.mark.browser

MEDIA = "document.getElementById('media')"
ENTER = "\ue007"  # W3C WebDriver, "keyboard actions": normalised key values
TAB = "\ue004"


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Pages beside a film in open codecs, which every build of Firefox plays."""
    folder = tmp_path_factory.mktemp("firefox")
    made = folder / "class #1.webm"
    source = ["-f", "lavfi", "-i", "testsrc2=size=320x180:rate=25:duration=10"]
    source += ["-f", "lavfi", "-i", "sine=frequency=220:duration=10"]
    coding = ["-c:v", "libvpx", "-deadline", "realtime", "-cpu-used", "8", "-c:a", "libopus", "-shortest"]
    program = imageio_ffmpeg.get_ffmpeg_exe()
    subprocess.run([program, "-nostdin", "-v", "error", *source, *coding, str(made)], check=True)
    for name, lesson in (("index", sample_lesson()), ("stops", stops_lesson()), ("long", long_lesson())):
        (folder / f"{name}.html").write_text(render(lesson, made.name), "utf-8")
    return folder


@pytest.fixture(scope="module")
def window(pages: Path) -> Iterator[Firefox]:
    with firefox() as opened:
        yield opened


def visit(window: Firefox, pages: Path, name: str = "index", hash_: str = "") -> None:
    window.size(768, 1024)
    window("WebDriver:Navigate", url="about:blank")  # else a new place alone would not open the page anew
    window.open((pages / f"{name}.html").as_uri() + hash_)
    window.run("localStorage.clear()")


def practise(window: Firefox, chapter: str) -> None:
    window.run(f"location.hash = '#chapter={chapter}'")
    window.until("document.querySelector('#beside .stops button')")
    window.click("#beside .stops button")
    window.until("document.querySelector('#practice[open]')")


def violations(window: Firefox) -> list[str]:
    script = files(axe_playwright_python).joinpath("axe.min.js").read_text("utf-8")
    options = {"runOnly": {"type": "tag", "values": TAGS}, "rules": {"target-size": {"enabled": True}}}
    found = window(
        "WebDriver:ExecuteAsyncScript",
        script=f"{script};\nconst [options, done] = arguments; axe.run(document, options).then(done, done);",
        args=[options],
    )
    assert len(found["passes"]) > 5
    return [f"{rule['id']}: {node['html']}" for rule in found["violations"] for node in rule["nodes"]]


def test_every_stop_halts_within_a_quarter_second(window: Firefox, pages: Path) -> None:
    visit(window, pages, "stops")
    window.click("[data-open=s1]")
    late = []
    for at in range(500, 9500, 450):
        window.until(f"document.querySelector('#practice[open]') && {MEDIA}.paused")
        late.append(abs(window.run(f"return {MEDIA}.currentTime") - at / 1000))
        late.append(float(window.run(f"return {MEDIA}.dataset.late")))
        window.click("#practice #p-ready .skip")
    assert len(late) == 40
    assert max(late) <= 0.25


def test_class_waits_counts_and_goes_on_by_keyboard_alone(window: Firefox, pages: Path) -> None:
    visit(window, pages, hash_="#t=2.3")
    window.run("document.getElementById('play').focus()")
    window.press(ENTER)
    window.until("document.querySelector('#practice[open]')")
    for _ in range(12):
        if window.run("return document.activeElement.id") == "p-start":
            break
        window.press(TAB)
    window.press(ENTER)
    for _ in range(3):
        window.press(ENTER)  # the focus is on what to do now
    window.until("document.getElementById('p-line').textContent.startsWith('3 of 3 done')")
    assert window.run("return document.getElementById('p-figure').textContent") == "3"
    window.click("#p-done")
    window.until(f"{MEDIA}.currentTime >= 3 && !{MEDIA}.paused")
    window.run(f"{MEDIA}.pause()")


def test_captions_and_markup(window: Firefox, pages: Path) -> None:
    visit(window, pages, hash_="#t=4.2")
    window.until("!document.getElementById('caption-text').hidden")
    assert window.run("return document.getElementById('caption-text').textContent") == "Say ah if 5 < 6 & you like."
    assert MARKUP in window.run("return document.getElementById('now-title').textContent")
    assert window.run("return document.title !== 'broken' && !document.querySelector('[onerror]')")


@pytest.mark.parametrize("state", ["list", "watch", "practice", "set", "paper"])
def test_state_keeps_the_rules(window: Firefox, pages: Path, state: str) -> None:
    visit(window, pages)
    if state == "watch":
        window.run("location.hash = '#t=4.5'")
        window.click("#watch .settings summary")
    elif state == "practice":
        practise(window, "c3")
        window.click("#p-start")
    elif state == "set":
        window.click("[data-open=c2] + .pick")
        window.run("location.hash = '#set'")
    elif state == "paper":
        window.run("location.hash = '#print'")
    assert violations(window) == []
    measured = window.run(f"return ({CONTRAST})()")
    assert measured["texts"] > 3
    assert measured["found"] == []
    for width, height in ((768, 1024), (1920, 1080)):
        window.size(width, height)
        assert window.run("return document.documentElement.scrollWidth <= innerWidth")
        targets = window.run(f"return ({TARGETS})()")
        assert [t for t in targets if min(t["wide"], t["high"]) < 48 or t["over"] > 1] == []


def test_two_hours_open_with_all_their_chapters(window: Firefox, pages: Path) -> None:
    visit(window, pages, "long")
    assert window.run("return document.querySelectorAll('#entries .row').length") == 60
