"""A two-hour class of sixty exercises opens as easily as a short one, and weighs little."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.conftest import Opener

pytestmark = pytest.mark.browser

READY = "performance.getEntriesByType('navigation')[0].domContentLoadedEventEnd"


def test_two_hours_open_as_easily_as_ten_seconds(visit: Opener) -> None:
    long, short = visit("long"), visit()
    assert long.locator("#entries .row").count() == 60
    # Work at opening grows with exercises, not with the hours of talk.
    nodes = "document.querySelectorAll('*').length"
    assert long.evaluate(nodes) <= short.evaluate(nodes) + 60 * 30
    assert (
        long.evaluate("[...document.getElementById('media').textTracks].flatMap(t => [...t.cues ?? []]).length")
        == 60
    )
    assert long.evaluate(READY) <= 12 * short.evaluate(READY)


def test_two_hours_weigh_less_than_300_kb(folder: Path) -> None:
    assert (folder / "long.html").stat().st_size < 300_000


def test_packed_data_opens_to_the_very_text(visit: Opener) -> None:
    # The browser's own unpacking is the judge of the page's.
    page = visit("long")
    both = page.evaluate(
        """async () => {
          const packed = document.getElementById("data");
          const bytes = Uint8Array.from(atob(packed.textContent.trim()), (c) => c.charCodeAt(0));
          const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"));
          const judge = JSON.parse(await new Response(stream).text());
          document.getElementById("q").value = "number 59";
          document.getElementById("search").requestSubmit();
          return [judge.lesson.captions.length, judge.lesson.chapters[59].title,
            document.querySelector(".hit span:nth-child(2)").textContent];
        }"""
    )
    assert both == [1800, "Exercise number 59 with a usual title", "Exercise number 59 with a usual title"]
