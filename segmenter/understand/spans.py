"""Words that are the name of an exercise, a number of repetitions, a length, a side and the like.

A spaCy entity recogniser trained by ``segmenter.understand.train`` on the spans marked in ``models/training``.
It is evidence beside the rules: it names what the catalogue lacks, and says what a lone number measures.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, get_args

from segmenter.lesson import Word
from segmenter.resources import shipped
from segmenter.understand.scripts import SpanLabel

if TYPE_CHECKING:
    from spacy.language import Language
    from spacy.tokens import Doc

LABELS: tuple[SpanLabel, ...] = get_args(SpanLabel)
PIECE = 60
"""Words read at once; more would only cost memory."""


@dataclass(frozen=True)
class Span:
    """``words[first:last]`` of the class, and what they are."""

    first: int
    last: int
    label: SpanLabel
    text: str


def find_spans(words: Sequence[Word]) -> list[Span]:
    """Return the spans that the recogniser that ships finds in the words of a class, in order; none share words."""
    return spans_by(recogniser(), words)


def spans_by(model: Language, words: Sequence[Word]) -> list[Span]:
    """Return the spans that a recogniser finds in the words of a class."""
    spans: list[Span] = []
    for first in range(0, len(words), PIECE):
        doc, places = doc_of(model, [word.text for word in words[first : first + PIECE]])
        for found in model(doc).ents:
            label = next(known for known in LABELS if known == found.label_)
            start, end = first + places[found.start], first + places[found.end - 1] + 1
            if not spans or start >= spans[-1].last:
                spans.append(Span(start, end, label, " ".join(word.text for word in words[start:end])))
    return spans


def doc_of(model: Language, words: Sequence[str]) -> tuple[Doc, list[int]]:
    """Return words as spaCy sees them, and of each token the place of its word."""
    from spacy.tokens import Doc  # noqa: PLC0415 - spaCy takes a second to import

    tokens: list[str] = []
    places: list[int] = []
    for at, word in enumerate(words):
        for token in _tokens(model, word):
            tokens.append(token)
            places.append(at)
    return Doc(model.vocab, words=tokens), places


def _tokens(model: Language, word: str) -> Iterator[str]:
    yield from (token.text for token in model.make_doc(word.strip()) if not token.is_space)


@lru_cache(maxsize=1)
def recogniser() -> Language:
    """Return the recogniser that ships."""
    import spacy  # noqa: PLC0415

    return spacy.load(shipped("ner"))
