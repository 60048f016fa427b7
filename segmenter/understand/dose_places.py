"""Where an amount holds: in class, or at home."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import replace

from segmenter.lesson import Where
from segmenter.understand.dose_clauses import OFTEN, Amount, Said
from segmenter.understand.dose_words import CLASS, CLASS_WEAK, HOME

HOME_LIFE = re.compile(
    r"\b(?:homes?(?! (?:again|stretch|straight))|kettle|tea|teatime|coffee|telly|tv|television|the news|the ads|adverts|breakfast|lunch|supper|dinner|meals?|(?<!a )kitchen|"
    r"sofa|settee|couch|armchair|bathroom|bath|shower|sink|bedroom|in bed|bed|pillow|brush (?:your|my) teeth|washing up|dishes|"
    r"radio|in the car|the house|your house|your own (?:\w+ )?(?:chair|homes?|house|time|front room|place)|mornings?|evenings?|nights?|afternoons?|arvo|weekends?|weekdays?|"
    r"every (?:\w+ )?(?:week|fortnight|hour|time you)|whenever (?!you (?:need|like|want|can|feel))|wherever you|(?:next|before your next|until our next) (?:meeting|visit|appointment|session)|"
    r"(?:work|build) (?:it |them |yourself )?up to|on your tod|when you're alone|when you alone|by yourselves)\b"
)
"""Things and hours of daily life: practice that is tied to them is practice at home."""


def placed(said: Said, amounts: Sequence[Amount], carried: Where) -> list[Amount]:
    """Say of each amount whether it holds in class or at home; `carried` is where the sentence before was."""
    marks = list(_marks(said))
    made: list[Amount] = []
    for amount in amounts:
        corrected = (
            next((one for one in reversed(made) if one.field == amount.field), None) if amount.corrects else None
        )
        where = corrected.where if corrected is not None else _where(said, amount, amounts, marks, carried)
        own = said.words(*said.clause(amount.first))
        told = bool(HOME.search(own) or CLASS.search(own)) or (corrected is not None and corrected.told)
        made.append(replace(amount, where=where, told=told))
    return made


def _where(
    said: Said, amount: Amount, amounts: Sequence[Amount], marks: Sequence[tuple[int, Where]], carried: Where
) -> Where:
    first, last = said.clause(amount.first)
    own = [(at, where) for at, where in marks if first <= at < last]
    before = [where for at, where in own if at <= amount.first]
    earlier = [where for at, where in marks if at < first]
    later = [where for at, where in marks if at >= last]
    if before or own or earlier:
        return before[-1] if before else own[0][1] if own else earlier[-1]
    if later:
        # A place said later holds for this number too, unless it comes with a number of its own.
        rivals = any(o.field == amount.field and o.first >= last and not o.corrects for o in amounts)
        if not rivals:
            return later[0]
        return "class" if later[0] == "home" else carried
    if any(other.field in OFTEN for other in amounts):
        return "home"
    return carried


def _marks(said: Said) -> Iterator[tuple[int, Where]]:
    found: list[tuple[int, Where, bool]] = []
    homes = [match.span() for match in HOME.finditer(said.text)]
    found += [(said.token_at(first), "home", True) for first, _ in homes]
    for pattern, where, strong in (
        (CLASS, "class", True),
        (CLASS_WEAK, "class", False),
        (HOME_LIFE, "home", False),
    ):
        for match in pattern.finditer(said.text):
            # "Stop the video here" says home, though "here" alone says class.
            if not any(first <= match.start() < last for first, last in homes):
                found.append((said.token_at(match.start()), "home" if where == "home" else "class", strong))
    for at, where, strong in sorted(found):
        first, last = said.clause(at)
        near = any(sure and other == "class" and first <= spot < last for spot, other, sure in found)
        if not strong and where == "home" and near:
            continue
        if strong or not any(sure and first <= other < last for other, _, sure in found):
            yield at, where
