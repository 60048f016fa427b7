"""Mis-heard trade terms and counts put right, keeping what was heard and why it was changed.

A repaired word carries the form as heard (``Word.heard``) and the reason (``Word.why``). A word that makes
sense where it stands is left alone. Names of people are never changed: two spellings that sound alike
become a suggestion in the checks.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from segmenter.lesson import Check, Word
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.repair_counts import repair_counts
from segmenter.understand.repair_names import names_alike
from segmenter.understand.repair_terms import repair_terms
from segmenter.understand.repair_words import Change, changed
from segmenter.understand.term_phrases import Terms

SURE = 0.75
"""Repairs less certain than this are worth a look."""


@dataclass(frozen=True)
class Repaired:
    """The words after the repair, what was changed, and what a person should look at."""

    words: tuple[Word, ...]
    changes: tuple[Change, ...]
    checks: tuple[Check, ...]


def repair(words: Sequence[Word], catalogue: Catalogue) -> Repaired:
    """Put mis-heard trade terms, counts and their homophones right.

    Parameters
    ----------
    words : sequence of Word
        The whole class in order.
    catalogue : Catalogue
        Exercises whose phrases are looked for; its ``misheard`` lists are tried first.

    Returns
    -------
    Repaired
        ``words`` cover the same time; their number may differ, as one heard word may stand for several.
        ``changes`` name words as they came in; each unsure one is also among ``checks``.
    """
    counts = repair_counts(words)
    taken = {at for change in counts for at in range(change.first, change.last)}
    terms = [
        change
        for change in repair_terms(words, _terms(catalogue))
        if not taken & set(range(change.first, change.last))
    ]
    changes = tuple(sorted([*counts, *terms], key=lambda change: change.first))
    checks = (*(_check(words, change) for change in changes), *names_alike(words))
    return Repaired(changed(words, changes), changes, tuple(sorted(checks, key=lambda check: check.start_ms or 0)))


_known: list[tuple[Catalogue, Terms]] = []


def _terms(catalogue: Catalogue) -> Terms:
    # By identity: hashing some hundred exercises for each call would cost more than the search.
    for known, terms in _known:
        if known is catalogue:
            return terms
    terms = Terms(catalogue)
    _known.append((catalogue, terms))
    del _known[:-4]
    return terms


def _check(words: Sequence[Word], change: Change) -> Check:
    heard = " ".join(word.text for word in words[change.first : change.last])
    return Check(
        code="word-repaired",
        level="note" if change.confidence >= SURE else "look",
        message=f"Heard “{heard}”, reads “{' '.join(change.texts)}”: {change.why}.",
        start_ms=words[change.first].start_ms,
        end_ms=max(word.end_ms for word in words[change.first : change.last]),
    )
