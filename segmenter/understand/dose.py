"""Doses as they were asked for: how many, how long, how often, in class and for home.

Numbers are read a sentence at a time (`dose_reading`, `dose_phrases`); here they become
doses: what is said of one place in neighbouring sentences is one dose, and a correction
replaces what it corrects. What was not said stays None.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from segmenter.lesson import Ask, Where, Word
from segmenter.understand.counts import find_counts
from segmenter.understand.dose_clauses import OFTEN, Amount, Field, Said, Utterance, around, utterances_in
from segmenter.understand.dose_phrases import (
    Breathing,
    breathing,
    effort_of,
    frequencies,
    is_when,
    side_of,
    vague_amounts,
)
from segmenter.understand.dose_places import placed
from segmenter.understand.dose_reading import read_amounts
from segmenter.understand.dose_verdicts import Weighed, outweighed, within
from segmenter.understand.dose_words import CLASS, CLASS_WEAK, HOME
from segmenter.understand.sentences import Sentence

MERGE_MS = 9_000
"""Sentences this near that speak of the same place make one dose."""
STRETCH_S = 15.0
"""A time this long without a number of repetitions is the whole practice ("for a full minute")."""
ELLIPTIC = 14
"""Words up to which a sentence goes on speaking of home because the one before did."""
NAMED = ("reps", "hold_s", "sets", "rest_s", "per_day", "days_per_week", "pattern")
SAME_MS = 60_000
"""How long ago a dose may have been asked for that is "the same at home"."""
_SAME = re.compile(
    r"\bsame(?: again| number| dose| amount)? (?:at|for) home\b|\b(?:at|for) home,?(?: (?:it's|it is|do|you do|make it|that's))?"
    r" (?:just |exactly )?the same\b(?! (?:way|time|side))|\bthat's your home (?:number|dose|target)\b"
)
_TURNS = {"now", "next", "right", "okay", "let's", "ready", "so", "good", "lovely"}
_QUOTED = {
    "do",
    "for",
    "hold",
    "holding",
    "a",
    "slow",
    "count",
    "of",
    "make",
    "it",
    "try",
    "another",
    "aim",
    "aiming",
    "rest",
    "that's",
    "repeat",
    "to",
}
_HOW_MUCH = ("reps", "hold_s", "sets", "pattern")
_FRAGMENT = 4
"""Words of an ask that may be the first half of one sentence."""
_AT_ONCE_MS = 1_200
_WHOLE = {"reps", "sets", "per_day", "days_per_week"}


@dataclass(frozen=True)
class _Draft:
    ask: Ask
    corrected: frozenset[str] = frozenset()
    last_field: Field | None = None
    told: bool = False


@dataclass(frozen=True)
class Doses:
    """What was asked for, in order of time, and the utterances it was read from."""

    asks: tuple[Ask, ...]
    utterances: tuple[Utterance, ...]


def find_asks(words: Sequence[Word], weighed: Sequence[Weighed] = (), *, away: bool = False) -> tuple[Ask, ...]:
    """Find every dose asked for; as `read_doses`."""
    return read_doses(words, weighed, away=away).asks


def read_doses(words: Sequence[Word], weighed: Sequence[Weighed] = (), *, away: bool = False) -> Doses:
    """Find every dose asked for in a class.

    Parameters
    ----------
    words : sequence of Word
        The whole class in order.
    weighed : sequence of Weighed
        What the numbers among the words measure, as the trained model has it; where it says nothing, rules decide.
    away : bool
        Whether the words are said to those who stop the recording: they practise at home.

    Returns
    -------
    Doses
        Fields that were not said are None; vague words go to ``effort``.
    """
    drafts: list[_Draft] = []
    utterances: list[Utterance] = []
    where: Where = "class"
    latest = -9
    runs = find_counts(words)
    parts = list(_with_whole_breaths(utterances_in(words), words))
    for number, sentence in enumerate(parts):
        own = words[sentence.first : sentence.last]
        said = Said([word.text for word in own], replace(around(words, parts, number, runs), away=away))
        where = "home" if away else _carried(where, said)
        before = drafts[-1] if drafts and number - latest <= 2 else None
        _note_no_hold(drafts, said, near=number - latest <= 2)
        breath = breathing(said)
        near = [run for run in runs if run.start_ms <= own[-1].start_ms and run.end_ms > own[0].start_ms]
        aloud = {
            at for at, word in enumerate(own) if any(run.start_ms <= word.start_ms < run.end_ms for run in near)
        }
        explained = frozenset(aloud | (breath.tokens if breath is not None else set()))
        amounts = _amounts(said, where, before.last_field if before else None, explained)
        utterances.append(Utterance(sentence.first, said, where, explained, tuple(amounts)))
        amounts = outweighed(utterances[-1], within(weighed, sentence.first, sentence.last), away=away)
        fresh = list(_sentence_drafts(own, said, where, breath, amounts))
        for draft in fresh:
            where = draft.ask.where if len(draft.ask.said or "") else where
            if number - latest == 1:
                _bring_home(drafts, draft)
            at = _partner(drafts, draft, near=number - latest <= 2)
            if at is None:
                drafts.append(draft)
            else:
                drafts[at] = _merged(drafts[at], draft)
        if _SAME.search(said.text):
            _hold_in_both(drafts, own)
        if fresh:
            latest = number
        elif not HOME.search(said.text):
            where = "class"
    asks = sorted((draft.ask for draft in drafts), key=lambda ask: (ask.start_ms, ask.end_ms))
    return Doses(tuple(asks), tuple(utterances))


def practice_seconds(ask: Ask) -> float | None:
    """Return the time an ask needs in seconds: repetitions x (hold + rest) x sets x sides.

    The upper end of a range counts, so that nobody is hurried. None if it cannot be known: the
    hold was not said, or the number of repetitions was not (unless the time alone is a stretch
    of practice, as in "for a full minute", or sets are counted).
    """
    reps, hold, sets = _upper(ask.reps), _upper(ask.hold_s), _upper(ask.sets)
    if hold is None or (reps is None and sets is None and hold < STRETCH_S):
        return None
    rest = _upper(ask.rest_s) or 0.0
    sides = 2 if ask.side == "both" else 1
    return round((1.0 if reps is None else reps) * (hold + rest) * (1.0 if sets is None else sets) * sides, 3)


def _upper(span: tuple[float | None, float | None] | None) -> float | None:
    if span is None:
        return None
    return span[1] if span[1] is not None else span[0]


def _with_whole_breaths(sentences: Sequence[Sentence], words: Sequence[Word]) -> Iterator[Sentence]:
    """Join sentences that share one breathing pattern: "Breathe in for four. Hold for two. Out for six."."""
    at = 0
    while at < len(sentences):
        joined = sentences[at]
        for number in range(at + 1, min(at + 4, len(sentences))):
            if not re.search(r"\b(?:in|inhale)\b.*\b(?:\w+)$", sentences[at].text.lower().rstrip(".,!… ")):
                break
            if sentences[number].last - sentences[number].first > 12:
                break
            whole = Sentence(
                sentences[at].first,
                sentences[number].last,
                sentences[at].start_ms,
                max(sentences[number].end_ms, joined.end_ms),
                " ".join(s.text for s in sentences[at : number + 1]),
            )
            alone = breathing(_said(words, joined))
            found = breathing(_said(words, whole))
            if found is not None and (alone is None or found.pattern != alone.pattern):
                joined = whole
        yield joined
        at += 1
        while at < len(sentences) and sentences[at].last <= joined.last:
            at += 1


def _said(words: Sequence[Word], sentence: Sentence) -> Said:
    return Said([word.text for word in words[sentence.first : sentence.last]])


def _carried(where: Where, said: Said) -> Where:
    """What follows a sentence about home still speaks of home, until a turn or a word of class."""
    if HOME.search(said.text):
        return "home"
    turned = said.bare[:1] and said.bare[0] in _TURNS
    if where == "home" and not turned and len(said.bare) <= ELLIPTIC:
        return "class" if CLASS.search(said.text) or CLASS_WEAK.search(said.text) else "home"
    return "class"


def _amounts(said: Said, carried: Where, before: Field | None, explained: frozenset[int]) -> list[Amount]:
    amounts = placed(said, read_amounts(said, explained, before), carried)
    return [*amounts, *frequencies(said, amounts)]


def _sentence_drafts(
    own: Sequence[Word], said: Said, carried: Where, breath: Breathing | None, amounts: Sequence[Amount]
) -> Iterator[_Draft]:
    skip = breath.tokens if breath is not None else set()
    place = carried
    vague = [span for span in vague_amounts(said) if not skip & set(range(*span))]
    groups: list[list[Amount]] = []
    for amount in sorted(amounts, key=lambda a: a.first):
        _add(groups, amount)
    if breath is not None:
        place = placed(said, [Amount("reps", None, None, breath.first, breath.last, 0.8)], carried)[0].where
        if not any(group[0].where == place for group in groups):
            yield _draft(own, said, [], place, breath, None)
            breath = None
    for group in groups:
        mine = breath if breath is not None and group[0].where == place else None
        breath = None if mine is not None else breath
        yield _draft(own, said, group, group[0].where, mine, groups)
    if vague and not groups:
        first, last = vague[0][0], vague[-1][1]
        place = placed(said, [Amount("reps", None, None, first, last, 0.6)], carried)[0].where
        place = "home" if is_when(said.text) else place
        yield _draft(own, said, [], place, None, None, (first, last))


def _add(groups: list[list[Amount]], amount: Amount) -> None:
    """Put an amount beside those of its place; a second number for the same thing corrects, widens, or starts anew."""
    group = next((g for g in reversed(groups) if g[0].where == amount.where), None)
    rival = next((a for a in group if a.field == amount.field), None) if group is not None else None
    if amount.corrects:
        for other in reversed(groups):
            for at, one in enumerate(other):
                if one.field == amount.field and one.where == amount.where and one.last <= amount.first:
                    other[at] = replace(amount, first=one.first)
                    return
    if group is None or (
        rival is not None and not amount.widens and (rival.lo, rival.hi) != (amount.lo, amount.hi)
    ):
        groups.append([amount])
    elif rival is None:
        group.append(amount)
    elif amount.widens and rival.lo is not None and amount.hi is not None and rival.lo <= amount.hi:
        group[group.index(rival)] = replace(rival, hi=amount.hi, last=amount.last)


def _draft(
    own: Sequence[Word],
    said: Said,
    group: Sequence[Amount],
    where: Where,
    breath: Breathing | None,
    groups: Sequence[Sequence[Amount]] | None,
    span: tuple[int, int] | None = None,
) -> _Draft:
    spans = [(a.first, a.last) for a in group]
    spans += [(breath.first, breath.last)] if breath is not None else []
    spans += [span] if span is not None else []
    first, last = min(s[0] for s in spans), min(max(s[1] for s in spans), len(own))
    while first and _leads_up(said, first):
        first -= 1
    text = said.text if groups is None or len(groups) < 2 else _own_text(said, group)
    fields: dict[str, Any] = {a.field: _bounds(a) for a in group}
    sure = min((a.sure for a in group), default=0.8 if breath is not None else 0.5)
    probability = min((w.probability for w in own[first:last] if w.probability is not None), default=1.0)
    ask = Ask(
        where=where,
        start_ms=own[first].start_ms,
        end_ms=max(w.end_ms for w in own[first:last]),
        said=" ".join(w.text.strip() for w in own[first:last]),
        side=side_of(text),
        effort=effort_of(text),
        pattern=breath.pattern if breath is not None else None,
        confidence=round(sure * (0.8 if probability < 0.4 else 1.0), 2),
        **fields,
    )
    corrected = frozenset(a.field for a in group if a.corrects)
    return _Draft(ask, corrected, group[-1].field if group else None, any(a.told for a in group))


def _leads_up(said: Said, first: int) -> bool:
    """Whether the word before belongs to the quote: "hold for", "do", "a count of"."""
    return said.bare[first - 1] in _QUOTED and not said.closed[first - 1]


def _own_text(said: Said, group: Sequence[Amount]) -> str:
    """The clauses of a group, so that "ten each side here, twenty at home" keeps the sides apart."""
    return " ".join(dict.fromkeys(said.words(*said.clause(a.first)) for a in group))


def _bounds(amount: Amount) -> tuple[float | None, float | None]:
    if amount.field in _WHOLE:
        lo, hi = (None if end is None else round(end) for end in (amount.lo, amount.hi))
        return lo, hi
    return (None if amount.lo is None else float(amount.lo), None if amount.hi is None else float(amount.hi))


def _bring_home(drafts: list[_Draft], draft: _Draft) -> None:
    """Take "Five each side." for home where "Every day." follows at once: the recogniser parted what was one dose."""
    only = {name for name in (*NAMED, "side") if getattr(draft.ask, name) is not None}
    if not drafts or not only or not only <= OFTEN or draft.ask.where != "home":
        return
    last = drafts[-1]
    fragment = len((last.ask.said or "").split()) <= _FRAGMENT and not last.told
    if last.ask.where == "class" and fragment and draft.ask.start_ms - last.ask.end_ms <= _AT_ONCE_MS:
        drafts[-1] = replace(last, ask=last.ask.model_copy(update={"where": "home"}))


def _hold_in_both(drafts: list[_Draft], own: Sequence[Word]) -> None:
    """Let what is "the same at home" hold in both places."""
    start, end = own[0].start_ms, max(word.end_ms for word in own)
    latest = {draft.ask.where: draft for draft in drafts if start - draft.ask.end_ms <= SAME_MS}
    here, home = latest.get("class"), latest.get("home")
    fresh = home if home is not None and home.ask.end_ms > start else None
    if fresh is not None and any(getattr(fresh.ask, name) is not None for name in _HOW_MUCH):
        if here is None or here.ask.end_ms <= start:
            once = {"where": "class", "per_day": None, "days_per_week": None}
            drafts.append(replace(fresh, ask=fresh.ask.model_copy(update=once)))
    elif here is not None:
        often: dict[str, object] = {}
        if fresh is not None:
            often = {name: getattr(fresh.ask, name) for name in OFTEN}
        said = " ".join(word.text.strip() for word in own)
        moved = {"where": "home", "start_ms": start, "end_ms": end, "said": said, **often}
        drafts[:] = [draft for draft in drafts if draft is not fresh]
        drafts.append(replace(here, ask=here.ask.model_copy(update=moved)))


def _partner(drafts: Sequence[_Draft], draft: _Draft, *, near: bool) -> int | None:
    """The dose just before that a new one adds to, agrees with or corrects."""
    for at in range(len(drafts) - 1, max(-1, len(drafts) - 3), -1):
        last, ask = drafts[at].ask, draft.ask
        if ask.start_ms - last.end_ms > MERGE_MS or not near:
            return None
        clash = {
            name
            for name in NAMED
            if None not in (getattr(last, name), getattr(ask, name)) and getattr(last, name) != getattr(ask, name)
        }
        if clash and clash <= draft.corrected and (last.where == ask.where or not draft.told):
            return at
        if last.where == ask.where and not clash:
            return at
        if last.where == ask.where:
            return None
    return None


def _merged(old: _Draft, new: _Draft) -> _Draft:
    last, ask = old.ask, new.ask
    kept = {}
    for name in (*NAMED, "side", "effort"):
        first, second = getattr(last, name), getattr(ask, name)
        kept[name] = second if first is None or (name in new.corrected and second is not None) else first
    if last.effort and ask.effort and ask.effort not in last.effort:
        kept["effort"] = f"{last.effort}, {ask.effort}"
    merged = last.model_copy(
        update={
            **kept,
            "end_ms": max(last.end_ms, ask.end_ms),
            "said": f"{last.said} … {ask.said}",
            "confidence": min(last.confidence, ask.confidence),
        }
    )
    return _Draft(merged, old.corrected | new.corrected, new.last_field or old.last_field, old.told or new.told)


def _note_no_hold(drafts: list[_Draft], said: Said, *, near: bool) -> None:
    """A breathing pattern followed by "don't hold your breath" has holds of nought: that was said."""
    if not near or not drafts or drafts[-1].ask.pattern is None:
        return
    if re.search(r"\b(?:don't|do not|never|no|without) hold(?:ing)?\b", said.text):
        breathe_in, hold, out, rest = drafts[-1].ask.pattern
        pattern = (breathe_in, 0.0 if hold is None else hold, out, 0.0 if rest is None else rest)
        drafts[-1] = replace(drafts[-1], ask=drafts[-1].ask.model_copy(update={"pattern": pattern}))
