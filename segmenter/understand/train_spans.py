"""Train the recogniser of spans: from marked sentences to weights."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from segmenter.understand.scripts import Counted, Labelled, Opens, Said, Script
from segmenter.understand.spans import LABELS, doc_of

if TYPE_CHECKING:
    from spacy.language import Language
    from spacy.training import Example

EPOCHS = 10
_DROPOUT = 0.35
_RATE = 0.001
_BATCH = 32
_TOGETHER = 5
"""Sentences in a row that are read together: what a lone number means stands around it."""
_SEED = 1


@dataclass(frozen=True)
class Passage:
    """Words in a row, and the spans in them as (first word, last word exclusive, label)."""

    words: tuple[str, ...]
    spans: tuple[tuple[int, int, str], ...]


def passages_of(script: Script) -> Iterator[Passage]:
    """Part a class into passages of a few sentences; what is counted is read with them, unmarked."""
    words: list[str] = []
    spans: list[tuple[int, int, str]] = []
    sentences = 0
    for item in script.items:
        if isinstance(item, Said):
            spans += [(first + len(words), last + len(words), label) for first, last, label in _marked(item)]
            words += item.text.split()
            sentences += 1
        elif isinstance(item, Counted):
            words += " ".join(item.groups).split()
        if words and (sentences == _TOGETHER or isinstance(item, Opens)):
            yield Passage(tuple(words), tuple(spans))
            words, spans, sentences = [], [], 0
    if words:
        yield Passage(tuple(words), tuple(spans))


def _marked(said: Said) -> Iterator[tuple[int, int, str]]:
    """Characters to words."""
    starts: list[int] = []
    at = 0
    for word in said.text.split():
        at = said.text.index(word, at)
        starts.append(at)
        at += len(word)
    for span in said.spans:
        inside = [number for number, start in enumerate(starts) if _touches(span, start, said.text.split()[number])]
        if inside:
            yield inside[0], inside[-1] + 1, span.label


def _touches(span: Labelled, start: int, word: str) -> bool:
    return start < span.last and start + len(word) > span.first


def roughly(passage: Passage) -> Passage:
    """Return a passage as recognisers write when they leave out stops and capitals."""
    return Passage(tuple(word.lower().rstrip(".,?!;:") or word for word in passage.words), passage.spans)


def fit_spans(passages: Sequence[Passage], epochs: int = EPOCHS) -> Language:
    """Train a recogniser; the same passages give the same weights on one machine."""
    import spacy  # noqa: PLC0415 - spaCy takes a second to import
    from thinc.api import fix_random_seed  # noqa: PLC0415

    fix_random_seed(_SEED)
    chance = random.Random(_SEED)  # noqa: S311
    model = spacy.blank("en")
    recogniser = model.add_pipe("ner")
    for label in LABELS:
        recogniser.add_label(label)  # type: ignore[attr-defined]
    examples = [*examples_of(model, passages), *examples_of(model, [roughly(passage) for passage in passages])]
    optimizer = model.initialize(lambda: examples[:200])
    for epoch in range(epochs):
        optimizer.learn_rate = _RATE * (1 - epoch / epochs) + 1e-5
        chance.shuffle(examples)
        for first in range(0, len(examples), _BATCH):
            model.update(examples[first : first + _BATCH], sgd=optimizer, drop=_DROPOUT)
    return model


def examples_of(model: Language, passages: Sequence[Passage]) -> list[Example]:
    """Turn passages into what spaCy learns from and scores with."""
    from spacy.training import Example  # noqa: PLC0415

    examples: list[Example] = []
    for passage in passages:
        doc, places = doc_of(model, passage.words)
        truth, _ = doc_of(model, passage.words)
        spans = []
        for first, last, label in passage.spans:
            own = [at for at, place in enumerate(places) if first <= place < last]
            while own and truth[own[-1]].is_punct:
                own.pop()
            if own:
                spans.append(
                    truth.char_span(truth[own[0]].idx, truth[own[-1]].idx + len(truth[own[-1]]), label=label)
                )
        truth.set_ents([span for span in spans if span is not None])
        examples.append(Example(doc, truth))
    return examples


def found_in(model: Language, passages: Sequence[Passage]) -> list[list[tuple[int, int, str]]]:
    """Return the spans that a recogniser finds in each passage, as (first token, last exclusive, label)."""
    docs = model.pipe(example.predicted for example in examples_of(model, passages))
    return [[(span.start, span.end, span.label_) for span in doc.ents] for doc in docs]


def scores_of(
    passages: Sequence[Passage], found: Sequence[Sequence[tuple[int, int, str]]]
) -> dict[str, tuple[float, float]]:
    """Return recall and precision of each label, and of "all", by spaCy's own scorer."""
    import spacy  # noqa: PLC0415
    from spacy.scorer import Scorer  # noqa: PLC0415
    from spacy.tokens import Span  # noqa: PLC0415

    examples = examples_of(spacy.blank("en"), passages)
    for example, spans in zip(examples, found, strict=True):
        doc = example.predicted
        doc.set_ents([Span(doc, first, last, label=label) for first, last, label in spans])
    scored = Scorer.score_spans(examples, "ents")
    rows = {"all": (float(scored["ents_r"]), float(scored["ents_p"]))}
    return rows | {label: (float(row["r"]), float(row["p"])) for label, row in scored["ents_per_type"].items()}
