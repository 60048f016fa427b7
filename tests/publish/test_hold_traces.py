"""Pictures of holds: what was measured is drawn, in words too, and legible without colour."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from typing import Any

import numpy as np
import pytest

from segmenter.heard import Curve
from segmenter.lesson import Ask, Lesson
from segmenter.publish.checks import checks_html
from segmenter.publish.hold_traces import hold_traces
from segmenter.publish.rows import hold_target
from tests.lessons import AWKWARD, bare, rich_lesson

parse = ET.fromstring
SVG = "{http://www.w3.org/2000/svg}"


def curve(pitch_hz: float = 196.0) -> Curve:
    pitch = np.full(1_600, pitch_hz, np.float32)
    return Curve.packed(50, -25.0, pitch, np.linspace(-20, -40, 1_600, dtype=np.float32))


def changed(lesson: Lesson, **fields: Any) -> Lesson:
    chapter = lesson.chapters[1].model_copy(update=fields)
    return lesson.model_copy(update={"chapters": (lesson.chapters[0], chapter, lesson.chapters[2])})


def with_holds(**fields: Any) -> Lesson:
    lesson = rich_lesson()
    shown = lesson.chapters[1].shown
    holds = tuple(hold.model_copy(update=fields) for hold in shown.holds)
    return changed(lesson, shown=shown.model_copy(update={"holds": holds}))


def test_every_hold_has_a_picture_and_its_words() -> None:
    traces = hold_traces(rich_lesson(), curve())
    assert list(traces) == [("b", 26_000), ("b", 36_000)]
    assert [trace.name for trace in traces.values()] == ["holds/01-01.svg", "holds/01-02.svg"]
    first = traces["b", 26_000]
    assert first.words == (
        "Hold 1 of 2 at 0:26 in Steady ah: 8.0 seconds with voice, 10 seconds asked in class (2 seconds shorter). "
        "Pitch about 196 hertz. 18 decibels softer than the speaker's own talk."
    )
    root = parse(first.svg)
    assert root.get("role") == "img"
    assert root.findtext(f"{SVG}desc") == first.words
    assert first.png.startswith(b"\x89PNG")


def test_the_line_is_the_curve() -> None:
    """A fall of an octave over the hold is drawn as a line that falls; what was measured twice looks the same."""
    falling = np.where(np.arange(1_600) < 680, 196 * 2 ** (-(np.arange(1_600) - 520) / 160), 0).astype(np.float32)
    made = hold_traces(rich_lesson(), Curve.packed(50, -25.0, falling, np.full(1_600, -22, np.float32)))
    first, second = (parse(trace.svg) for trace in made.values())

    def longest_line(root: ET.Element) -> list[tuple[float, float]]:
        paths = [
            each.get("d", "") for each in root.iter(f"{SVG}path") if "stroke-width: 2.2" in each.get("style", "")
        ]
        found = [[(float(x), float(y)) for x, y in re.findall(r"[ML] ([\d.]+) ([\d.]+)", path)] for path in paths]
        return max(found, key=len, default=[])

    line = longest_line(first)
    assert len(line) > 20
    # Simplified by the library, but straight: an octave in eight seconds is a straight line in semitones.
    xs, ys = np.array(line).T
    assert (np.diff(ys) >= 0).all()
    assert np.abs(ys - np.interp(xs, [xs[0], xs[-1]], [ys[0], ys[-1]])).max() < 1.0
    assert longest_line(second) == []  # the voice had gone
    assert hold_traces(rich_lesson(), curve()) == hold_traces(rich_lesson(), curve())


@pytest.mark.parametrize("how", ["silent", "counted"])
def test_without_voice_only_the_length_is_drawn(how: str) -> None:
    bare_of = {"how": how, "pitch_hz": None, "level_db": None}
    with_curve, without = (hold_traces(with_holds(**bare_of), each) for each in (curve(), None))
    assert with_curve == without
    assert "hertz" not in with_curve["b", 26_000].words


def test_a_hiss_has_a_level_and_no_pitch() -> None:
    (voiced, *_), (hiss, *_) = (
        hold_traces(with_holds(pitch_hz=pitch), curve(hertz)).values()
        for pitch, hertz in ((196.0, 196.0), (None, 0.0))
    )
    assert voiced.svg.count('id="axes_') == 2
    assert hiss.svg.count('id="axes_') == 1


def test_only_greys_are_used() -> None:
    for trace in hold_traces(rich_lesson(), curve()).values():
        for colour in set(re.findall(r"#([0-9a-fA-F]{6})", trace.svg)):
            parts = [int(colour[at : at + 2], 16) for at in (0, 2, 4)]
            assert max(parts) - min(parts) <= 25, colour


def test_the_target_is_what_was_asked_for() -> None:
    def target(*asks: Ask) -> object:
        return hold_target(changed(rich_lesson(), asked=asks, practice=()).chapters[1])

    def ask(where: Any, *hold: Any) -> Ask:
        return Ask(where=where, start_ms=0, end_ms=1, hold_s=hold or None)

    assert target() is None
    assert target(ask("class"), ask("home", 6, 8)) == hold_target(
        changed(rich_lesson(), asked=(ask("home", 6, 8),), practice=()).chapters[1]
    )
    both = hold_target(changed(rich_lesson(), asked=(ask("class", 5, 5), ask("home", 9, 9))).chapters[1])
    assert both is None  # the practice stop of the class asks for ten
    assert target(ask("class", 5, 5), ask("class", 9, 9)) is None
    open_ended = hold_target(changed(rich_lesson(), asked=(ask("class", 6, None),), practice=()).chapters[1])
    assert open_ended is not None
    assert (open_ended.least, open_ended.most, open_ended.where) == (6, 6, "in class")


def test_they_stand_beside_the_difference_and_by_themselves() -> None:
    lesson = rich_lesson()
    check = lesson.checks[0].model_copy(update={"code": "shown-differs", "start_ms": 10_000})
    lesson = lesson.model_copy(update={"checks": (check,)})
    page = checks_html(lesson, None, hold_traces(lesson, curve()))
    assert page.count('<img src="holds/01-01.svg" alt="Hold 1 of 2') == 2
    assert "Each hold, drawn" in page
    assert "Each hold, drawn" not in checks_html(lesson)


def test_any_words_and_no_holds_will_do() -> None:
    lesson = rich_lesson()
    for title in AWKWARD:
        for trace in hold_traces(changed(lesson, title=title), curve()).values():
            parse(trace.svg)
    assert hold_traces(bare((), seconds=5), curve()) == {}
