"""Where a run of spoken words may be parted: into cues, and a cue into lines."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate

from segmenter.publish.limits import LINE

_WEAK_TEXT = """
    a an the and or but nor so because if when while until unless though although than that as whether
    of to in into on onto at for from by with without over under round around through between behind across along
    toward towards against about above below near per like during off
    my your his her its our their this these those each every some any no another both all
    i'm you're we're they're he's she's it's that's let's i'll you'll we'll they'll i'd you'd we'd i've you've we've
    i you he she we they who which
    am is are was were be been being do does did don't doesn't didn't have has had will would can can't could
    should may might must won't not never very too quite more most less really just only
    mr mrs ms miss dr prof st
"""
_WEAK = frozenset(_WEAK_TEXT.split())
"""Words that hang on to what follows: articles, conjunctions, prepositions, owners, helping verbs, titles."""
_MODIFIERS_TEXT = """
    long short deep big small slow gentle steady good great nice next last first second third fourth fifth other own
    same new old little left right hard soft high low loud quiet firm clear easy full half single whole warm cold
    dry wet straight comfortable strong light heavy early late few many much several extra
"""
_MODIFIERS = frozenset(_MODIFIERS_TEXT.split())
"""Adjectives frequent in classes; no list of them is ever whole."""
_NUMBER_WORDS_TEXT = """
    one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen seventeen
    eighteen nineteen twenty thirty forty fifty sixty seventy eighty ninety hundred thousand half quarter
"""
_NUMBER_WORDS = frozenset(_NUMBER_WORDS_TEXT.split())
_NUMBER = re.compile(r"\d[\d.,:/-]*%?")
_PARTICLES = frozenset({"up", "down", "off", "away", "back", "out"})
"""Words that belong to the verb before them ("wake up")."""
_ADJECTIVE_ENDS = ("ful", "ous", "less", "able", "ible", "ial")
_STARTERS_TEXT = "but so because if when while then that which who where until as before after"
_STARTERS = frozenset(_STARTERS_TEXT.split())
"""Words that open a clause: a good place to part before."""
_TITLES = frozenset({"mr", "mrs", "ms", "dr", "prof", "st"})
_JOINS_NUMBERS = frozenset({"to", "or", "and", "past", "point", "by", "times"})
_STOPS = (",", ";", ":", "-", "–", "—")
_BRACKETS = "\"'“”‘’()[]"


@dataclass(frozen=True)
class Token:
    """One piece of text without blanks, when it is spoken, and whether another than the presenter says it."""

    text: str
    start_ms: int
    end_ms: int
    other: bool = False

    @property
    def ends_sentence(self) -> bool:
        """Whether a sentence ends here."""
        return self.text.rstrip("\"')]”’").endswith((".", "?", "!", "…"))

    @property
    def asks(self) -> bool:
        """Whether a question ends here."""
        return self.text.rstrip("\"')]”’").endswith("?")

    @property
    def middle_ms(self) -> int:
        """Half way through it."""
        return (self.start_ms + self.end_ms) // 2


def bare_word(text: str) -> str:
    """Return a word in lower case without the marks around it.

    >>> bare_word("“Don’t,”")
    "don't"
    """
    return text.strip(_BRACKETS + ".,;:!?…-–—").replace("’", "'").lower()


def is_number(text: str) -> bool:
    """Whether a word is a number, in figures or in words.

    >>> is_number("Twelve,"), is_number("10"), is_number("twenty-five"), is_number("tenor")
    (True, True, True, False)
    """
    word = bare_word(text)
    return bool(_NUMBER.fullmatch(word)) or (word != "" and set(word.split("-")) <= _NUMBER_WORDS)


def may_part(texts: Sequence[str], at: int) -> bool:
    """Whether a line or a cue may end before ``texts[at]``.

    Not inside a name, a number with its unit, a range of numbers; not after a word that hangs on to the next
    (DCMP Captioning Key, text: keep modifier and word, preposition and phrase, first and last name, helping
    verb and verb together; end no line on a conjunction). Knows English; elsewhere only names and figures.

    >>> may_part("hold for twelve seconds, then rest".split(), 3)
    False
    >>> may_part("hold for twelve seconds, then rest".split(), 4)
    True
    """
    if not 0 < at < len(texts):
        return True
    one, other = texts[at - 1], texts[at]
    word, following = bare_word(one), bare_word(other)
    if one.rstrip(_BRACKETS).endswith((".", "?", "!", "…", *_STOPS)):
        return word not in _TITLES
    if is_number(one):
        joins = following in _JOINS_NUMBERS and at + 1 < len(texts) and is_number(texts[at + 1])
        return not joins and following in _WEAK
    if word in _JOINS_NUMBERS and is_number(other):
        return False
    modifies = word in _MODIFIERS or (word.endswith(_ADJECTIVE_ENDS) and word == one.lower())
    hangs_on = word in _WEAK or following in _PARTICLES or (modifies and following not in _WEAK)
    return not hangs_on and not (_is_name(one) and _is_name(other))


def _is_name(text: str) -> bool:
    letters = text.strip(_BRACKETS)
    return letters[:1].isupper() and letters[1:2].islower() and bare_word(text) not in _WEAK


def part_cost(tokens: Sequence[Token], at: int) -> float:
    """How bad it is to part before ``tokens[at]``: 0 after a sentence, high where it is not allowed.

    A silence there makes it better: speech is parted where it pauses (DCMP, text).
    """
    if not 0 < at < len(tokens):
        return 0.0
    before = tokens[at - 1]
    if not may_part([t.text for t in tokens[max(0, at - 2) : at + 2]], min(at, 2)):
        return 36.0
    if before.ends_sentence:
        return 0.0
    relief = min(max(0, tokens[at].start_ms - before.end_ms), 900) / 150
    if before.text.endswith(_STOPS):
        return max(0.0, 3.0 - relief)
    return max(0.0, (4.0 if bare_word(tokens[at].text) in _STARTERS else 8.0) - relief)


class Typesetter:
    """Sets runs of words in one or two lines at the best place.

    A change of speaker is a line of its own with a dash before both (BBC Subtitle Guidelines, dashes; from
    memory). A single token that is longer than a line stands alone, since words are never cut.

    Attributes
    ----------
    costs : list of float
        `part_cost` before each token.
    turns : list of bool
        Whether each token takes over from another speaker; the presenter speaks first.
    """

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = tokens
        self.costs = [part_cost(tokens, at) for at in range(len(tokens) + 1)]
        self.turns = [token.other != (at > 0 and tokens[at - 1].other) for at, token in enumerate(tokens)]
        self._turned = [0, *accumulate(self.turns)]
        self._width = [0, *accumulate(len(token.text) + 1 for token in tokens)]

    def break_of(self, first: int, last: int) -> tuple[float, int | None] | None:
        """Find where the second line of ``tokens[first:last]`` starts; None when they do not fit.

        Returns
        -------
        cost : float
            How bad the break is, 0 for one line.
        second : int or None
            The token that the second line starts with; None for one line.
        """
        turns = self._turned[last] - self._turned[first + 1]
        dashes = (2 * (self.turns[first] or turns > 0), 2 * turns)
        whole = dashes[0] + self._width[last] - self._width[first] - 1
        if not turns and (whole <= LINE or last - first == 1):
            return 0.0, None
        if turns > 1 or whole > 2 * LINE:
            return None
        best: tuple[float, int | None] | None = None
        for at in range(first + 1, last):
            upper = dashes[0] + self._width[at] - self._width[first] - 1
            lower = dashes[1] + self._width[last] - self._width[at] - 1
            if max(upper, lower) > LINE or (turns and not self.turns[at]):
                continue
            cost = 0.0 if turns else self.costs[at] + abs(upper - lower) / 12
            if best is None or cost < best[0]:
                best = cost, at
        return best

    def lines(self, first: int, last: int) -> tuple[str, ...]:
        """Return ``tokens[first:last]`` as lines; what does not fit in two stays on one."""
        found = self.break_of(first, last)
        second = last if found is None or found[1] is None else found[1]
        inner = any(self.turns[first + 1 : last])
        parts = ((first, second, inner or self.turns[first]), (second, last, inner))
        return tuple(
            ("- " if dashed else "") + " ".join(token.text for token in self.tokens[start:end])
            for start, end, dashed in parts
            if start < end
        )
