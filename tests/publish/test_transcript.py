"""The transcript page, read with the standard library's HTML parser."""

from __future__ import annotations

from html.parser import HTMLParser

from segmenter.publish.transcript import paragraphs, transcript_html
from segmenter.publish.transcript_text import WIDTH, transcript_text
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


def test_plain_text_has_headings_times_cautions_and_every_word() -> None:
    lesson = rich_lesson()
    text = transcript_text(lesson)
    assert "0:10  Steady ah\n---------------\n" in text
    assert "TAKE CARE: Stop if it hurts. (Said in class)" in text
    assert "[1:10] Paris. (heard: Harris.)" in text
    assert all(len(line) <= WIDTH for line in text.splitlines())
    words = text.split()
    for word in lesson.words:
        assert word.text in words


def test_another_speaker_starts_a_paragraph_with_a_dash() -> None:
    asked = tuple(w.model_copy(update={"speaker": "other"}) for w in spoken("may I sit", 1_400))
    lesson = lesson_of((*spoken("We stand now", 0), *asked, *spoken("yes you may", 3_000)))
    assert "[0:00] We stand now\n\n[0:01] - may I sit\n\n[0:03] yes you may\n" in transcript_text(lesson)
    assert "–" in Reader(transcript_html(lesson)).words


def test_awkward_titles_stay_on_one_line() -> None:
    lines = transcript_text(titled(AWKWARD)).splitlines()
    assert sum(line.startswith("---") for line in lines) == len(AWKWARD)
