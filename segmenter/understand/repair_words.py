"""What a repair is, and how it is written into the words: the form as heard, the reason and the times are kept."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from segmenter.lesson import Word

_EDGES = re.compile(r"^([\"'“‘(\[]*)(.*?)([.,;:!?…\"'”’)\]—–-]*)$", re.DOTALL)


def word_set(words: str) -> frozenset[str]:
    """Return the words of a text as a set."""
    return frozenset(words.split())


@dataclass(frozen=True)
class Change:
    """``words[first:last]`` should read `texts`; `confidence` runs from 0 to 1."""

    first: int
    last: int
    texts: tuple[str, ...]
    why: str
    confidence: float


@dataclass(frozen=True)
class Token:
    """A spoken token in small letters: part `part` of `parts` of ``words[word]``."""

    text: str
    word: int
    part: int
    parts: int

    @property
    def opens(self) -> bool:
        """Whether it starts its word."""
        return self.part == 0

    @property
    def closes(self) -> bool:
        """Whether it ends its word."""
        return self.part == self.parts - 1


def tokens_of(words: Sequence[Word]) -> list[Token]:
    """Return the tokens of `words`; a hyphen parts, an apostrophe does not."""
    tokens: list[Token] = []
    for at, word in enumerate(words):
        parts = split(word.text)
        tokens += [Token(text, at, part, len(parts)) for part, text in enumerate(parts)]
    return tokens


def split(text: str) -> list[str]:
    """Return the tokens of a phrase in small letters.

    >>> split("Nasal-to-vowel chant, please")
    ['nasal', 'to', 'vowel', 'chant', 'please']
    """
    return re.findall(r"[^\W_]+(?:'[^\W_]+)*", text.lower().replace("’", "'"))


def closed(text: str) -> bool:
    """Tell whether punctuation follows the word."""
    return text.rstrip("\"'”’) ").endswith((".", ",", ";", ":", "!", "?", "…", "—", "–"))


def ends_sentence(text: str) -> bool:
    """Tell whether a sentence ends with the word."""
    return text.rstrip("\"'”’) ").endswith((".", "!", "?", "…"))


def changed(words: Sequence[Word], changes: Sequence[Change]) -> tuple[Word, ...]:
    """Return the words with `changes` made, which must be in order and apart."""
    made: list[Word] = []
    at = 0
    for change in changes:
        made += words[at : change.first]
        made += _rewritten(words[change.first : change.last], change)
        at = change.last
    return (*made, *words[at:])


def _rewritten(heard: Sequence[Word], change: Change) -> Iterator[Word]:
    """The words of one change; each keeps its share of what was heard, and of its time."""
    opening, first, _ = _parted(heard[0].text)
    closing = _parted(heard[-1].text)[2]
    texts = list(change.texts)
    if first[:1].isupper():
        texts[0] = texts[0][:1].upper() + texts[0][1:]
    texts[0] = opening + texts[0]
    texts[-1] += closing
    for text, share, (start, end) in zip(texts, *_shares(heard, len(texts)), strict=True):
        known = [word.probability for word in share if word.probability is not None]
        before = " ".join(word.heard or word.text for word in share)
        if before == text:
            yield share[0].model_copy(update={"start_ms": start, "end_ms": end})
            continue
        yield Word(
            text=text,
            start_ms=start,
            end_ms=end,
            probability=min(known, default=None),
            heard=before,
            why=change.why,
            speaker=heard[0].speaker,
        )


def _parted(text: str) -> tuple[str, str, str]:
    found = _EDGES.match(text)
    return (found[1], found[2], found[3]) if found else ("", text, "")


def _shares(heard: Sequence[Word], count: int) -> tuple[list[list[Word]], list[tuple[int, int]]]:
    """Deal the heard words out to `count` new ones; a word that becomes several shares its time evenly."""
    if count <= len(heard):
        # The surplus goes to the last: "effort for" became one word because its end was split off.
        groups = [[heard[n]] for n in range(count - 1)] + [list(heard[count - 1 :])]
        return groups, [(group[0].start_ms, max(word.end_ms for word in group)) for group in groups]
    several = count - len(heard) + 1
    whole = heard[0]
    edges = [whole.start_ms + (whole.end_ms - whole.start_ms) * n // several for n in range(several + 1)]
    groups = [[whole], *([] for _ in range(several - 1)), *([word] for word in heard[1:])]
    spans = [(edges[n], edges[n + 1]) for n in range(several)] + [
        (word.start_ms, word.end_ms) for word in heard[1:]
    ]
    return groups, spans
