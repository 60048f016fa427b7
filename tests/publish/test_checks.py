"""The checks page and the table of writers."""

from __future__ import annotations

from pathlib import Path

import pytest

from segmenter.errors import FolderError
from segmenter.lesson import Lesson
from segmenter.publish.base import WRITERS, publish
from segmenter.publish.checks import checks_html
from tests.lessons import AWKWARD, lesson_of, rich_lesson, titled


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
