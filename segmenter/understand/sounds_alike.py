"""How alike two words or phrases sound: pronunciations, and the least cost of turning one into the other.

Pronunciations come from the dictionaries of the package ``misaki`` (Apache-2.0; about 160,000 English
words); a word that stands in none of them is read by plain spelling rules. Phones are weighed by what
listeners and recognisers confuse: voicing, place, neighbouring vowels, unstressed vowels, a missing h or r.
"""

from __future__ import annotations

import importlib.util
import json
import re
from collections.abc import Mapping, Sequence
from functools import lru_cache
from pathlib import Path

from segmenter.errors import ModelError

_DICTIONARIES = ("us_gold.json", "us_silver.json")
_STRESS = str.maketrans("", "", "ˈˌː‍ ")
# One sign a phone: what the dictionaries write in several ways is one sound to a recogniser.
_ONE = str.maketrans({"ɾ": "t", "ʔ": "t", "T": "t", "ᵊ": "ə", "ᵻ": "ɪ", "ɐ": "ə", "Q": "O", "ɜ": "ə", "ɚ": "ə"})
_VOWELS: Mapping[str, tuple[float, float]] = {
    "i": (0.0, 0.0), "ɪ": (0.2, 0.15), "e": (0.35, 0.1), "ɛ": (0.6, 0.15), "æ": (0.85, 0.2), "a": (1.0, 0.4),
    "ə": (0.5, 0.5), "ʌ": (0.7, 0.6), "ɑ": (1.0, 0.8), "ɒ": (0.95, 0.9), "ɔ": (0.65, 0.95), "o": (0.35, 1.0),
    "ʊ": (0.2, 0.85), "u": (0.0, 1.0),
    "A": (0.3, 0.1), "I": (0.7, 0.3), "O": (0.4, 0.9), "W": (0.75, 0.7), "Y": (0.45, 0.7),
}  # fmt: skip
"""Openness and backness, 0 to 1 (rounded from the vowel chart of the International Phonetic Alphabet)."""
_CONSONANTS: Mapping[str, tuple[str, float, bool]] = {
    "p": ("stop", 0, False), "b": ("stop", 0, True), "t": ("stop", 3, False), "d": ("stop", 3, True),
    "k": ("stop", 6, False), "ɡ": ("stop", 6, True), "ʧ": ("affricate", 4, False), "ʤ": ("affricate", 4, True),
    "f": ("fricative", 1, False), "v": ("fricative", 1, True), "θ": ("fricative", 2, False),
    "ð": ("fricative", 2, True), "s": ("fricative", 3, False), "z": ("fricative", 3, True),
    "ʃ": ("fricative", 4, False), "ʒ": ("fricative", 4, True), "h": ("fricative", 8, False),
    "m": ("nasal", 0, True), "n": ("nasal", 3, True), "ŋ": ("nasal", 6, True),
    "l": ("glide", 3, True), "ɹ": ("glide", 4, True), "j": ("glide", 5, True), "w": ("glide", 6, True),
}  # fmt: skip
"""Manner, place from the lips (0) to the throat (8), and voice (the same chart)."""
_LOST: Mapping[str, float] = {"ə": 0.3, "ɪ": 0.45, "h": 0.3, "ɹ": 0.35, "j": 0.35, "t": 0.5, "d": 0.5}
_LOST_OTHERWISE = 0.7
_FAR = 1.0

# Longest first at each place; the rules of English spelling that hold more often than not (common practice).
_SPELLING: tuple[tuple[str, str], ...] = (
    ("tion", "ʃən"), ("sion", "ʒən"), ("cious", "ʃəs"), ("tious", "ʃəs"), ("ture", "ʧəɹ"), ("ough", "O"),
    ("augh", "ɔ"), ("eigh", "A"), ("ssion", "ʃən"), ("igh", "I"), ("tch", "ʧ"), ("dge", "ʤ"), ("sch", "sk"),
    ("eau", "O"), ("ph", "f"), ("th", "θ"), ("sh", "ʃ"), ("ch", "ʧ"), ("ck", "k"), ("ng", "ŋ"), ("qu", "kw"),
    ("wh", "w"), ("kn", "n"), ("wr", "ɹ"), ("gn", "n"), ("ps", "ps"), ("rh", "ɹ"), ("gh", "ɡ"), ("ee", "i"),
    ("ea", "i"), ("oo", "u"), ("ou", "W"), ("ow", "O"), ("oa", "O"), ("oi", "Y"), ("oy", "Y"), ("ai", "A"),
    ("ay", "A"), ("au", "ɔ"), ("aw", "ɔ"), ("ah", "ɑ"), ("ar", "ɑɹ"), ("er", "əɹ"), ("ir", "əɹ"), ("or", "ɔɹ"),
    ("ur", "əɹ"), ("ey", "i"), ("ie", "i"), ("ei", "A"), ("ew", "u"), ("ue", "u"), ("ui", "u"), ("eu", "u"),
    ("oe", "O"), ("ce", "s"), ("ci", "sɪ"), ("cy", "si"), ("ge", "ʤ"), ("a", "æ"), ("b", "b"), ("c", "k"),
    ("d", "d"), ("e", "ɛ"), ("f", "f"), ("g", "ɡ"), ("h", "h"), ("i", "ɪ"), ("j", "ʤ"), ("k", "k"), ("l", "l"),
    ("m", "m"), ("n", "n"), ("o", "O"), ("p", "p"), ("r", "ɹ"), ("s", "s"), ("t", "t"), ("u", "ʌ"), ("v", "v"),
    ("w", "w"), ("x", "ks"), ("y", "i"), ("z", "z"),
)  # fmt: skip
_SUFFIXES = (
    ("'s", "z"), ("'d", "d"), ("'ll", "l"), ("'ve", "v"), ("'re", "ɹ"), ("'m", "m"), ("n't", "nt"), ("s", "z"),
    ("ing", "ɪŋ"), ("ed", "d"), ("er", "əɹ"), ("ly", "li"), ("y", "i"), ("ful", "fəl"),
)  # fmt: skip
_PART = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*")
_LETTERS = {
    "a": "A",
    "e": "i",
    "i": "I",
    "o": "O",
    "u": "ju",
    "r": "ɑɹ",
    "s": "ɛs",
    "z": "zi",
    "m": "ɛm",
    "n": "ɛn",
}


def known(word: str) -> bool:
    """Tell whether a word stands in a dictionary, alone or with a common ending.

    >>> known("swallow"), known("swallows"), known("mesoco")
    (True, True, False)
    """
    return _from_dictionary(word.lower()) is not None


@lru_cache(maxsize=20_000)
def phones(word: str) -> str:
    """Return the phones of a word, one sign each.

    >>> phones("weight") == phones("wait"), phones("ear")
    (True, 'ɪɹ')
    """
    word = word.lower().replace("’", "'").strip("'")
    return _from_dictionary(word) or _by_spelling(word)


def phones_of(words: Sequence[str]) -> str:
    """Return the phones of several words, without the borders between them."""
    return _joined(tuple(words))


@lru_cache(maxsize=100_000)
def _joined(words: tuple[str, ...]) -> str:
    return "".join(phones(part) for word in words for part in _PART.findall(word))


def distance(heard: str, meant: str, most: float = 1.0) -> float:
    """Return how far apart two strings of phones are: the least cost of a change, per phone of the longer.

    0 is the same sound; 0.1 a homophone to most ears; 0.3 a usual mis-hearing; above 0.5 another phrase.
    What is further off than `most` is given as 1, and found out sooner.

    >>> distance(phones("bar"), phones("four")) < 0.4 < distance(phones("bar"), phones("six"))
    True
    """
    longest = max(len(heard), len(meant))
    return _cost(heard, meant, most * longest) / longest if longest else 0.0


@lru_cache(maxsize=100_000)
def _cost(heard: str, meant: str, most: float) -> float:
    left_out = [_lost(sign) for sign in meant]
    row = [0.0]
    for cost in left_out:
        row.append(row[-1] + cost)
    for sign in heard:
        put_in, before = _lost(sign), row
        last = before[0] + put_in
        row = [last]
        for at, other in enumerate(meant):
            last = min(before[at] + _swap(sign, other), before[at + 1] + put_in, last + left_out[at])
            row.append(last)
        if min(row) > most:
            return float(max(len(heard), len(meant)))
    return row[-1]


def _lost(sign: str) -> float:
    return _LOST.get(sign, _LOST_OTHERWISE)


@lru_cache(maxsize=4_000)
def _swap(one: str, other: str) -> float:
    if one == other:
        return 0.0
    first, second = _VOWELS.get(one), _VOWELS.get(other)
    if first and second:
        if "ə" in (one, other):
            return 0.25
        return min(0.7, 0.15 + 0.6 * (abs(first[0] - second[0]) + abs(first[1] - second[1])))
    a, b = _CONSONANTS.get(one), _CONSONANTS.get(other)
    if a and b:
        manner = 0.0 if a[0] == b[0] else 0.2 if {a[0], b[0]} <= {"stop", "affricate", "fricative"} else 0.45
        return min(_FAR, 0.05 + manner + 0.12 * abs(a[1] - b[1]) + 0.2 * (a[2] != b[2]))
    if {one, other} in ({"w", "u"}, {"j", "i"}, {"l", "O"}, {"l", "ʊ"}, {"ɹ", "ə"}):
        return 0.3
    return _FAR


@lru_cache(maxsize=20_000)
def _from_dictionary(word: str) -> str | None:
    entries = _entries()
    if word in entries:
        return entries[word]
    for ending, sound in _SUFFIXES:
        rest = word.removesuffix(ending)
        if rest == word or len(rest) < (1 if "'" in ending else 3):
            continue
        for stem in (rest, rest + "e", rest + "le", rest[:-1] if rest[-1] == rest[-2:-1] else rest):
            if stem in entries:
                return entries[stem] + sound
    return None


@lru_cache(maxsize=1)
def _entries() -> dict[str, str]:
    # Found without importing the package, which would bring what it needs to speak.
    found = importlib.util.find_spec("misaki")
    if found is None or found.origin is None:
        raise ModelError("the pronunciation dictionary is missing", None, "Install the program again")
    entries: dict[str, str] = {}
    for name in reversed(_DICTIONARIES):
        path = Path(found.origin).parent / "data" / name
        try:
            rows = json.loads(path.read_text(encoding="utf-8"))
        except (OSError, ValueError) as error:
            raise ModelError(
                "the pronunciation dictionary cannot be read", path, "Install the program again"
            ) from error
        for word, said in rows.items():
            text = said if isinstance(said, str) else said.get("DEFAULT")
            # Names and abbreviations are no words of speech: "MASA" would make typing errors known.
            if text and (word == word.lower() or word == "I"):
                entries[word.lower()] = text.translate(_STRESS).translate(_ONE)
    return entries


def _by_spelling(word: str) -> str:
    if len(word) == 1:
        return _LETTERS.get(word, word)
    if not re.search(r"[aeiouy]", word):
        return "".join(_LETTERS.get(letter, letter) for letter in word)
    word = re.sub(r"(?<=[^aeiouy])e$", "", word)
    word = re.sub(r"([^aeiou])\1", r"\1", word)
    made, at = "", 0
    while at < len(word):
        for letters, sound in _SPELLING:
            if word.startswith(letters, at):
                made += sound
                at += len(letters)
                break
        else:
            at += 1
    return made
