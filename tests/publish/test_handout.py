"""The home sheet, opened by pikepdf (tags), pdfium (text) and zxing (codes): none of them wrote it.

The rules are those of ISO 14289-1 (PDF/UA-1) that a program can test, named at each test after the Matterhorn
Protocol 1.1 of the PDF Association; from memory.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pdfua
import pikepdf
import pypdfium2
import pytest
import zxingcpp
from PIL import Image

from segmenter.errors import SettingError
from segmenter.lesson import Ask, Lesson
from segmenter.publish.handout import HandoutSettings, handout_pdf, handouts, moment_address, page_address
from segmenter.publish.own_words import how_words
from segmenter.publish.wording import DEFER, STOP_FOR_HELP
from tests.lessons import AWKWARD, lesson_of, rich_lesson, spoken, titled

ADDRESS = "https://example.org/tuesday/"


def jpeg() -> bytes:
    out = io.BytesIO()
    Image.new("RGB", (480, 270), "grey").save(out, "jpeg")
    return out.getvalue()


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return handout_pdf(rich_lesson(), {"b": jpeg()}, HandoutSettings(address=ADDRESS))


def tags(pdf: bytes) -> list[tuple[str, str]]:
    """The kind of every structure element and its alternative text, in reading order."""

    def walk(element: Any) -> Iterator[tuple[str, str]]:
        for kid in element if isinstance(element, pikepdf.Array) else [element]:
            if isinstance(kid, pikepdf.Dictionary) and "/S" in kid:
                yield str(kid.S), str(kid.get("/Alt", ""))
                if "/K" in kid:
                    yield from walk(kid.K)

    with pikepdf.open(io.BytesIO(pdf)) as file:
        return list(walk(file.Root.StructTreeRoot.K))


def text(pdf: bytes) -> str:
    file = pypdfium2.PdfDocument(pdf)
    return " ".join(" ".join(page.get_textpage().get_text_range().split()) for page in file)


def findings(pdf: bytes, folder: Path) -> set[str]:
    """Rules of PDF/UA-1 that the checker pdfua finds broken; it knows sixteen."""
    file = folder / "sheet.pdf"
    file.write_bytes(pdf)
    return {finding.rule_id for finding in pdfua.validate(str(file)).findings}


@pytest.mark.parametrize("easy", [False, True])
def test_a_checker_of_others_finds_nothing(easy: bool, tmp_path: Path) -> None:
    sheet = handout_pdf(rich_lesson(), {"b": jpeg()}, HandoutSettings(address=ADDRESS, easy=easy), {"b": jpeg()})
    assert findings(sheet, tmp_path) == set()
    # The same sheet without its language and tags is found out.
    with pikepdf.open(io.BytesIO(sheet)) as file:
        del file.Root.Lang, file.Root.MarkInfo
        out = io.BytesIO()
        file.save(out)
    assert len(findings(out.getvalue(), tmp_path)) >= 2


def test_it_is_tagged_titled_and_in_a_language(pdf: bytes) -> None:
    with pikepdf.open(io.BytesIO(pdf)) as file:
        assert bool(file.Root.MarkInfo.Marked)  # 06-001
        assert str(file.Root.Lang) == "en"  # 11-006
        assert bool(file.Root.ViewerPreferences.DisplayDocTitle)  # 07-002
        with file.open_metadata() as meta:
            assert meta["dc:title"] == "Voice & breath"  # 06-003
            assert meta["pdfuaid:part"] == "1"  # 05-001
        for page in file.pages:
            assert page.obj.Tabs == "/S"  # 28-005


def test_headings_go_down_one_by_one_and_pictures_speak(pdf: bytes) -> None:
    found = tags(pdf)
    assert [name for name, _ in found if name.startswith("/H")] == ["/H1", "/H2", "/H2"]  # 14-002, 14-003
    figures = [alt for name, alt in found if name == "/Figure"]
    assert figures == [
        "Picture from the class: Steady ah",
        "Code for a phone camera: opens the video at 0:10",
        "Code for a phone camera: opens the video at 1:05",
    ]  # 13-004
    # Every header cell says what it heads (15-003), and lists are lists.
    assert sum(name == "/TH" for name, _ in found) >= 8
    assert {"/L", "/LI", "/LBody", "/Table"} <= {name for name, _ in found}


def test_every_character_can_be_read_out(pdf: bytes) -> None:
    with pikepdf.open(io.BytesIO(pdf)) as file:
        for page in file.pages:
            for font in page.Resources.Font.values():
                assert "/ToUnicode" in font  # 10-001
                assert "AtkinsonHyperlegible" in str(font.BaseFont)
                (inner,) = font.DescendantFonts
                assert any(key in inner.FontDescriptor for key in ("/FontFile2", "/FontFile3"))  # 31-009


def test_it_is_read_in_the_order_it_is_done(pdf: bytes) -> None:
    said = text(pdf)
    order = [
        "Voice & breath",
        DEFER,
        STOP_FOR_HELP[:40],
        "Steady ah",
        "At home",
        "10 times",
        "In the class",
        "Take care",
    ]
    order += ["Stop if it hurts.", "Rest when hoarse.", "Mon", "Capitals", "The capital of France?"]
    places = [said.index(piece) for piece in order]
    assert places == sorted(places)
    assert "Paris" not in said


@pytest.mark.parametrize("easy", [False, True])
def test_no_print_is_small(easy: bool) -> None:
    # Large print is 16 points or more in the body (RNIB and UK Association for Accessible Formats, clear and
    # large print guidance; from memory); labels may be smaller, but nothing is under 12.
    sizes = [size for size, _ in _letters(handout_pdf(rich_lesson(), None, HandoutSettings(easy=easy)))]
    assert min(sizes) >= 12
    assert sorted(sizes)[len(sizes) // 2] >= (19 if easy else 16)


def _letters(pdf: bytes) -> Iterator[tuple[float, str]]:
    for page in pypdfium2.PdfDocument(pdf):
        read = page.get_textpage()
        for at in range(read.count_chars()):
            letter = read.get_text_range(at, 1)
            if letter.strip():
                yield pypdfium2.raw.FPDFText_GetFontSize(read, at), letter


@pytest.mark.parametrize(("paper", "points"), [("a4", (595, 842)), ("letter", (612, 792))])
def test_paper_sizes(paper: Any, points: tuple[int, int]) -> None:
    page = pypdfium2.PdfDocument(handout_pdf(rich_lesson(), None, HandoutSettings(paper)))[0]
    assert tuple(round(side) for side in page.get_size()) == points


def test_codes_open_the_moment(pdf: bytes) -> None:
    found = [
        code.text
        for page in pypdfium2.PdfDocument(pdf)
        for code in zxingcpp.read_barcodes(page.render(scale=3).to_pil())
    ]
    assert found == [f"{ADDRESS}index.html#t=10", f"{ADDRESS}index.html#t=65"]
    assert [name for name, _ in tags(pdf)].count("/Link") == 2


def test_easy_read_has_an_exercise_a_page() -> None:
    file = pypdfium2.PdfDocument(handout_pdf(rich_lesson(), None, HandoutSettings(easy=True)))
    assert len(file) == 3
    assert "Steady ah" in file[1].get_textpage().get_text_range()


def without_dose(lesson: Lesson) -> Lesson:
    """The lesson with no number said anywhere, at its stops neither."""
    chapters = tuple(
        chapter.model_copy(
            update={
                "asked": (),
                "practice": tuple(stop.model_copy(update={"asked": None}) for stop in chapter.practice),
            }
        )
        for chapter in lesson.chapters
    )
    return lesson.model_copy(update={"chapters": chapters})


def test_a_dose_that_was_not_said_is_a_line_to_write_on() -> None:
    said = text(handout_pdf(without_dose(rich_lesson())))
    assert "No number was said. Ask your own clinician" in said
    assert "times a day" in said
    assert not [digit for digit in "3456789" if f"{digit} times" in said]


def test_two_doses_are_not_read_as_one() -> None:
    lesson = rich_lesson()
    asks = tuple(Ask(where="home", start_ms=0, end_ms=1, reps=(n, n)) for n in (3, 8))
    changed = lesson.chapters[1].model_copy(update={"asked": asks})
    both = lesson.model_copy(update={"chapters": (lesson.chapters[0], changed, lesson.chapters[2])})
    assert "At home 3 times and 8 times" in text(handout_pdf(both))


@pytest.mark.parametrize("lesson", [titled(AWKWARD), lesson_of((), seconds=30), titled(["#strong[x] $y$ @z"])])
def test_any_words_make_a_sheet(lesson: Lesson) -> None:
    made = handout_pdf(lesson, None, HandoutSettings(easy=True))
    assert made.startswith(b"%PDF-")
    if lesson.title.startswith("#strong"):
        assert "#strong[x] $y$ @z" in text(made)


def test_how_is_chosen_and_never_rewritten() -> None:
    lesson = rich_lesson()
    words = spoken("Lovely to see you all here. Breathe in gently and let it go. Is that all right?", 28_000)
    lesson = lesson.model_copy(update={"words": tuple(sorted((*lesson.words, *words), key=lambda w: w.start_ms))})
    exercise = lesson.chapters[1]
    how = how_words(exercise, lesson.words_in(*exercise.span))
    assert "Breathe in gently and let it go." in how
    whole = " ".join(word.text for word in lesson.words)
    assert all(sentence in whole for sentence in how)
    assert "Stop if it hurts." not in how


def test_two_files_with_the_still_inside(tmp_path: Path) -> None:
    (tmp_path / "stills").mkdir()
    (tmp_path / "stills" / "01.jpg").write_bytes(jpeg())
    made = handouts(rich_lesson(), tmp_path, {"b": "stills/01.jpg"}, "letter")
    assert list(made) == ["handout.pdf", "handout-easy.pdf"]
    assert "Picture from the class: Steady ah" in [alt for _, alt in tags(made["handout.pdf"])]


@pytest.mark.parametrize(
    "wrong", ["", "example.org/a", "ftp://example.org", "https://", "file:///etc", "https://a b"]
)
def test_what_is_no_web_address_is_refused(wrong: str) -> None:
    with pytest.raises(SettingError):
        page_address(wrong)


def test_moments_have_addresses() -> None:
    assert moment_address("https://example.org/x?utm=1", 1_500) == "https://example.org/x/index.html#t=1.5"


def test_rows_follow_the_times_a_day() -> None:
    lesson = rich_lesson()
    chapter = lesson.chapters[1]
    once = chapter.model_copy(update={"asked": (Ask(where="home", start_ms=0, end_ms=1, reps=(3, 3)),)})
    assert "Done, 3" in text(handout_pdf(lesson))
    changed = lesson.model_copy(update={"chapters": (lesson.chapters[0], once, lesson.chapters[2])})
    assert "Done, 2" not in text(handout_pdf(changed))


def test_what_was_asked_of_all_and_at_a_stop_alone_is_on_the_sheet(tmp_path: Path) -> None:
    lesson = rich_lesson()
    opening, exercise, quiz = lesson.chapters
    all_of_it = Ask(where="home", start_ms=500, end_ms=900, per_day=(2, 2))
    stop = exercise.practice[0].model_copy(
        update={"asked": Ask(where="home", start_ms=59_000, end_ms=60_000, reps=(6, 6))}
    )
    chapters = (
        opening.model_copy(update={"asked": (all_of_it,)}),
        exercise.model_copy(update={"practice": (stop,)}),
        quiz,
    )
    sheet = handout_pdf(lesson.model_copy(update={"chapters": chapters}))
    read = " ".join(text(sheet).split())
    assert "For all of it, at home 2 times a day" in read
    assert "When the video stops for you 6 times" in read
    assert findings(sheet, tmp_path) == set()
    assert "For all of it" not in text(handout_pdf(rich_lesson()))
