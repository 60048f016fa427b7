"""Trade terms that were mis-heard: phrases of the catalogue that sound like what was written.

A phrase is put in where the words around the mis-heard part are right, where the whole sounds the same,
or where the catalogue lists the mis-hearing. How far the sound may be off depends on how little the
words as heard make sense: no English word, or one the recogniser was unsure of, may be further off.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from segmenter.lesson import Word
from segmenter.understand.repair_words import Change, Token, closed, ends_sentence, tokens_of
from segmenter.understand.sounds_alike import distance, known, phones, phones_of
from segmenter.understand.term_phrases import EPONYMS, FIXED, FUNCTION, LEAST_PHONES, OPPOSITES, Phrase, Terms

SURE = SAME = 0.1
"""Parts that make sense as heard are changed only for a phrase that sounds the same up to this."""
LONG_SAME = 0.17
"""The same for parts of `LEAST_PHONES` or more: so long a likeness is seldom chance."""
UNSURE = 0.42
"""Up to this where a word as heard is no English word."""
DOUBTED = 0.34
"""Up to this where the recogniser was unsure of a word."""
DOUBT = (0.4, 0.8)
"""Probability of a word up to which the recogniser counts as unsure, and from which as sure."""
DOUBT_TOGETHER = 0.65
"""Mean probability of words below which all of them may be another phrase."""
WHOLE = 0.2
"""And the whole phrase may be no further off than this."""
LEAST = 0.6
"""Repairs less certain than this are not made."""
LONGEST = 4
"""Words as heard that may stand for one mis-heard part."""
NEAR_WORDS = 80
"""Words around in which another mention of the family supports a repair."""
_PARTICIPLES = {"bent": "bend", "held": "hold", "stood": "stand", "sat": "sit", "swung": "swing", "stuck": "stick"}


@dataclass(frozen=True)
class _Found:
    """Tokens ``first:last`` stand for ``phrase``; the mis-heard part is ``wrong`` and should read ``meant``."""

    first: int
    last: int
    wrong: tuple[int, int]
    meant: tuple[str, ...]
    phrase: Phrase
    far: float
    confidence: float
    why: str


class _Text:
    """The tokens of a class, with how much sense each makes."""

    def __init__(self, words: Sequence[Word], terms: Terms) -> None:
        self.words = words
        self.tokens: list[Token] = tokens_of(words)
        self.plain = [token.text for token in self.tokens]
        self.ends = [ends_sentence(words[t.word].text) and t.closes for t in self.tokens]
        self.parted = [closed(words[t.word].text) and t.closes for t in self.tokens]
        self.sense = [self._sense(token, terms) for token in self.tokens]
        self.right = [False] * len(self.tokens)
        self.families: list[tuple[int, str]] = []
        longest = max((len(tokens) for tokens in terms.phrases), default=0)
        for first in range(len(self.tokens)):
            for last in range(first + 2, min(first + longest, len(self.tokens)) + 1):
                phrase = terms.phrases.get(tuple(self.plain[first:last]))
                if phrase is not None:
                    self.right[first:last] = [True] * (last - first)
                    self.families.append((first, phrase.family))

    def _sense(self, token: Token, terms: Terms) -> float:
        """How far off the sound of this word may be: more where it makes less sense."""
        text = token.text
        if any(letter.isdigit() for letter in text):
            return 0.0
        if not re.search(r"[aeiouy]", text):
            return SURE  # "hhh": a sound, not a word
        if not known(text) and text not in terms.vocabulary:
            return UNSURE
        probability = self.words[token.word].probability
        if probability is None or probability >= DOUBT[1]:
            return SURE
        return max(SURE, DOUBTED * min(1.0, (DOUBT[1] - probability) / (DOUBT[1] - DOUBT[0])))

    def doubted(self, first: int, last: int) -> bool:
        """Whether the recogniser was unsure of every token, and of all of them together."""
        known_of = [self.words[token.word].probability for token in self.tokens[first:last]]
        sure = [1.0 if probability is None else probability for probability in known_of]
        return last - first > 1 and max(sure) < DOUBT[1] and sum(sure) / len(sure) < DOUBT_TOGETHER

    def maybe_name(self, at: int) -> bool:
        """Whether a capital in mid-sentence makes it likely to be somebody's name."""
        word = self.words[self.tokens[at].word].text.lstrip("\"'“‘(")
        return word[:1].isupper() and not known(self.plain[at]) and at > 0 and not self.ends[at - 1]

    def unbroken(self, first: int, last: int) -> bool:
        """Whether no punctuation parts the tokens."""
        return not any(self.parted[first : last - 1])

    def near(self, at: int, family: str) -> bool:
        """Whether the family is mentioned rightly close by."""
        return any(abs(place - at) <= NEAR_WORDS and found == family for place, found in self.families)


def repair_terms(words: Sequence[Word], terms: Terms) -> list[Change]:
    """Return what to change in trade terms, in order and apart.

    Parameters
    ----------
    words : sequence of Word
        The whole class.
    terms : Terms
        What to look for.
    """
    text = _Text(words, terms)
    found = [*_listed(text, terms), *_anchored(text, terms), *_by_sound(text, terms)]
    taken = [False] * len(words)
    changes: list[Change] = []
    for one in sorted(
        (one for one in found if one.confidence >= LEAST), key=lambda f: (-f.confidence, f.first - f.last, f.first)
    ):
        change = _change(text, one)
        if not any(taken[change.first : change.last]):
            taken[change.first : change.last] = [True] * (change.last - change.first)
            changes.append(change)
    return sorted(changes, key=lambda change: change.first)


def _change(text: _Text, found: _Found) -> Change:
    first, last = found.wrong
    tokens = text.tokens
    meant = list(found.meant)
    # What is written together with the mis-heard part is kept: "nasal-developed" becomes "nasal-to-vowel".
    before = tokens[first].part
    after = tokens[last - 1].parts - 1 - tokens[last - 1].part
    meant = [*text.plain[first - before : first], *meant, *text.plain[last : last + after]]
    texts = [one.capitalize() if one in EPONYMS else one for one in meant]
    if before or after:
        texts = ["-".join(texts)]
    return Change(
        tokens[first].word, tokens[last - 1].word + 1, tuple(texts), found.why, round(found.confidence, 2)
    )


def _listed(text: _Text, terms: Terms) -> Iterator[_Found]:
    for first in range(len(text.plain)):
        for last in range(first + 1, min(first + terms.longest_listed, len(text.plain)) + 1):
            heard = tuple(text.plain[first:last])
            phrase = terms.listed(heard)
            if phrase is None or any(text.ends[first : last - 1]) or all(text.right[first:last]):
                continue
            start, end, meant = _differing(heard, phrase.tokens)
            if _fixed(heard[start:end], meant) or not meant or "".join(heard) == "".join(phrase.tokens):
                continue
            senseless = max(text.sense[first + start : first + end], default=0.0) > SURE
            far = distance(phones_of(heard), phrase.sound)
            # Two English words in a row are chance more often than three, and need a reason beside them; three
            # with none that joins them ("puff tuck cut") are hardly ever a sentence.
            likely = len(heard) >= 3 or text.near(first, phrase.family)
            unjoined = len(heard) >= 3 and FUNCTION.isdisjoint(heard)
            if senseless or (likely and far <= (UNSURE if unjoined else WHOLE)):
                why = f"“{' '.join(heard)}” is how “{' '.join(phrase.tokens)}” is often heard"
                yield _Found(
                    first, last, (first + start, first + end), meant, phrase, far, 0.92 - 0.3 * far, why
                )  # fmt: skip


def _differing(heard: Sequence[str], meant: Sequence[str]) -> tuple[int, int, tuple[str, ...]]:
    """The part of `heard` that differs from `meant`, and what should stand there."""
    start = 0
    while start < min(len(heard), len(meant)) and heard[start] == meant[start]:
        start += 1
    end = 0
    while end < min(len(heard), len(meant)) - start and heard[-1 - end] == meant[-1 - end]:
        end += 1
    if start == len(heard) - end:  # nothing is wrong, something is missing: take in a neighbour
        start = max(0, start - 1)
        if start == len(heard) - end:
            end = max(0, end - 1)
    return start, len(heard) - end, tuple(meant[start : len(meant) - end])


def _anchored(text: _Text, terms: Terms) -> Iterator[_Found]:
    """Phrases of which some words are right, beside or around a part that only sounds right."""
    plain = text.plain
    for at, token in enumerate(plain):
        for phrase in terms.starting(token):
            right = 1
            most = min(len(phrase.tokens), len(plain) - at)
            while right < most and plain[at + right] == phrase.tokens[right]:
                right += 1
            if right < len(phrase.tokens):
                yield from _continued(text, at, right, phrase)
        for phrase in terms.ending(token):
            yield from _preceded(text, at, phrase)


def _continued(text: _Text, at: int, right: int, phrase: Phrase) -> Iterator[_Found]:
    """The first `right` words of `phrase` stand at `at`; the part after them may be mis-heard."""
    rest = phrase.tokens[right:]
    start = at + right
    for kept in range(len(rest)):
        meant = rest[: len(rest) - kept]
        for size in range(1, min(LONGEST, len(meant) + 2) + 1):
            end = start + size + kept
            if end > len(text.plain):
                break
            if kept and tuple(text.plain[start + size : end]) != rest[len(rest) - kept :]:
                continue
            yield from _judged(text, (at, end), (start, start + size), meant, phrase)


def _preceded(text: _Text, at: int, phrase: Phrase) -> Iterator[_Found]:
    """The last words of `phrase` end at `at`; the part before them, up to its start, may be mis-heard."""
    right = 1
    while right < min(len(phrase.tokens), at + 1) and text.plain[at - right] == phrase.tokens[-1 - right]:
        right += 1
    if right == len(phrase.tokens):
        return
    meant = phrase.tokens[: len(phrase.tokens) - right]
    end = at + 1 - right
    for size in range(1, min(LONGEST, len(meant) + 2, end) + 1):
        yield from _judged(text, (end - size, at + 1), (end - size, end), meant, phrase)


def _judged(
    text: _Text, span: tuple[int, int], wrong: tuple[int, int], meant: tuple[str, ...], phrase: Phrase
) -> Iterator[_Found]:
    """The phrase, if the part that is wrong sounds enough like it."""
    heard = text.plain[wrong[0] : wrong[1]]
    if not _open_to_change(text, span, wrong, meant):
        return
    was, should = phones_of(heard), phones_of(meant)
    if not was or not should or abs(len(was) - len(should)) > 3:
        return
    sense = max(text.sense[wrong[0] : wrong[1]])
    lost = _ending_lost(heard, meant, phrase)
    far = distance(was, should, UNSURE)
    whole = far * max(len(was), len(should)) / len(phrase.sound)
    limit = sense
    if sense <= SURE and not lost:
        if _forms(heard) & _forms(meant) or all(word in FUNCTION for word in heard):
            return
        limit = LONG_SAME if len(should) >= LEAST_PHONES else SAME
    if far <= (UNSURE if lost else limit) and whole <= WHOLE:
        why = f"it sounds like “{' '.join(phrase.tokens)}”"
        yield _Found(*span, wrong, meant, phrase, far, 0.95 - far - 0.5 * whole, why)


def _open_to_change(text: _Text, span: tuple[int, int], wrong: tuple[int, int], meant: tuple[str, ...]) -> bool:
    """Whether a part may be changed at all: no number or side, no other exercise, no border inside."""
    heard = text.plain[wrong[0] : wrong[1]]
    anchors = [*text.plain[span[0] : wrong[0]], *text.plain[wrong[1] : span[1]]]
    if any(text.right[wrong[0] : wrong[1]]) or _fixed(heard, meant):
        return False
    return not all(anchor in FUNCTION for anchor in anchors) and text.unbroken(*span)


def _ending_lost(heard: Sequence[str], meant: Sequence[str], phrase: Phrase) -> bool:
    """Whether only the -ed of a describing word went ("close lip smile"), which the tongue swallows."""
    return (
        len(heard) == len(meant) == 1
        and meant[0] != phrase.tokens[-1]
        and meant[0].endswith("ed")
        and phones(meant[0])[:-1] == phones(heard[0])
    )


def _fixed(heard: Sequence[str], meant: Sequence[str]) -> bool:
    """Whether a number, a side or an opposite is among what would change."""
    if not (FIXED.isdisjoint(heard) and FIXED.isdisjoint(meant)) or any(map(str.isdigit, "".join(heard))):
        return True
    return not (OPPOSITES.isdisjoint(heard) or OPPOSITES.isdisjoint(meant))


def _forms(tokens: Sequence[str]) -> set[str]:
    whole = [_PARTICIPLES.get(token, token) for token in tokens if token not in FUNCTION]
    return {re.sub(r"(?:'s|s|es|ing|ed|d|e)$", "", token) for token in whole}


def _by_sound(text: _Text, terms: Terms) -> Iterator[_Found]:
    """Phrases that sound the same as a whole, without any word that is right."""
    for first in range(len(text.plain)):
        for last in range(first + 1, min(first + 5, len(text.plain)) + 1):
            if not text.unbroken(first, last) or text.right[last - 1]:
                break
            heard = text.plain[first:last]
            sound = phones_of(heard)
            if len(sound) < LEAST_PHONES - 2:
                continue
            # Only the words that carry meaning count: "the" alone makes no phrase senseless.
            sense = max(text.sense[first:last])
            if all(text.sense[n] <= SURE for n in range(first, last) if text.plain[n] not in FUNCTION):
                sense = SURE
            if SURE < sense < DOUBTED:
                # Where no word around is right, a little doubt about one word is not enough.
                sense = DOUBTED if text.doubted(first, last) else SURE
            candidates = [*terms.sounding(sound), *(terms.alone(sound) if sense > SURE else ())]
            for phrase in candidates:
                meant = phrase.tokens
                if abs(len(sound) - len(phrase.sound)) > 3 or tuple(heard) == meant or _fixed(heard, meant):
                    continue
                if set(heard) & set(meant) - FUNCTION:
                    continue  # such phrases are judged by the part that differs
                if len(meant) == 1 and (sense <= SURE or (sense < UNSURE and len(heard) > 1)):
                    continue
                far = distance(sound, phrase.sound, WHOLE)
                limit = WHOLE if sense > SURE else SAME / 2
                # A name is nobody's to change, unless the phrase itself is called after somebody.
                joined = "".join(heard) == "".join(meant)
                if not joined and not EPONYMS & {*meant} and any(text.maybe_name(n) for n in range(first, last)):
                    continue
                same_words = joined or bool(_forms(heard) & _forms(meant))
                if far > limit or (sense <= SURE and (same_words or bool({*heard} & FUNCTION - {*meant}))):
                    continue
                why = f"it sounds like “{' '.join(meant)}”"
                yield _Found(first, last, (first, last), meant, phrase, far, 0.93 - far, why)
