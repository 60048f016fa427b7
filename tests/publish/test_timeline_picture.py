"""The timeline: well-formed, in words too, the same each time, and legible without colour."""

from __future__ import annotations

import itertools
import xml.etree.ElementTree as ET

import pytest

from segmenter.lesson import Lesson
from segmenter.publish.timeline_picture import PARTS, timeline_svg
from tests.lessons import AWKWARD, lesson_of, rich_lesson, titled

parse = ET.fromstring
SVG = "{http://www.w3.org/2000/svg}"


def test_it_says_what_it_shows() -> None:
    root = parse(timeline_svg(rich_lesson()))
    assert root.get("role") == "img"
    title, words = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None and words is not None
    assert root.get("aria-labelledby") == f"{title.get('id')} {words.get('id')}"
    assert title.text == "Timeline: Voice & breath"
    assert "0:10 Steady ah, 55 seconds, voice, 2 times, 2 holds of 8.0 seconds, 1 practice stop at 1:00." in (
        words.text or ""
    )
    inside = [each.text for group in root.iter(f"{SVG}g") for each in group.findall(f"{SVG}title")]
    assert len(inside) == 3


def test_the_same_lesson_gives_the_same_picture() -> None:
    assert timeline_svg(rich_lesson()) == timeline_svg(rich_lesson())


@pytest.mark.parametrize("lesson", [titled(AWKWARD), lesson_of((), seconds=0), titled(["$x^2$ \x00\x0b"])])
def test_any_words_make_a_picture(lesson: Lesson) -> None:
    parse(timeline_svg(lesson))


def test_parts_differ_without_colour() -> None:
    for (one, first, _), (other, second, _) in itertools.combinations(PARTS.values(), 2):
        greys = [
            int(fill[1:3], 16) * 0.3 + int(fill[3:5], 16) * 0.59 + int(fill[5:7], 16) * 0.11
            for fill in (one, other)
        ]
        assert first != second or abs(greys[0] - greys[1]) > 15
