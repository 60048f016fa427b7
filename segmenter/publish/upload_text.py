"""The text to paste under the upload: title, summary, times, what is needed, doses, cautions."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from itertools import pairwise

from segmenter.lesson import FAMILY_NAMES, Lesson
from segmenter.publish.chapters import FEWEST_LISTED, chapter_title, listed, one_line, plain_list
from segmenter.publish.rows import alone_texts, asked_text, general_texts
from segmenter.publish.transcript import shared_out
from segmenter.publish.wording import DEFER, STOP_AND_REST, STOP_FOR_HELP
from segmenter.times import spoken_length

LONGEST = 5_000
"""Characters; sites cut a longer text (common practice, no source)."""
SHORT = 1_000
"""Characters of the short version, for a message or a notice board (own choice)."""

_THINGS = {
    "chair": "a chair", "chairs": "a chair", "water": "water", "straw": "a straw", "ball": "a ball",
    "towel": "a towel", "mirror": "a mirror", "cup": "a cup", "glass": "a glass", "spoon": "a spoon",
    "pillow": "a pillow", "cushion": "a cushion", "paper": "paper", "pen": "a pen", "pencil": "a pencil",
    "tissue": "a tissue", "tissues": "a tissue", "timer": "a timer", "putty": "putty", "inhaler": "your inhaler",
    "band": "an exercise band", "mat": "a mat", "bottle": "a bottle", "table": "a table",
}  # fmt: skip
_OFTEN_MEANT = frozenset({"band", "mat", "bottle", "table", "glass", "cup", "paper", "ball", "spoon", "pillow"})
"""Words that often only paint a picture: they count after a word that asks for them."""
_WANTED_TEXT = """
    have find get bring grab fetch take need use using want ready nearby beside handy hold keep sit against behind
    onto on with through into
"""
_WANTED = frozenset(_WANTED_TEXT.split())
_REACH = 6
"""Words between the asking and the thing."""
_NEXT_TIME = frozenset({"next", "thursday", "tomorrow"})
_WORD = re.compile(r"[^\W\d_]+")


def needed(lesson: Lesson) -> tuple[str, ...]:
    """Things to have at hand, in the order they are first named aloud; nothing is added.

    What a riddle, its answer or the news speak of is not needed for the exercises.
    """
    found: dict[str, None] = {}
    for chapter, spoken in shared_out(lesson):
        if chapter.kind not in {"opening", "exercise"}:
            continue
        secret = [p.span for q in chapter.quiz for p in (q.clue, q.answer) if p is not None]
        words = [
            piece
            for word in spoken
            if not any(start <= word.start_ms < end for start, end in secret)
            for piece in _WORD.findall(word.text.lower())
        ]
        for at, piece in enumerate(words):
            asked = _WANTED.intersection(words[max(0, at - _REACH) : at])
            later = _NEXT_TIME.intersection(words[max(0, at - 2 * _REACH) : at])
            if piece in _THINGS and not later and (asked or piece not in _OFTEN_MEANT):
                found.setdefault(_THINGS[piece])
        if any(pair == ("of", "water") for pair in pairwise(words)) and "a glass" in found:
            found = {"a glass of water" if thing == "a glass" else thing: None for thing in found}
            found.pop("water", None)
    return tuple(found)


def summary(lesson: Lesson) -> str:
    """Two sentences made from the lesson's own facts."""
    chapters = list(lesson.exercises())
    exercises = sum(chapter.kind == "exercise" for chapter in chapters)
    quizzes = len(chapters) - exercises
    parts = [
        f"{count} {name if count == 1 else many}"
        for count, name, many in ((exercises, "exercise", "exercises"), (quizzes, "quiz", "quizzes"))
        if count
    ]
    first = f"A class of {_length(lesson.duration_ms)}"
    first += f" with {_and(parts)}." if parts else "."
    families = dict.fromkeys(FAMILY_NAMES[c.family].lower() for c in chapters if c.family)
    stops = sum(len(chapter.practice) for chapter in lesson.chapters)
    about = f"It covers {_and(list(families), last='; and' if _has_and(families) else ' and')}" if families else ""
    often = {1: "once", 2: "twice"}.get(stops, f"{stops} times")
    pauses = f"asks you {often} to practise on your own" if stops else ""
    joined = f"{about}, and {pauses}" if about and pauses else about or (f"It {pauses}" if pauses else "")
    return f"{first} {joined or 'Use the time list to find your place'}."


def upload_text(lesson: Lesson, limit: int = LONGEST, film: str | None = None) -> str:
    """Return the whole text, UTF-8, in short blocks parted by empty lines, at most `limit` characters.

    What does not fit is left out from the least needed on: usual advice, what was asked for, the things named,
    spoken cautions, the summary, the times. Title, stop signs and the line that defers to the viewer's own
    clinician always stay, so a very small limit may be passed. `film` is the name of the version with practice
    time put in, if there is one.
    """
    things = needed(lesson)
    left_out: frozenset[str] = frozenset()
    for block in _LEAST_FIRST:
        if len(_joined(lesson, things, left_out, film)) <= limit:
            break
        left_out |= {block}
    # A long block may have taken shorter, more useful ones with it.
    for block in reversed(_LEAST_FIRST):
        if len(_joined(lesson, things, left_out - {block}, film)) <= limit:
            left_out -= {block}
    return _joined(lesson, things, left_out, film)


def _joined(lesson: Lesson, things: Sequence[str], left_out: frozenset[str], film: str | None) -> str:
    return "\n\n".join(_blocks(lesson, things, left_out, film)) + "\n"


def upload_short(lesson: Lesson) -> str:
    """Return the short version, at most `SHORT` characters where title and cautions allow."""
    return upload_text(lesson, SHORT)


_LEAST_FIRST = ("usual", "doses", "things", "spoken", "summary", "times")


def _blocks(lesson: Lesson, things: Sequence[str], left_out: frozenset[str], film: str | None) -> Iterator[str]:
    yield one_line(lesson.title)[:200] or "Exercise class"
    if "summary" not in left_out:
        yield summary(lesson) + (f" There is a version with the practice time put in: {film}." if film else "")
    if "times" not in left_out and len(listed(lesson)) >= FEWEST_LISTED:
        yield "Times\n" + plain_list(lesson).rstrip("\n")
    if things and "things" not in left_out:
        yield "Named in the class, so have ready if you use it\n" + "\n".join(f"- {t}" for t in things)
    doses = [] if "doses" in left_out else list(_doses(lesson))
    if doses:
        yield "What the speaker asked for\n" + "\n".join(f"- {dose}" for dose in doses)
    yield "Take care\n" + "\n".join(f"- {line}" for line in _cautions(lesson, left_out))
    credits = dict.fromkeys(one_line(chapter.credit) for chapter in lesson.chapters if chapter.credit)
    if credits:
        yield "Put together from\n" + "\n".join(f"- {credit}" for credit in credits)
    yield DEFER


def _doses(lesson: Lesson) -> Iterator[str]:
    for chapter in lesson.exercises():
        inside, home = asked_text(chapter, "class"), asked_text(chapter, "home")
        alone = "; ".join(alone_texts(chapter))
        for place, doses in (("in class", inside), ("at home", home), ("on your own", alone)):
            if doses:
                yield f"{chapter_title(chapter)} ({place}): {doses}"
    for dose in general_texts(lesson):
        yield f"All of it (at home): {dose}"


def _cautions(lesson: Lesson, left_out: frozenset[str]) -> list[str]:
    every = [caution for chapter in lesson.chapters for caution in chapter.cautions]
    spoken = [one_line(c.text) for c in every if c.source == "spoken" and "spoken" not in left_out]
    usual = [
        f"{one_line(c.text)} (usual advice, not said in class)"
        for c in every
        if c.source == "catalogue" and "usual" not in left_out
    ]
    return list(dict.fromkeys([*spoken, *usual, STOP_AND_REST, STOP_FOR_HELP]))


def _length(ms: int) -> str:
    """A class is told in minutes; only a very short one to the second."""
    return spoken_length(round(ms / 60_000) * 60_000 if ms >= 150_000 else ms)


def _has_and(families: dict[str, None]) -> bool:
    return len(families) > 1 and any(" and " in name for name in families)


def _and(parts: list[str], last: str = " and") -> str:
    comma = "; " if last.startswith(";") else ", "
    return parts[0] if len(parts) == 1 else f"{comma.join(parts[:-1])}{last} {parts[-1]}"
