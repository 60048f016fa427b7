"""A class with ten planted faults, and the hands that mend it at the desk, counting what they do."""

from __future__ import annotations

import re

from playwright.sync_api import Locator, Page, expect

from segmenter.lesson import Ask, Chapter, Check, Lesson, Practice, Word
from tests.browser.desk import wait
from tests.lessons import bare, spoken

NAME = "Gwendolen"
SAID = (
    (500, f"Welcome everyone and please bring a chair. Good morning {NAME} how are you?"),
    (20_000, "Now we roll our shoulders. Do it five times and keep breathing."),
    (40_000, "That is one. That is two. Very good everyone."),
    (70_000, "Next we hold a long ah. Do that three times for ten seconds each."),
    (100_000, "Good. Take a breath and rest your voice."),
    (130_000, "The next one is the effortful swallow. Swallow as hard as you can."),
    (158_000, "Squeeze all the muscles of the throat."),
    (172_000, "Please pause here and do three more on your own."),
    (182_000, "Welcome back I hope that went well."),
    (190_000, "Breathe out through the straw. Keep the straw in the water."),
    (215_000, "A straw makes it easy. Put the straw away when you are done."),
    (250_000, "Which animal is grey and never forgets?"),
    (300_000, f"Well done and goodbye {NAME} and see you all next week."),
)
STOP_MS = 182_000
"""Where viewers are sent off to practise, right before the class goes on."""


def class_as_it_was() -> Lesson:
    """The class with everything right, but for the name in it."""

    def asked(at: int, reps: int, hold: int | None = None) -> tuple[Ask, ...]:
        span = None if hold is None else (hold, hold)
        return (Ask(where="class", start_ms=at, end_ms=at + 2_000, reps=(reps, reps), hold_s=span),)

    stop = Practice(at_ms=STOP_MS, resume_ms=STOP_MS)
    chapters = (
        Chapter(id="a", title="Welcome", kind="opening", start_ms=0, end_ms=20_000),
        Chapter(id="b", title="Shoulder rolls", kind="exercise", family="mobility", start_ms=20_000, end_ms=70_000,
                asked=asked(21_750, 5)),
        Chapter(id="c", title="Long ah", kind="exercise", family="voice", start_ms=70_000, end_ms=130_000,
                asked=asked(72_450, 3, 10)),
        Chapter(id="d", title="Effortful swallow", kind="exercise", family="swallow", start_ms=130_000,
                end_ms=190_000, practice=(stop,)),
        Chapter(id="e", title="Straw breathing", kind="exercise", family="breath", start_ms=190_000,
                end_ms=250_000),
        Chapter(id="f", title="Grey animal", kind="quiz", family="thinking", start_ms=250_000, end_ms=300_000),
        Chapter(id="g", title="Goodbye", kind="closing", start_ms=300_000, end_ms=330_000),
    )  # fmt: skip
    words = tuple(word for at, text in SAID for word in spoken(text, at))
    return bare(chapters, seconds=330, title="Class on Tuesday").model_copy(update={"words": words})


def with_ten_faults() -> Lesson:
    """The draft: (1) family, (2) dose missing, (3) border, (4) dose, (5) chapter in two, (6) stop missing,
    (7) title, (8) a word misheard throughout; (9) a name and (10) a caption that breaks in a bad place lie in what
    was said.
    """
    right = class_as_it_was()
    a, b, c, d, e, f, g = right.chapters
    thirty = c.asked[0].model_copy(update={"reps": (30, 30)})
    chapters = (
        a,
        b.model_copy(update={"family": "hand", "asked": (), "end_ms": 76_000}),
        c.model_copy(update={"start_ms": 76_000, "asked": (thirty,)}),
        d.model_copy(update={"end_ms": 158_000, "practice": ()}),
        d.model_copy(update={"id": "x", "start_ms": 158_000, "practice": (), "title": "Squeeze all the muscles"}),
        e.model_copy(update={"title": "Breathe out through"}),
        f,
        g,
    )
    words = tuple(_misheard(word) for word in right.words)
    checks = (
        Check(code="dose", level="look", message="Thirty times is more than most do.", start_ms=76_000,
              end_ms=77_000),
        Check(code="stop", level="stop", message="“Pause here” was said, but no stop was found.", start_ms=172_000,
              end_ms=175_000),
    )  # fmt: skip
    return right.model_copy(update={"chapters": chapters, "words": words, "checks": checks})


def _misheard(word: Word) -> Word:
    return word.model_copy(update={"text": word.text.replace("straw", "store")})


class Hands:
    """Counts every press of a command key, every click, and every text that is typed."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.done = 0

    def press(self, *keys: str) -> None:
        for key in keys:
            self.page.keyboard.press(key)
            self.done += 1

    def click(self, what: Locator) -> None:
        what.click()
        self.done += 1

    def write(self, text: str) -> None:
        self.page.keyboard.type(text)
        self.done += 1

    def word(self, text: str, at: int = 0) -> Locator:
        return self.page.locator(".w", has_text=re.compile(rf"^{re.escape(text)}$")).nth(at)

    def chapter(self, title: str) -> Locator:
        return self.page.locator("#paper .title", has_text=title)

    def button(self, name: str) -> Locator:
        return self.page.get_by_role("button", name=name)

    def settled(self) -> None:
        """Wait until the desk has answered everything."""
        wait(self.page, lambda: self.page.evaluate("() => localStorage.length") == 0, "everything answered")


def mend(page: Page) -> int:
    """Mend all ten faults and publish, as somebody would who reads the class once from top to bottom."""
    hands = Hands(page)
    page.wait_for_selector(".cue")  # captions are there
    # 9: the name
    hands.click(hands.word(NAME))
    hands.click(hands.button("It is a name: take it out"))
    hands.settled()
    # 1, 2: shoulders are no matter of hands, and five times was asked
    hands.click(hands.chapter("Shoulder rolls"))
    hands.press("d")
    expect(page.locator("[data-f='reps0 b']")).to_be_focused()
    hands.write("5")
    hands.press("Enter")
    hands.click(page.locator("[data-f='family b']"))
    hands.write("Movement")
    hands.settled()
    # 3, 4: the long ah begins where it is announced; three times, not thirty
    hands.click(hands.chapter("Long ah"))
    hands.click(hands.word("Next"))
    hands.press("b", "d")
    hands.write("3")
    hands.press("Enter")
    hands.settled()
    # 5, 6: the swallow is one chapter; viewers are sent off in it
    hands.click(hands.chapter("Squeeze all the muscles"))
    hands.press("m")
    hands.settled()
    hands.click(hands.word("Welcome", 1))
    hands.press("p")
    hands.settled()
    # 7, 8: the straw
    hands.click(hands.chapter("Breathe out through"))
    hands.press("t")
    hands.write("Straw breathing")
    hands.click(hands.word("store"))
    hands.press("Enter")
    hands.write("straw")
    hands.click(page.locator("#word-all"))
    hands.settled()
    # 10: a caption begins with the number of times
    hands.click(hands.word("three"))
    hands.click(hands.button("New caption from here"))
    hands.settled()
    # what is left to look at, then out with it
    expect(page.locator("#todo-count")).to_contain_text("to look at")
    while page.locator("#todo-count").inner_text() != "Everything was looked at":
        left = page.locator("#todo-text").inner_text()
        hands.press("o")
        expect(page.locator("#todo-text")).not_to_have_text(left)
    hands.press("g")
    hands.click(page.locator("#checked"))
    hands.click(page.locator("#publish-go"))
    expect(page.locator("#publish-said")).to_contain_text("published", timeout=120_000)
    return hands.done
