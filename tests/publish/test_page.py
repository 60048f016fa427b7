"""The lesson page as text: what is in it, what is not, and what it may ask for."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from html.parser import HTMLParser
from typing import Any

from segmenter.lesson import Caption, Lesson
from segmenter.publish.page.page import SCRIPTS, guarded_captions, render
from tests.browser.sample import MARKUP, sample_lesson

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
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.DOTALL)
    assert found is not None
    read: dict[str, Any] = json.loads(found[1])
    return read


def test_elements_nest_and_ids_are_unique() -> None:
    for media in ("class.mp4", None):
        tree = Tree(render(sample_lesson(), media))
        assert tree.crossed == []
        assert tree.open == []
        ids = [attrs["id"] for _, attrs in tree.elements if "id" in attrs]
        assert len(ids) == len(set(ids))


def test_markup_in_titles_stays_text() -> None:
    hostile = f"</script></title>{MARKUP}"
    text = render(sample_lesson(hostile), "class.mp4")
    tree = Tree(text)
    assert not [tag for tag, _ in tree.elements if tag == "img"]
    assert tree.texts["title"] == hostile
    assert data_of(text)["title"] == hostile
    assert "<" not in text.split('id="data">')[1].split("</script>")[0]


def test_page_asks_for_nothing_but_the_recording() -> None:
    text = render(sample_lesson(), "class #1?.mp4")
    links = [v for _, attrs in Tree(text).elements for k, v in attrs.items() if k in {"src", "href", "srcset"}]
    assert sorted(str(link) for link in links) == ["class%20%231%3F.mp4", "data:,"]
    assert re.findall(r"url\(\"(?!data:)|@import|https?://", text) == []


def test_policy_names_the_very_script_and_style() -> None:
    # W3C Content Security Policy Level 3, section 6.7.3.3: the hash is of the element's text.
    text = render(sample_lesson(), "class.mp4")
    policy = next(str(a["content"]) for _, a in Tree(text).elements if a.get("http-equiv"))
    for tag, opening in (("script", '<script type="module">'), ("style", "<style>")):
        inside = text.split(opening)[1].split(f"</{tag}>")[0]
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"'sha256-{digest}'" in policy


def test_page_is_light_without_the_recording() -> None:
    hour = [
        Caption(
            start_ms=n * 3000, end_ms=n * 3000 + 2900, text=f"Caption number {n} with a usual line\nand one more."
        )
        for n in range(1200)
    ]
    assert len(render(sample_lesson().model_copy(update={"captions": tuple(hour)}), "class.mp4").encode()) < 300_000


def test_page_to_read_has_no_player() -> None:
    tags = {tag for tag, _ in Tree(render(sample_lesson(), None)).elements}
    assert not tags & {"video", "audio"}


def test_unstated_dose_stays_unstated() -> None:
    stop = data_of(render(sample_lesson(), None))["chapters"][3]["stops"][0]
    assert (stop["dose"], stop["reps"], stop["hold"], stop["sets"], stop["takes"]) == ("", None, None, None, None)


def test_caution_carries_where_it_comes_from() -> None:
    text = render(sample_lesson(), "class.mp4")
    care = text.split('data-chapter="c3"')[1].split("</article>")[0]
    assert re.search(r"Said in class</span>\s*Stop if your throat hurts", care)
    assert re.search(r"not said in class</span>\s*Keep the voice easy", care)
    assert "made-up source for tests" in care
    assert "your own clinician" in care


def test_answer_is_only_in_the_data() -> None:
    text = render(sample_lesson(), "class.mp4")
    before, after = text.split('<script type="application/json"')
    assert "Elephant" not in before
    assert "Elephant" in after


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


def test_every_text_is_used() -> None:
    text = render(sample_lesson(), "class.mp4")
    data = data_of(text)
    from segmenter.publish.page import page

    sources = "".join(page._source(name) for name in (*SCRIPTS, "template.html.j2", "page.py"))
    unused = [key for key in data["texts"] if not re.search(rf"[\"'.]{key}\b", sources)]
    assert unused == []
