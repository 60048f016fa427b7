"""Where exercises are named in what was said: phrases of the catalogue, found in inflected speech."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

from segmenter.lesson import Word
from segmenter.understand.catalogue import Catalogue

if TYPE_CHECKING:
    from spacy.matcher import PhraseMatcher
    from spacy.vocab import Vocab

NAMED = 1.0
"""Said by its clinical or plain name."""
SAID = 0.8
"""Said in one of its distinctive spoken ways."""
MISHEARD = 0.6
"""Written as a recogniser is likely to write it."""
SHARED = 0.5
"""Most that a phrase counts for when it names several exercises ("chin tuck")."""
WEAK = 0.3
"""Everyday words that only count beside other evidence ("smile")."""
DENIED = 0.4
"""Share left of a mention after "not", "skip" and the like."""

_STOP = "|"  # stands where a sentence ends, so that no phrase runs across it
_REACH = 4  # words before a phrase in which a denial still concerns it

# Words that come and go inside a phrase without changing what is meant: "look over (your left) shoulder".
_PASSING_WORDS = """
    a an the your my our his her their its this that these those one's both um uh erm er hmm
    just gently slowly softly really very please nicely carefully quite now so okay ok
"""
_PASSING = frozenset(_PASSING_WORDS.split())
# Sides come and go too, but some phrases are nothing without them ("jaw to the left"): those keep them.
_SIDES = frozenset({"left", "right", "other"})
_SIDE = "left"  # one stands for all: what is said of the left is said of the right
_DENIAL_WORDS = """
    not no never don't dont isn't isnt aren't won't wasn't doesn't didn't can't cannot without skip avoid
    instead rather nothing
"""
_DENIALS = frozenset(_DENIAL_WORDS.split())
_IRREGULAR_WORDS = """
    0 zero 1 one 2 two 3 three 4 four 5 five 6 six 7 seven 8 eight 9 nine 10 ten 20 twenty 30 thirty 60 sixty
    held hold stood stand sat sit bent bend stuck stick blew blow sang sing bit bite lay lie lying lie feet foot
    aw ah aah ah ahh ah ahhh ah ahhhh ah eee ee eeee ee ooh oo oooh oo mmm mm mmmm mm
"""
_IRREGULAR = dict(zip(_IRREGULAR_WORDS.split()[::2], _IRREGULAR_WORDS.split()[1::2], strict=True))
_ENDINGS = (("ies", "y"), ("ied", "y"), ("ss", "s"), ("ings", ""), ("ing", ""), ("ed", ""), ("s", ""))
_TOKEN = re.compile(r"[^\W_]+(?:'[^\W_]+)*")
_SHORT = re.compile(r"[^aeiou]*[aeiou][^aeiouwxy]")
_VOWEL = re.compile(r"[aeiouy]")


_SENTENCE_ENDS = (".", "?", "!", "…")
_CLAUSE_ENDS = (",", ";", ":", "–", "—")

_Key = tuple[str, ...]


@dataclass(frozen=True)
class Mention:
    """An exercise named in ``words[first:last]``.

    `strength` runs from 0 to 1 (see the constants of this module); `phrase` is the phrase of the
    catalogue that was found.
    """

    first: int
    last: int
    start_ms: int
    end_ms: int
    exercise: str
    strength: float
    phrase: str


def find_mentions(words: Sequence[Word], catalogue: Catalogue) -> list[Mention]:
    """Find where exercises of the catalogue are named.

    Of phrases that overlap the longest is kept, of equally long ones the strongest. A phrase that
    belongs to several exercises gives a mention of each, with lowered strength.

    Parameters
    ----------
    words : sequence of Word
        The class in order.
    catalogue : Catalogue
        Exercises to look for.

    Returns
    -------
    list of Mention
        In order of time; only mentions of one phrase share words.
    """
    table = _table(catalogue)
    found = set(table.matches(*_tokens_of(words, keep_sides=True)))
    found.update(table.matches(*_tokens_of(words, keep_sides=False)))
    taken = [False] * len(words)
    mentions: list[Mention] = []
    for first, last, key in sorted(found, key=lambda span: (-len(span[2]), -table.strength(span[2]), span)):
        if any(taken[first:last]):
            continue
        taken[first:last] = [True] * (last - first)
        share = DENIED if _denied(words, first) else 1.0
        end_ms = max(word.end_ms for word in words[first:last])
        for exercise, strength, phrase in table.meanings(key):
            mentions.append(
                Mention(first, last, words[first].start_ms, end_ms, exercise, round(strength * share, 3), phrase)
            )
    return sorted(mentions, key=lambda m: (m.first, -m.strength, m.exercise))


def _denied(words: Sequence[Word], first: int) -> bool:
    for at in range(first - 1, max(first - 1 - _REACH, -1), -1):
        if words[at].text.rstrip("\"')”’ ").endswith((*_SENTENCE_ENDS, *_CLAUSE_ENDS)):
            return False
        if any(part in _DENIALS for part in _parts(words[at].text)):
            return True
    return False


class _Table:
    """Phrases by their stems, with what each may mean."""

    def __init__(self, catalogue: Catalogue) -> None:
        from spacy.matcher import PhraseMatcher  # noqa: PLC0415 - spaCy takes a second to import
        from spacy.tokens import Doc  # noqa: PLC0415

        self._vocab: Vocab = _vocab()
        self._meanings: dict[_Key, dict[str, tuple[float, str]]] = defaultdict(dict)
        for exercise in catalogue.exercises:
            graded = [
                *((phrase, WEAK) for phrase in exercise.weak),  # first: weak stays weak though it be a name
                *((phrase.lower(), NAMED) for phrase in (exercise.name, exercise.plain)),
                *((phrase, SAID) for phrase in exercise.says),
                *((phrase, MISHEARD) for phrase in exercise.misheard),
            ]
            for phrase, strength in graded:
                key = tuple(stems(phrase))
                if key:
                    self._meanings[key].setdefault(exercise.id, (strength, phrase))
        self._matcher: PhraseMatcher = PhraseMatcher(self._vocab, attr="ORTH")
        self._matcher.add("exercise", [Doc(self._vocab, words=list(key)) for key in self._meanings])

    def matches(self, tokens: list[str], places: list[int]) -> Iterator[tuple[int, int, _Key]]:
        from spacy.tokens import Doc  # noqa: PLC0415

        for _, start, end in self._matcher(Doc(self._vocab, words=tokens)):
            yield places[start], places[end - 1] + 1, tuple(tokens[start:end])

    def strength(self, key: _Key) -> float:
        return max(strength for _, strength, _ in self.meanings(key))

    def meanings(self, key: _Key) -> list[tuple[str, float, str]]:
        found = self._meanings[key]
        best = max(strength for strength, _ in found.values())
        owners = sum(strength == best for strength, _ in found.values())
        if owners == 1:
            # One exercise owns the phrase; for the others it is a mishearing or an aside.
            limits = {id: 1.0 if strength == best else WEAK for id, (strength, _) in found.items()}
        else:
            limits = dict.fromkeys(found, SHARED)
        return [(id, min(strength, limits[id]), phrase) for id, (strength, phrase) in found.items()]


_tables: list[tuple[Catalogue, _Table]] = []


def _table(catalogue: Catalogue) -> _Table:
    # By identity: hashing some hundred exercises for each call would cost more than the search.
    for known, table in _tables:
        if known is catalogue:
            return table
    table = _Table(catalogue)
    _tables.append((catalogue, table))
    del _tables[:-4]
    return table


@lru_cache(maxsize=1)
def _vocab() -> Vocab:
    import spacy  # noqa: PLC0415

    return spacy.blank("en").vocab


def stems(text: str, *, keep_sides: bool = True) -> list[str]:
    """Return the words of `text` that carry meaning, without their endings.

    >>> stems("Rolling your shoulders")
    ['rol', 'shoulder']
    """
    kept = (part for part in _parts(text) if part not in _PASSING)
    return [_SIDE if part in _SIDES else stem(part) for part in kept if keep_sides or part not in _SIDES]


def _tokens_of(words: Sequence[Word], *, keep_sides: bool) -> tuple[list[str], list[int]]:
    tokens: list[str] = []
    places: list[int] = []
    for at, word in enumerate(words):
        kept = stems(word.text, keep_sides=keep_sides)
        if word.text.rstrip("\"')”’ ").endswith(_SENTENCE_ENDS):
            kept.append(_STOP)
        tokens.extend(kept)
        places.extend([at] * len(kept))
    return tokens, places


def _parts(text: str) -> list[str]:
    return _TOKEN.findall(text.lower().replace("’", "'"))


@lru_cache(maxsize=20_000)
def stem(word: str) -> str:
    """Return `word` in small letters without plural, -ing, -ed, possessive and final e.

    Not a dictionary form: only equal for words that belong together ("squeeze", "squeezing").
    """
    word = _IRREGULAR.get(word, word).removesuffix("'s").replace("isation", "ization")
    for ending, instead in _ENDINGS:
        rest = word.removesuffix(ending)
        if rest != word and len(rest) >= (2 if ending == "s" else 3) and _VOWEL.search(rest):
            dropped_e = ending in {"ing", "ed"} and _SHORT.fullmatch(rest)  # "taking", not "tapping"
            word = rest + ("e" if dropped_e else instead)
            break
    if len(word) > 4 and word[-1] == "e":
        word = word[:-1]
    if len(word) > 3 and word[-1] == word[-2] and word[-1] not in "aeiou":
        word = word[:-1]
    return word
