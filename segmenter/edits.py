"""A person's edits, laid over the machine's draft.

The draft and the edits are two files; the lesson is the edits applied to the draft. An
edit names a chapter by a moment inside it rather than by its id, so that it still finds
its place after a better draft has moved or renumbered the chapters. One that no longer
fits is kept and shown as a check, never dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field, TypeAdapter, ValidationError

from segmenter.errors import LessonError
from segmenter.lesson import Ask, Chapter, Check, Family, Frozen, Kind, Lesson, Ms, Word
from segmenter.times import clock


class _Edit(Frozen):
    at_ms: Ms


class Retitle(_Edit):
    """Give the chapter at this moment another title."""

    do: Literal["retitle"] = "retitle"
    title: str


class Reclassify(_Edit):
    """Say what kind of chapter this is, and of which family and exercise."""

    do: Literal["reclassify"] = "reclassify"
    kind: Kind
    family: Family | None = None
    exercise: str | None = None


class SetAsked(_Edit):
    """Replace the doses asked for in the chapter at this moment."""

    do: Literal["set-asked"] = "set-asked"
    asked: tuple[Ask, ...]


class SetStill(_Edit):
    """Let the picture at `still_ms` stand for the chapter at this moment."""

    do: Literal["set-still"] = "set-still"
    still_ms: Ms


class SetWord(_Edit):
    """Correct the word spoken at this moment; `was` guards against hitting another word."""

    do: Literal["set-word"] = "set-word"
    was: str
    text: str


Edit = Annotated[Retitle | Reclassify | SetAsked | SetStill | SetWord, Field(discriminator="do")]
_EDITS: TypeAdapter[list[Edit]] = TypeAdapter(list[Edit])


def read_edits(path: Path) -> list[Edit]:
    """Read ``edits.json``; a missing file means no edits.

    Raises
    ------
    LessonError
        If the file cannot be understood. It is left as it is.
    """
    try:
        return _EDITS.validate_json(path.read_bytes())
    except FileNotFoundError:
        return []
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        place = ".".join(str(step) for step in first["loc"])
        raise LessonError(
            f"these edits cannot be read ({place}: {first['msg']})",
            path,
            "Nothing was changed. Mend the file or move it away, then build again",
        ) from error


def edits_to_json(edits: Sequence[Edit]) -> str:
    """Return edits as the text of ``edits.json``."""
    return _EDITS.dump_json(list(edits), indent=2, by_alias=True).decode() + "\n"


def apply_edits(draft: Lesson, edits: Sequence[Edit]) -> Lesson:
    """Return the draft with all edits applied in order; ones that do not fit become checks."""
    lesson = draft
    for edit in edits:
        lesson = _with_word(lesson, edit) if isinstance(edit, SetWord) else _with_chapter(lesson, edit)
    return lesson


def _with_chapter(lesson: Lesson, edit: Retitle | Reclassify | SetAsked | SetStill) -> Lesson:
    for number, chapter in enumerate(lesson.chapters):
        if chapter.start_ms <= edit.at_ms < chapter.end_ms:
            changed = _amended(chapter, edit)
            chapters = (*lesson.chapters[:number], changed, *lesson.chapters[number + 1 :])
            return lesson.model_copy(update={"chapters": chapters})
    return _unplaced(lesson, edit, "it lies outside the recording")


def _amended(chapter: Chapter, edit: Retitle | Reclassify | SetAsked | SetStill) -> Chapter:
    reasons = (*chapter.reasons, "changed by a person")
    match edit:
        case Retitle():
            change: dict[str, object] = {"title": edit.title}
        case Reclassify():
            change = {"kind": edit.kind, "family": edit.family, "exercise": edit.exercise, "confidence": 1.0}
        case SetAsked():
            change = {"asked": edit.asked}
        case SetStill():
            change = {"still_ms": edit.still_ms}
    return chapter.model_copy(update={**change, "reasons": reasons})


def _with_word(lesson: Lesson, edit: SetWord) -> Lesson:
    near = [n for n, word in enumerate(lesson.words) if _same_word(word, edit)]
    if not near:
        return _unplaced(lesson, edit, f"“{edit.was}” is no longer heard there")
    best = min(near, key=lambda n: abs(lesson.words[n].start_ms - edit.at_ms))
    old = lesson.words[best]
    word = old.model_copy(update={"text": edit.text, "heard": old.heard or old.text, "why": "changed by a person"})
    return lesson.model_copy(update={"words": (*lesson.words[:best], word, *lesson.words[best + 1 :])})


def _same_word(word: Word, edit: SetWord) -> bool:
    # Another run may time a word a little differently; further off it is another word.
    return word.text == edit.was and abs(word.start_ms - edit.at_ms) <= 1_500


def _unplaced(lesson: Lesson, edit: Edit, why: str) -> Lesson:
    check = Check(
        code="edit-without-place",
        level="look",
        message=f"Your change “{edit.do}” at {clock(edit.at_ms)} no longer fits: {why}. It is kept in edits.json.",
        start_ms=edit.at_ms,
        end_ms=edit.at_ms,
    )
    return lesson.model_copy(update={"checks": (*lesson.checks, check)})
