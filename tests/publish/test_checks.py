"""The checks page and the table of writers."""

from __future__ import annotations

from pathlib import Path

import pytest

from segmenter.errors import FolderError
from segmenter.lesson import Check, Lesson
from segmenter.publish import checks
from segmenter.publish.base import WRITERS, publish
from segmenter.publish.checks import WHAT_TO_DO, checks_html, uncautioned, words_around
from segmenter.understand.ageing import ageing_remarks
from tests.lessons import AWKWARD, lesson_of, rich_lesson, spoken, titled


def test_the_most_important_comes_first_with_its_moment() -> None:
    page = checks_html(rich_lesson())
    assert page.index("Settle before") < page.index("Good to know")
    assert 'href="index.html#t=62.25"' in page
    assert "<b>" not in page
    assert "Left &lt;b&gt;or&lt;/b&gt; right?" in page


def test_nothing_to_check_is_said() -> None:
    assert "Nothing needs a look" in checks_html(lesson_of((), seconds=5))


def contrast(one: str, other: str) -> float:
    """WCAG 2.2, "contrast ratio" and "relative luminance"."""

    def luminance(colour: str) -> float:
        parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
        linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


@pytest.mark.parametrize("name", ["ink", "grey", "care"])
def test_text_colours_reach_aa_contrast(name: str) -> None:
    page = checks_html(rich_lesson())
    paper, ink = (page.split(f"--{which}: ")[1][:7] for which in ("paper", name))
    assert contrast(paper, ink) >= 4.5


@pytest.mark.parametrize("lesson", [rich_lesson(), titled(AWKWARD), lesson_of((), seconds=0)])
def test_every_writer_writes_its_file(tmp_path: Path, lesson: Lesson) -> None:
    paths = publish(lesson, tmp_path / "out")
    assert [path.name for path in paths] == list(WRITERS)
    assert sorted(p.name for p in (tmp_path / "out").iterdir()) == sorted(WRITERS)


def test_a_file_in_the_way_is_named(tmp_path: Path) -> None:
    (tmp_path / "out").write_text("x")
    with pytest.raises(FolderError, match="a file stands where"):
        publish(rich_lesson(), tmp_path / "out")


def entries(page: str) -> list[str]:
    return [part.split("</li>")[0] for part in page.split('<li class="entry">')[1:]]


@pytest.mark.parametrize(("many", "folded"), [(3, False), (4, True)])
def test_many_notes_of_fast_speech_do_not_bury_the_others(many: int, folded: bool) -> None:
    fast = [
        Check(code="caption-fast", level="note", message=f"Fast {n}.", start_ms=n * 1_000, end_ms=n * 1_000 + 500)
        for n in range(many)
    ]
    day = Check(code="day", level="note", message="Speaks of Thursday.", start_ms=30_000, end_ms=30_500)
    page = checks_html(rich_lesson().model_copy(update={"checks": (*fast, day)}))
    assert f"Good to know ({many + 1})" in page
    assert all(f"Fast {n}." in page for n in range(many))
    assert ("<details>" in page) == folded
    assert (page.index("Thursday") < page.index("Fast 0.")) == folded
    assert page.count(WHAT_TO_DO["caption-fast"]) == (1 if folded else many)


def test_each_check_shows_the_words_around_it() -> None:
    lesson = rich_lesson()
    check = Check(code="x", level="look", message="Look.", start_ms=12_350, end_ms=12_700)
    (entry,) = entries(checks_html(lesson.model_copy(update={"checks": (check,)})))
    assert "In Steady ah: … Stop <mark>if</mark> it hurts. …" in " ".join(entry.split())


def test_a_long_stretch_shows_its_beginning_only() -> None:
    around = words_around(spoken(" ".join(f"w{n}" for n in range(60)), 0), 3_500, 17_500)
    assert around is not None
    assert around.at.split() == [*(f"w{n}" for n in range(10, 24)), "…"]
    assert around.after == ""
    assert words_around((), 0, 1_000) is None


def test_a_picture_stands_where_it_says_more_than_words() -> None:
    lesson = rich_lesson()
    checks = tuple(
        Check(code=code, level="look", message=code, start_ms=10_000, end_ms=65_000)
        for code in ("no-caution-heard", "word-repaired")
    )
    page = checks_html(lesson.model_copy(update={"checks": checks}), {"b": "stills/01.jpg"})
    assert ['src="stills/01.jpg"' in entry for entry in entries(page)] == [True, False]
    assert "img-src 'self' file:" in page


def test_asked_stands_beside_shown_and_missing_cautions_are_listed() -> None:
    lesson = rich_lesson()
    page = " ".join(checks_html(lesson).split())
    assert "<strong>3 fewer than asked, holds 2 seconds shorter than asked</strong>" in page
    assert uncautioned(lesson) == []
    bare_of = lesson.chapters[1].model_copy(update={"cautions": lesson.chapters[1].cautions[1:]})
    without = lesson.model_copy(update={"chapters": (lesson.chapters[0], bare_of, lesson.chapters[2])})
    assert uncautioned(without) == [bare_of]
    assert "No caution was heard (1)" in checks_html(without)


def test_remarks_that_age_are_shown_with_their_moment() -> None:
    words = spoken("It is raining outside again.", 61_000)
    page = checks_html(lesson_of(words).model_copy(update={"checks": ageing_remarks(words)}))
    assert '<a class="time" href="index.html#t=61">1:01</a> This speaks of the weather' in page


def test_what_settles_a_check_stands_beside_it() -> None:
    check = Check(code="word-repaired", level="note", message="Heard “a”, reads “b”.", start_ms=0, end_ms=1)
    page = checks_html(rich_lesson().model_copy(update={"checks": (check,)}))
    assert "Heard “a”, reads “b”. Listen once. If it is wrong" in page


def test_advice_is_for_checks_that_exist() -> None:
    root = Path(checks.__file__).parents[1]
    others = [path for path in root.rglob("*.py") if path.stem not in {"checks", "sound_report"}]
    source = "".join(path.read_text(encoding="utf-8") for path in others)
    assert [code for code in WHAT_TO_DO if f'"{code}"' not in source] == []
