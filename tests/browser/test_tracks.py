"""A real browser reads the same cues as this project's reader, from good and from broken files."""

from __future__ import annotations

import base64
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser

from segmenter.inspect.rules import Book
from segmenter.inspect.webvtt import read_webvtt
from segmenter.publish.caption_files import vtt as captions_vtt
from segmenter.publish.captions import compose
from segmenter.publish.chapters import vtt as chapters_vtt
from tests.inspect.vtt_cases import CASES
from tests.lessons import AWKWARD, rich_lesson, titled

pytestmark = pytest.mark.browser

READ = """files => Promise.all(files.map(data => new Promise(done => {
  const media = document.createElement("video"), track = document.createElement("track");
  const finish = () => done(Array.from(track.track.cues ?? [], cue => [
    Math.round(cue.startTime * 1000), Math.round(cue.endTime * 1000), cue.getCueAsHTML().textContent]));
  track.onload = finish; track.onerror = () => done([]);
  track.src = "data:text/vtt;base64," + data; track.default = true;
  media.append(track); document.body.append(media); track.track.mode = "hidden";
})))"""


def _read(browser: Browser, files: list[str]) -> list[list[Any]]:
    page = browser.new_page()
    try:
        page.set_content("<!doctype html><title>tracks</title>")
        coded = [base64.b64encode(text.encode()).decode() for text in files]
        found: list[list[Any]] = page.evaluate(READ, coded)
        return found
    finally:
        page.close()


def test_the_browser_gets_the_same_cues(browser: Browser) -> None:
    for case, found in zip(CASES, _read(browser, [case.text for case in CASES]), strict=True):
        # A browser lists cues by time, whatever their order in the file (WHATWG HTML, "text track list of cues").
        assert [tuple(cue) for cue in found] == sorted(case.cues), case.name


def test_the_browser_reads_our_captions_and_chapters(browser: Browser) -> None:
    lesson = rich_lesson()
    lesson = lesson.model_copy(update={"captions": compose(lesson)[0]})
    files = [captions_vtt(lesson), chapters_vtt(titled(AWKWARD))]
    for text, found in zip(files, _read(browser, files), strict=True):
        ours = read_webvtt(Book(Path("x.vtt")), text.encode()).cues
        assert [tuple(cue) for cue in found] == [(c.start_ms, c.end_ms, c.text) for c in ours]
        assert found
