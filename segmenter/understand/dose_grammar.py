"""The small, closed word classes of English that show who speaks of what, and whether it was or shall be.

Closed classes hold for every speaker, so a rule built on them needs no list of things people might say:
a number with nothing but such words around it speaks of what the class is doing.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Literal

from segmenter.understand.numbers import NUMBER_WORDS

Person = Literal["i", "you", "we", "other", "thing"]


def all_of(words: str) -> frozenset[str]:
    """Return the words of a text as a set."""
    return frozenset(words.split())


_PEOPLE: tuple[tuple[Person, frozenset[str]], ...] = (
    ("i", all_of("i")),
    ("you", all_of("you y'all yous youse ye")),
    ("we", all_of("we us")),
    ("other", all_of("he she they who nobody somebody someone people patients others man woman lady fellow chap")),
    ("thing", all_of("it that this which")),
)
PERSON: dict[str, Person] = {
    **{word: person for person, words in _PEOPLE for word in words},
    **{
        word + end: person
        for person, words in _PEOPLE
        for word in words
        for end in ("'ll", "'d", "'re", "'s", "'m", "'ve")
        if word + end != "that'd"
    },
    "let's": "we",
    "let": "you",
}
"""Who a subject pronoun means; with its contracted verb too."""

PAST = all_of(
    "had was were did took came went got saw made ran lasted heard told said met lost gave began ate drank bought cost "
    "kept sang counted used managed walked lived moved arrived started asked worked finished taught thought knew found "
    "sold won grew stood sat wrote read called bred drove flew rode wore lay tried needed wanted sent held invented "
    "born been seen done gone"
)
"""Verbs that tell of something past, where a subject stands before them."""

PRESENT = all_of(
    "is are has takes take goes go comes come opens open closes meets meet starts leaves runs costs needs makes gets says "
    "wants likes eats weighs lives works does have hold holds begin begins"
)
"""Verbs of a thing that is told about."""

ASKING = all_of(
    "want need like love would should shall say expect mean suggest recommend ask show think hope reckon do will prefer "
    "propose give i'll i'd going go doing showing asking aiming looking shall happy grateful"
)
"""What a speaker does with an "I" who asks for something: "I'd like ten"."""

PREPOSITIONS = all_of(
    "of in on at to for from with by into onto over under through off out up down about around as than like per between "
    "after before during until till since against within without across along behind beside near past round toward towards"
)
FUNCTION = (
    PREPOSITIONS
    | frozenset(PERSON)
    | all_of(
        "the a an this that these those each every either both all any some another other others more less most least "
        "enough and or but so then nor yet because if when while where as though although unless whether once "
        "me him her us them my your his its our their mine yours ours myself yourself yourselves themselves one ones "
        "am is are was were be been being do does did doing done have has had having can could will would shall should "
        "may might must cannot not don't doesn't didn't isn't it's won't can't couldn't wouldn't shouldn't "
        "here there now today again together please just only even also too still already always never ever maybe perhaps "
        "almost nearly about quite rather very really nice slow quick slowly quickly gently softly gentle easy altogether "
        "alone first last next well okay ok right left yes no oh um uh er ah hey lovely good great fine ready everyone "
        "everybody folks friends tonight later tomorrow plenty total row what how why whenever wherever however "
        "straight forward forwards back backwards sideways clockwise apiece daily max maximum tops minimum "
        "anyway instead somewhere anywhere home sorry actually let lets"
    )
)
"""Words that carry grammar, place or manner, but name no thing."""

_SOFT = all_of("about around only just maybe another all roughly")
_BE = all_of("is are was were will isn't aren't")
_OPENERS = all_of(
    "so and now right well okay ok then but oh um uh er lovely good great fine yes no also or because anyway alright "
    "see look hey plus just please maybe perhaps only"
)


def person_before(words: Sequence[str]) -> tuple[Person | None, Sequence[str]]:
    """Return whom the last subject among `words` means, and the words after it.

    >>> person_before("so we did".split())
    ('we', ['did'])
    """
    for at in range(len(words) - 1, -1, -1):
        if words[at] == "there's" or (words[at] == "there" and words[at + 1 : at + 2] and words[at + 1] in _BE):
            return "thing", ["there", *words[at + 1 :]]
        person = PERSON.get(words[at])
        if (
            words[at] == "who"
            and at
            and words[at - 1] in {"those", "you", "them", "people", "ones", "anyone", "everyone"}
        ):
            return "you", list(words[at + 1 :])
        if person is None or _is_object(words, at):
            continue
        own = words[at].partition("'")[2]
        return person, ([f"'{own}"] if own else []) + list(words[at + 1 :])
    return None, list(words)


def _is_object(words: Sequence[str], at: int) -> bool:
    """Whether "you", "it", "that" is what something is done to: "I told you", "he sang it"."""
    if words[at] not in {"you", "it", "this", "that", "us"}:
        return False
    before, after = words[at - 1] if at else "", [word for word in words[at + 1 :] if word not in _SOFT]
    return (
        not after
        or is_foreign(before)
        or before in PAST
        or before in PREPOSITIONS
        or before in {"do", "make", "hold", "keep", "repeat", "try", "take", "say"}
    )


def opens_with(words: Sequence[str]) -> int:
    """Return how many words of an utterance only open it ("so, right, now")."""
    return next((at for at, word in enumerate(words) if word not in _OPENERS), len(words))


def is_foreign(word: str) -> bool:
    """Whether a word is neither grammar nor manner, so that it names a thing or a deed."""
    return (
        word not in FUNCTION
        and word not in NUMBER_WORDS
        and not word.endswith("ly")
        and not re.fullmatch(r"[\d.,:-]*", word)
    )
