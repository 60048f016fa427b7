"""The transcript page, read with the standard library's HTML parser."""

from __future__ import annotations

from html.parser import HTMLParser

from segmenter.publish.transcript import paragraphs, transcript_html
from tests.lessons import AWKWARD, lesson_of, rich_lesson, spoken, titled


class Reader(HTMLParser):
    """Collects tags, links and text."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.links: list[str] = []
        self.words: list[str] = []
        self.language: str | None = None
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        found = dict(attrs)
        if tag == "a":
            self.links.append(found["href"] or "")
        if tag == "html":
            self.language = found["lang"]

    def handle_data(self, data: str) -> None:
        self.words += data.split()


def test_headings_times_and_repairs() -> None:
    page = Reader(transcript_html(rich_lesson()))
    text = " ".join(page.words)
    assert page.language == "en"
    assert page.tags.count("h2") == 3
    assert "index.html#t=12" in page.links
    assert "Paris. (heard: Harris.)" in text
    assert "Take care. Stop if it hurts. Said in class" in text
    assert "Usual advice, not said in class (common practice)" in text
    assert "script" not in page.tags


def test_every_word_is_there() -> None:
    lesson = rich_lesson()
    words = Reader(transcript_html(lesson)).words
    for word in lesson.words:
        assert word.text in words


def test_titles_and_words_cannot_become_markup() -> None:
    lesson = titled(AWKWARD).model_copy(update={"words": spoken("<img onerror=x> & <script>", 0)})
    page = Reader(transcript_html(lesson))
    assert "img" not in page.tags
    assert "script" not in page.tags


def test_paragraphs_keep_all_words() -> None:
    words = lesson_of(spoken("One. Two three", 0)).words
    assert paragraphs(words) == [[words[0]], [words[1], words[2]]]
