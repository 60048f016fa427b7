import pytest

from segmenter.understand.evidence import Line
from segmenter.understand.sentences import Sentence
from segmenter.understand.spans import Span
from segmenter.understand.titles import spoken_title

OWN = [Line(Sentence(0, 40, 0, 9_000, ""), 9_000, 0, {}, {})]


@pytest.mark.parametrize(
    ("names", "title"),
    [
        (["the kitchen march,"], "Kitchen march"),
        (["that one", "the owl"], "Owl"),
        (["bunny nose.", "the owl", "The owl."], "Owl"),
        (["it"], None),
        (["a very long way of saying what one does with the tongue"], None),
        ([], None),
    ],
)
def test_titles(names: list[str], title: str | None) -> None:
    spans = [Span(at, at + 1, "mention", name) for at, name in enumerate(names)]
    found = spoken_title(OWN, [*spans, Span(50, 51, "mention", "another chapter"), Span(9, 10, "reps", "ten")])
    assert (found or "").lower() == (title or "").lower()
