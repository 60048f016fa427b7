"""The lesson page as text: what is in it, what is not, and what it may ask for."""

from __future__ import annotations

import base64
import hashlib
import re
from html.parser import HTMLParser
from typing import Any

from segmenter.lesson import Caption, Lesson
from segmenter.publish.page.data import breaths, doses
from segmenter.publish.page.guard import guarded_captions
from segmenter.publish.page.pack import unpack
from segmenter.publish.page.page import SCRIPTS, STYLES, render
from segmenter.publish.page.texts import texts
from tests.browser.sample import MARKUP, breath_lesson, sample_lesson

# HTML standard, section "Void elements" (from memory).
VOID = {"meta", "link", "input", "path"}


class Tree(HTMLParser):
    """Reads a page with the standard library's parser: elements, their text, and tags left open."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.crossed: list[str] = []
        self.texts: dict[str, str] = {}
        self.feed(text)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.open or self.open.pop() != tag:
            self.crossed.append(tag)

    def handle_data(self, data: str) -> None:
        place = self.open[-1] if self.open else ""
        self.texts[place] = self.texts.get(place, "") + data


def data_of(text: str) -> dict[str, Any]:
    found = re.search(r'<script type="text/plain" id="data" data-size="\d+">(.*?)</script>', text, re.DOTALL)
    assert found is not None
    read: dict[str, Any] = unpack(found[1])
    return read


def test_elements_nest_and_ids_are_unique() -> None:
    for media in ("class.mp4", None):
        tree = Tree(render(sample_lesson(), media))
        assert tree.crossed == []
        assert tree.open == []
        used = {a["href"] for tag, a in tree.elements if tag == "a"}
        assert used == {"#list", "#set", "#print"}
        ids = [attrs["id"] for _, attrs in tree.elements if "id" in attrs]
        assert len(ids) == len(set(ids))


def test_markup_in_titles_stays_text() -> None:
    hostile = f"</script></title>{MARKUP}"
    text = render(sample_lesson(hostile), "class.mp4")
    tree = Tree(text)
    assert not [tag for tag, _ in tree.elements if tag == "img"]
    assert tree.texts["title"] == hostile
    assert data_of(text)["lesson"]["title"] == hostile


def test_page_asks_for_nothing_but_the_recording() -> None:
    text = render(sample_lesson(), "class #1?.mp4")
    links = [v for _, attrs in Tree(text).elements for k, v in attrs.items() if k in {"src", "href", "srcset"}]
    own = {str(link) for link in links if not str(link).startswith("#")}
    assert own == {"class%20%231%3F.mp4", "data:,"}
    assert re.findall(r"url\(\"(?!data:)|@import|https?://", text) == []


def test_policy_names_the_very_script_and_style() -> None:
    # W3C Content Security Policy Level 3, section 6.7.3.3: the hash is of the element's text.
    text = render(sample_lesson(), "class.mp4")
    policy = next(str(a["content"]) for _, a in Tree(text).elements if a.get("http-equiv"))
    for tag, opening in (("script", '<script type="module">'), ("style", "<style>")):
        inside = text.split(opening)[1].split(f"</{tag}>")[0]
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy


def test_page_to_read_has_no_player() -> None:
    tags = {tag for tag, _ in Tree(render(sample_lesson(), None)).elements}
    assert not tags & {"video", "audio"}


def test_unstated_dose_stays_unstated() -> None:
    stop = data_of(render(sample_lesson(), None))["lesson"]["chapters"][3]["stops"][0]
    assert set(stop["dose"].values()) == {""}
    assert {stop[key] for key in ("reps", "hold", "sets", "rest", "takes")} == {None}
    assert stop["pattern"] is None


def test_number_said_for_the_stop_alone_is_told_as_such() -> None:
    chapter = sample_lesson().chapters[1]
    assert [each["where"] for each in doses(chapter)] == ["class"]  # the stop asks for the same
    found = doses(chapter.model_copy(update={"asked": ()}))
    assert [(each["where"], each["text"]["en"]) for each in found] == [("stop", "3 times, 2 rounds")]


def test_page_without_scripts_still_tells_what_to_do_and_take_care_of() -> None:
    text = render(sample_lesson(), "class.mp4").split("<noscript>")[1].split("</noscript>")[0]
    for words in ("Shoulder rolls", "3 times, 2 rounds", "No number was said", "your own clinician"):
        assert words in text
    assert "Said in class: Stop if your throat hurts." in text
    assert "not said in class: Keep the voice easy." in text
    assert "onerror" not in re.sub(r"&lt;img.*?&gt;", "", text)


def test_answer_is_nowhere_in_clear_text() -> None:
    text = render(sample_lesson(), "class.mp4")
    assert "elephant" not in text.lower()
    assert data_of(text)["lesson"]["chapters"][4]["quiz"][0]["answer"] == "Elephant"


def test_family_without_a_spoken_caution_says_so() -> None:
    chapter = sample_lesson().chapters[1].model_copy(update={"family": "balance"})
    lesson = sample_lesson().model_copy(update={"chapters": (chapter,)})
    assert data_of(render(lesson, None))["lesson"]["chapters"][0]["unwarned"] is True


def test_caption_is_cut_where_the_answer_begins() -> None:
    rows = [row for row in guarded_captions(sample_lesson()) if 7.9 < row[0] < 8.9]
    assert rows == [[8.0, 8.4, "Think.", "speech", None], [8.4, 8.8, "Elephant!", "speech", (4, 0)]]


def test_caption_without_word_times_waits_for_the_answer() -> None:
    lesson = sample_lesson().model_copy(update={"words": ()})
    rows = [row for row in guarded_captions(lesson) if 7.9 < row[0] < 8.9]
    assert rows == [[8.4, 8.8, "Think. Elephant!", "speech", (4, 0)]]


def test_answer_repeated_in_its_chapter_is_secret_too() -> None:
    lesson = sample_lesson()
    more = Caption(start_ms=8850, end_ms=8950, text="Yes, an ELEPHANT.")
    rows = guarded_captions(lesson.model_copy(update={"captions": (*lesson.captions, more)}))
    assert rows[-1][4] == (4, 0)


def test_empty_lesson_makes_a_page() -> None:
    empty: Lesson = sample_lesson().model_copy(update={"chapters": (), "words": (), "captions": ()})
    assert "No exercises were found" in render(empty, None)


def test_breath_lasts_all_its_beats() -> None:
    chapter = breath_lesson().chapters[0]
    runs = tuple(run.model_copy(update={"end_ms": run.end_ms - 600}) for run in chapter.shown.counts)
    found = breaths(chapter.model_copy(update={"shown": chapter.shown.model_copy(update={"counts": runs})}))
    assert [(start, end, phase) for start, end, _, phase, _ in found] == [(1.0, 3.0, 0), (3.0, 6.0, 2)]


def test_breath_that_does_not_follow_the_pattern_names_no_phase() -> None:
    chapter = breath_lesson().chapters[0]
    runs = tuple(run.model_copy(update={"numbers": (1, 2, 3, 4, 5)}) for run in chapter.shown.counts)
    found = breaths(chapter.model_copy(update={"shown": chapter.shown.model_copy(update={"counts": runs})}))
    assert [row[3] for row in found] == [None, None]


def test_every_text_is_used_and_every_use_has_a_text() -> None:
    from segmenter.publish.page import page

    names: list[tuple[str, ...]] = [("scripts", name) for name in SCRIPTS]
    names += [(name,) for name in ("template.html.j2", "settings.html.j2", "phrases.py", "data.py")]
    source = "".join(page._source(*name) for name in names)
    table = texts("en")
    stems = {re.sub(r"_(one|many)$", "", key) for key in table}
    made = ("family_", "part_", "side_")  # keys put together from the lesson's own values
    unused = [s for s in stems if not s.startswith(made) and not re.search(rf"[\"'.]{s}\b", source)]
    assert unused == []
    said = set(re.findall(r"""say\("(\w+)\"""", source)) | set(re.findall(r'data-t(?:-label)?="(\w+)"', source))
    assert said
    assert said <= set(table)


def test_every_file_of_the_page_is_put_in() -> None:
    from importlib.resources import files

    folder = files("segmenter.publish.page")
    assert {each.name for each in (folder / "scripts").iterdir()} == set(SCRIPTS)
    assert {each.name for each in (folder / "styles").iterdir()} == set(STYLES)
