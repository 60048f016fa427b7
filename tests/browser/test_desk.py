"""The whole story on the example: drop a file, watch it work, correct it, publish it, open the lesson."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from segmenter.edits.kinds import MoveBoundary, Reclassify, Retitle, SetAsked, SetWord
from segmenter.lesson import lesson_from_json
from tests.browser.desk import edits, enter, review, saved, wait
from tests.lessons import rich_lesson
from tests.review.serving import Running, running, shelved

pytestmark = pytest.mark.browser

Window = tuple[Page, Running, Path]


def title_of(page: Page, number: int) -> str:
    return page.locator("#paper .title").nth(number).inner_text()


def test_corrected_with_the_keyboard_alone_and_published(desk_page: Window) -> None:  # noqa: PLR0915 - one story
    page, _, folder = desk_page
    press, write = page.keyboard.press, page.keyboard.type
    press("]")  # the second chapter
    expect(page.locator(".chapter.open")).to_have_count(1)
    # 1: its title, saved while it is typed, one step to take back
    press("t")
    write("Neck turns")
    expect(page.locator(".chapter.open .title")).to_have_text("Neck turns")
    assert isinstance(saved(page, folder, "retitle"), Retitle)
    press("Escape")
    # 2: its family, by the first letters
    press("f")
    write("H")  # hands: no other family begins with this letter
    press("Escape")
    reclass = saved(page, folder, "reclassify")
    assert isinstance(reclass, Reclassify)
    assert reclass.family == "hand"
    # 3: where it begins, by steps
    press("+")
    saved(page, folder, "move-boundary")
    press("-")
    press("-")
    moved = saved(page, folder, "move-boundary", 3)
    assert isinstance(moved, MoveBoundary)
    # 4: its dose
    press("d")
    press("Control+a")
    write("3 to 5")
    press("Enter")

    # What is typed is saved now and then on the way: the last one counts.
    def dose() -> object:
        asked = saved(page, folder, "set-asked")
        assert isinstance(asked, SetAsked)
        return asked.asked[0].reps

    wait(page, lambda: dose() == (3, 5), "three to five times")
    press("Escape")
    # 5: a word
    press("w")
    write("Rightly")
    press("Enter")
    word = saved(page, folder, "set-word")
    assert isinstance(word, SetWord)
    assert word.text == "Rightly"
    # split, join again, take back, do again
    press("Shift+Tab")  # off the words, where arrows go from word to word
    for _ in range(9):  # well inside the chapter
        press("ArrowRight")
    press(".")
    before = page.locator("#paper .chapter").count()
    press("s")
    expect(page.locator("#paper .chapter")).to_have_count(before + 1)
    press("Escape")
    press("m")
    expect(page.locator("#paper .chapter")).to_have_count(before)
    press("Control+z")
    expect(page.locator("#paper .chapter")).to_have_count(before + 1)
    press("Control+y")
    expect(page.locator("#paper .chapter")).to_have_count(before)
    # every check, one press each
    for done in range(60):
        if page.locator("#todo-count").inner_text() == "Everything was looked at":
            break
        press("o")
        saved(page, folder, "settle-check", done + 1)
        page.wait_for_timeout(100)  # for the list to follow
    expect(page.locator("#todo-count")).to_have_text("Everything was looked at")
    press("g")
    page.locator("#publish[open]").wait_for()
    press("Enter")
    expect(page.locator("#publish-said")).to_contain_text("published")
    with page.context.expect_page() as opened:
        press("Enter")
    lesson = opened.value
    lesson.wait_for_selector("body[data-ready=yes]")
    assert "Neck turns" in lesson.content()
    made = lesson_from_json((folder / "lesson.json").read_bytes())
    assert "Neck turns" in [chapter.title for chapter in made.chapters]
    assert not [check for check in made.checks if check.level != "note"]


def test_corrected_with_the_pointer_alone_and_published(desk_page: Window) -> None:
    page, _, folder = desk_page
    page.locator("#paper .title").nth(1).click()
    form = page.locator(".chapter.open .form")
    form.get_by_label("Called").fill("Neck turns")
    saved(page, folder, "retitle")
    form.get_by_label("Family").select_option("neck")
    saved(page, folder, "reclassify")
    form.get_by_label("Begins one second later").click()
    saved(page, folder, "move-boundary")
    form.get_by_label("Begins at the pause after").click()
    saved(page, folder, "move-boundary", 2)
    form.get_by_label("times", exact=True).first.fill("3 to 5")
    form.get_by_label("hold, seconds").first.click()

    # What is typed is saved now and then on the way: the last one counts.
    def dose() -> object:
        asked = saved(page, folder, "set-asked")
        assert isinstance(asked, SetAsked)
        return asked.asked[0].reps

    wait(page, lambda: dose() == (3, 5), "three to five times")
    page.locator(".chapter.open .words .w").nth(8).click()
    page.locator("#word-text").fill("Rightly")
    page.get_by_role("button", name="Change it here").click()
    saved(page, folder, "set-word")
    page.get_by_role("button", name="New caption from here").click()
    saved(page, folder, "break-caption")
    page.get_by_role("button", name="Done").click()
    page.get_by_role("button", name="Practice stop here").click()
    saved(page, folder, "add-stop")
    page.get_by_role("button", name="Hold begins here").click()
    page.get_by_role("button", name="1 second on").click()
    page.get_by_role("button", name=re.compile("Hold ends here")).click()
    saved(page, folder, "add-hold")
    form.get_by_role("button", name="Hide from viewers").click()
    saved(page, folder, "hide")
    page.get_by_role("button", name="Take back").click()
    wait(page, lambda: all(edit.do != "hide" for edit in edits(folder)), "undone")
    page.locator("#checks").get_by_role("button", name=re.compile("^It is right")).first.click()
    saved(page, folder, "settle-check")
    page.locator("#publish-open").click()
    page.get_by_label("I have looked through this lesson").check()
    page.get_by_role("button", name="Publish now").click()
    expect(page.locator("#publish-said")).to_contain_text("published")
    expect(page.locator("#publish-said")).to_contain_text("up to date", timeout=120_000)
    with page.context.expect_page() as opened:
        page.get_by_role("link", name="Open the lesson page").click()
    opened.value.wait_for_selector("body[data-ready=yes]")
    page.get_by_role("button", name="Back to the lesson").click()
    expect(page.locator("#state")).to_have_text("Published")


def test_a_border_can_also_be_dragged(desk_page: Window) -> None:
    page, _, folder = desk_page
    start = int(page.evaluate("JSON.parse(document.getElementById('data').textContent).chapters[1].start"))
    strip = page.locator("#near").bounding_box()
    assert strip is not None
    at = strip["x"] + strip["width"] * start / 40_000
    page.mouse.move(at, strip["y"] + 30)
    page.mouse.down()
    page.mouse.move(at + 30, strip["y"] + 30, steps=4)
    page.mouse.up()
    moved = saved(page, folder, "move-boundary")
    assert isinstance(moved, MoveBoundary)
    assert moved.to_ms > start


def test_two_windows_see_each_other(desk_page: Window) -> None:
    page, desk, folder = desk_page
    other = page.context.new_page()
    review(other, desk, folder.name)
    page.locator("#paper .title").nth(1).click()
    page.get_by_label("Called").fill("Seen by both")
    expect(other.locator("#paper .title").nth(1)).to_have_text("Seen by both")
    other.get_by_role("button", name="Take back").click()
    expect(page.locator("#paper .title").nth(1)).not_to_have_text("Seen by both")


def test_words_are_corrected_everywhere_and_for_later(desk_page: Window) -> None:
    page, desk, folder = desk_page
    page.locator(".w", has_text=re.compile("^breath$")).first.click()
    page.locator("#word-text").fill("breeze")
    page.get_by_label("and in every new class").check()
    page.get_by_role("button", name=re.compile("^Change all")).click()
    saved(page, folder, "replace-words")
    expect(page.locator(".w.mine", has_text="breeze").first).to_be_attached()
    assert json.loads((desk.desk.shelf.own / "remembered.json").read_text()) == [["breath", "breeze"]]
    page.goto(desk.origin)
    page.get_by_text("Words that are put right").click()
    page.get_by_role("button", name="Forget it: breath").click()
    expect(page.locator("#remembered")).to_be_hidden()


def test_a_usual_dose_is_taken_over_knowingly(desk_page: Window) -> None:
    page, _, folder = desk_page
    page.locator("#paper .title", has_text="Long ah").click()
    take = page.get_by_role("button", name="Take it over for home")
    expect(take).to_be_disabled()
    page.get_by_label("I know that this was not said").check()
    take.click()
    saved(page, folder, "accept-usual")
    expect(page.locator(".chapter.open .asked")).to_contain_text("(usual practice)")


def test_the_desk_is_killed_and_nothing_typed_is_lost(browser: Browser, tmp_path: Path) -> None:
    """The window keeps what it could not send, and sends it to the desk that is started again at its place."""
    folder = shelved(tmp_path / "lessons", "Voice", rich_lesson())
    context, faults = browser.new_context(), list[str]()
    with running(tmp_path / "lessons") as desk:
        page = enter(context, desk, faults)
        review(page, desk, "Voice")
        page.locator("#paper .title").nth(1).click()
        page.route("**/edit", lambda route: route.abort())  # as if it were gone
        page.get_by_label("Called").fill("Typed in the last second")
        expect(page.locator("#trouble")).to_contain_text("Not saved yet")
        page.reload()  # even the window may be closed meanwhile
        page.unroute("**/edit")
        saved(page, folder, "retitle")
        expect(page.locator("#trouble")).to_be_hidden()
        expect(page.locator("#paper .title").nth(1)).to_have_text("Typed in the last second")
    context.close()


def test_what_cannot_be_built_says_why(browser: Browser, tmp_path: Path) -> None:
    context, faults = browser.new_context(), list[str]()
    with running(tmp_path / "lessons") as desk:
        page = enter(context, desk, faults)
        expect(page.locator("#empty")).to_be_visible()
        page.evaluate(
            """() => {
              const data = new DataTransfer();
              data.items.add(new File(["no film"], "broken.mp4"));
              document.dispatchEvent(new DragEvent("drop", {dataTransfer: data, bubbles: true, cancelable: true}));
            }"""
        )
        expect(page.locator("#add-problem")).to_contain_text("broken.mp4")
        assert not [path for path in (tmp_path / "lessons").iterdir() if not path.name.startswith(".")]
    context.close()
