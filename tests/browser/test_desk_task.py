"""From a draft with ten planted faults to a correct lesson in under forty actions."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Route, expect

from segmenter.edits.words import NAME as TAKEN_OUT
from segmenter.lesson import Lesson, lesson_from_json
from segmenter.publish.hand_on import FOLDER
from tests.browser.desk import enter, review, wait
from tests.browser.task import NAME, Hands, class_as_it_was, mend, with_ten_faults
from tests.review.serving import running, shelved

pytestmark = pytest.mark.browser


def told(lesson: Lesson) -> list[object]:
    """What viewers go by."""
    return [
        (
            chapter.title,
            chapter.kind,
            chapter.family,
            chapter.start_ms,
            [(ask.where, ask.reps, ask.hold_s) for ask in chapter.asked],
            [stop.at_ms for stop in chapter.practice],
        )
        for chapter in lesson.chapters
    ]


def test_ten_faults_are_mended_in_under_forty_actions(browser: Browser, tmp_path: Path) -> None:
    folder = shelved(tmp_path / "lessons", "Tuesday", with_ten_faults())
    before = lesson_from_json((folder / "lesson.json").read_bytes())
    assert not [c for c in before.captions if c.text.startswith("three times")], "else nothing is to be mended"
    context, faults = browser.new_context(viewport={"width": 1440, "height": 900}), list[str]()
    with running(tmp_path / "lessons") as desk:
        page = enter(context, desk, faults)
        review(page, desk, "Tuesday")
        actions = mend(page)
    context.close()
    assert faults == []
    made, right = lesson_from_json((folder / "lesson.json").read_bytes()), class_as_it_was()
    assert told(made) == told(right)
    assert [w.text for w in made.words] == [w.text.replace(NAME, TAKEN_OUT) for w in right.words]
    assert [c for c in made.captions if c.text.startswith("three times")]
    assert not [check for check in made.checks if check.level != "note"]
    for path in (folder / FOLDER).rglob("*"):
        assert path.is_dir() or NAME.encode() not in path.read_bytes(), path.name
    assert actions < 40, actions


def test_an_answer_does_not_close_a_list_that_is_open(browser: Browser, tmp_path: Path) -> None:
    shelved(tmp_path / "lessons", "Tuesday", with_ten_faults())
    context, faults = browser.new_context(viewport={"width": 1440, "height": 900}), list[str]()
    with running(tmp_path / "lessons") as desk:
        page = enter(context, desk, faults)
        review(page, desk, "Tuesday")
        hands = Hands(page)
        hands.click(hands.chapter("Shoulder rolls"))
        hands.press("d")
        expect(page.locator("[data-f='reps0 b']")).to_be_focused()
        hands.settled()
        waiting: list[Route] = []
        page.route("**/edit", lambda route: waiting.append(route))  # noqa: PLW0108 - the driver wants a function of Python
        hands.write("5")
        hands.press("Enter")
        wait(page, lambda: len(waiting) == 1, "the dose is on its way")
        family = page.locator("[data-f='family b']")
        shown = family.element_handle()
        assert shown is not None
        shown.dispatch_event("pointerdown")
        waiting[0].continue_()
        page.unroute("**/edit")
        hands.settled()
        assert shown.evaluate("(node) => node.isConnected"), "the list was taken from under the pointer"
        family.select_option(label="Movement")
        hands.settled()
        review(page, desk, "Tuesday")  # as it was saved
        hands.click(hands.chapter("Shoulder rolls"))
        expect(family).to_have_value("mobility")
        expect(page.locator("[data-f='reps0 b']")).to_have_value("5")
    context.close()
    assert faults == []
