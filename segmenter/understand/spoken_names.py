"""Names of people that are spoken: a recording may go out only if they agreed to be named.

A name is told by its capital letter inside a sentence and by how it is used: called out ("Well done,
Frank."), introduced, given a title, or somebody that a thing is said of. The rest of its mentions are
found by the name itself. Words in capitals that are days, places after "in" or "to", trade terms of the
catalogue and the like are left alone: a list that cries wolf is not read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from segmenter.lesson import Check, Word
from segmenter.times import clock, counted
from segmenter.understand.catalogue import Catalogue

_NAME = re.compile(r"[A-Z][a-zà-öø-ÿ]+(?:[-'’][A-Z][a-z]+)?|O['’][A-Z][a-z]+")
_TITLES_TEXT = "mr mrs ms miss dr mr. mrs. ms. dr. doctor nurse professor sister uncle aunt auntie"
_CALLED_TEXT = "hello hi hey morning afternoon evening welcome thanks bye goodbye dear sorry done poor"
_TOLD_TEXT = """
    ask tell see thank remind told asked with for and from about meet like says said at when not
"""
_DOES_TEXT = """
    says said wants wanted asked asks told tells is was has had does did will can would could likes loves knows
    goes went came comes made makes gave gives used taught calls called brought reckons thinks keeps
"""
_NOT_TEXT = """
    monday tuesday wednesday thursday friday saturday sunday mondays tuesdays wednesdays thursdays fridays saturdays
    sundays january february march april may june july august september october november december god lord jesus
    christ christmas easter english french german italian spanish irish scottish welsh british american european
    latin greek chinese indian australian canadian african asian olympic olympics internet ok okay i i'm i'll i've
    i'd adam parkinson alzheimer velcro tai chi tv nhs covid earth mars moon sun santa mum mom dad mummy mama papa
    grandma grandpa granny nan nana
"""
_TITLES, _CALLED, _TOLD = (frozenset(text.split()) for text in (_TITLES_TEXT, _CALLED_TEXT, _TOLD_TEXT))
_DOES = frozenset(_DOES_TEXT.split())
_NOT = frozenset(_NOT_TEXT.split()) | _TITLES
"""Capital letters that name nobody in the room: days, months, feasts, peoples, titles, and common words."""
MOST_TIMES, MOST_NAMES = 4, 12


def names_spoken(words: Sequence[Word], catalogue: Catalogue) -> tuple[Check, ...]:
    """Return one check with the names that are spoken and when, or none.

    Parameters
    ----------
    words : sequence of Word
        In order of time; casing as recognisers write it. Text without capitals gives nothing.
    catalogue : Catalogue
        Its names of exercises are nobody's.

    Notes
    -----
    A name that a presenter gives as their own is left out.
    """
    trade = {
        piece.lower()
        for exercise in catalogue.exercises
        for text in (exercise.name, exercise.plain, *exercise.says, *exercise.weak, *exercise.misheard)
        for piece in re.split(r"[^\w'’]+", text)
    }
    found: dict[str, list[int]] = {}
    own: set[str] = set()
    for at in range(len(words)):
        name = _name(words[at].text)
        if name is None or name.lower() in _NOT or (_bare(name) in trade and not _greeted(words, at)):
            continue
        if _introduces(words, at) and words[at].speaker != "other":
            own.add(name)
        elif name in found or _used_as_name(words, at):
            found.setdefault(name, [])
    for word in words:
        name = _name(word.text)
        if name in found:
            found[name].append(word.start_ms)
    told = {name: times for name, times in found.items() if name not in own}
    if not told:
        return ()
    message = (
        f"{'These names are' if len(told) > 1 else 'This name is'} spoken: {_listed(told)}. Make sure that these "
        "people agreed to be named, or take the names out before the recording goes out."
    )
    first = min(min(times) for times in told.values())
    return (Check(code="names-spoken", level="look", message=message, start_ms=first, end_ms=first + 1000),)


def _listed(told: dict[str, list[int]]) -> str:
    parts = []
    for name, times in list(told.items())[:MOST_NAMES]:
        shown = ", ".join(clock(ms) for ms in times[:MOST_TIMES])
        more = f" and {counted(len(times) - MOST_TIMES, 'more time')}" if len(times) > MOST_TIMES else ""
        parts.append(f"{name} ({shown}{more})")
    rest = len(told) - MOST_NAMES
    return "; ".join(parts) + (f"; and {counted(rest, 'more name')}" if rest > 0 else "")


def _name(text: str) -> str | None:
    core = re.sub(r"['’]s?$", "", text.strip("\"'“”‘’().,;:!?…"))
    return core if _NAME.fullmatch(core) else None


def _bare(text: str) -> str:
    return re.sub(r"[^\w'’]", "", text).lower()


def _before(words: Sequence[Word], at: int) -> Iterator[str]:
    """Words before `at` in its sentence, the nearest first, in small letters."""
    for word in reversed(words[max(0, at - 4) : at]):
        if word.text.rstrip("\"'”’").endswith((".", "?", "!", "…")) and word.text.lower() not in _TITLES:
            return
        yield word.text.lower()


def _introduces(words: Sequence[Word], at: int) -> bool:
    before = [_bare(text) for text in _before(words, at)]
    return before[:1] in (["i'm"], ["i’m"]) or before[:2] in (["am", "i"], ["is", "name"], ["name's", "my"])


def _greeted(words: Sequence[Word], at: int) -> bool:
    return _bare(next(_before(words, at), "")) in _CALLED


def _used_as_name(words: Sequence[Word], at: int) -> bool:
    before = list(_before(words, at))
    if not before:
        return False  # the capital may be that of the sentence
    text = words[at].text.rstrip("\"'”’")
    following = _bare(words[at + 1].text) if at + 1 < len(words) else ""
    if before[0] in _TITLES or _bare(before[0]) in _CALLED:
        return True
    if before[0].endswith(",") and text.endswith((".", "!", "?", ",")):
        # Called out after a comma ("not your teeth, Frank."); in a row of them they are things or places.
        return not (len(before) > 1 and before[0][:1].isupper()) and _name(words[at - 1].text) is None
    if following in _DOES and not text.endswith((".", ",", "!", "?")):
        return _bare(before[0]) not in {"the", "a", "this", "that"}
    possessive = re.search(r"['’]s$", text) is not None
    ends = text.endswith((",", ".", "!", "?")) or following in {"for", "to"}
    return _bare(before[0]) in _TOLD and (possessive or ends)
