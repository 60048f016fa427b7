"""What a person can change about a lesson: each change small, named, with its time and its place.

``edits.json`` is a list of records. An edit changes the lesson; ``undo``, ``redo`` and ``place`` speak about
an earlier record by its number. Records are only ever added.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints, TypeAdapter

from segmenter.lesson import Ask, Family, Frozen, HoldHow, Kind, Ms

KEY_LENGTH = 80
"""Characters of a window's name for a change, at most."""
Name = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=300)]
"""Words a person typed for a title or a word: never empty, never a whole book."""


class Record(Frozen):
    """One line of ``edits.json``.

    Parameters
    ----------
    id : int or None
        Its number; None in files written by hand, where the place in the list is the number.
    made : str or None
        When it was made: ISO 8601, UTC.
    key : str or None
        Made by the window that sent it, so that a change sent twice counts once.
    """

    id: int | None = None
    made: str | None = None
    key: str | None = Field(default=None, max_length=KEY_LENGTH)


class BaseEdit(Record):
    """One change.

    Parameters
    ----------
    at_ms, until_ms : int
        Where it belongs. A moment, or with `until_ms` a stretch: a chapter as it was when it was changed.
        Numbers and ids of chapters are never named, since a better draft gives others.
    amends : int or None
        The record this one takes the place of, so that a title typed in three goes is one step to undo.
    remembered : bool
        Made from a correction that a person asked to be remembered, not by hand.
    """

    at_ms: Ms
    until_ms: Ms | None = None
    amends: int | None = None
    remembered: bool = False


class TitleLesson(BaseEdit):
    """Give the lesson another title."""

    do: Literal["title-lesson"] = "title-lesson"
    title: Name


class Retitle(BaseEdit):
    """Give the chapter here another title."""

    do: Literal["retitle"] = "retitle"
    title: Name


class Reclassify(BaseEdit):
    """Say what kind of chapter this is, and of which family and exercise."""

    do: Literal["reclassify"] = "reclassify"
    kind: Kind
    family: Family | None = None
    exercise: str | None = Field(default=None, max_length=120)


class SetAsked(BaseEdit):
    """Replace the doses asked for in the chapter here."""

    do: Literal["set-asked"] = "set-asked"
    asked: Annotated[tuple[Ask, ...], Field(max_length=40)]


class AcceptUsual(BaseEdit):
    """Take over a dose that is usual in practice though it was not said; `source` says where it is from."""

    do: Literal["accept-usual"] = "accept-usual"
    asked: Ask
    source: Name


class SetStill(BaseEdit):
    """Let the picture at `still_ms` stand for the chapter here."""

    do: Literal["set-still"] = "set-still"
    still_ms: Ms


class Hide(BaseEdit):
    """Keep the chapter here from viewers, or show it again."""

    do: Literal["hide"] = "hide"
    hidden: bool = True


class MoveBoundary(BaseEdit):
    """Move the border between two chapters that lies here to another moment."""

    do: Literal["move-boundary"] = "move-boundary"
    to_ms: Ms


class Split(BaseEdit):
    """Let a new chapter begin here."""

    do: Literal["split"] = "split"
    title: Name | None = None


class Merge(BaseEdit):
    """Join the chapter that begins here to the one before it."""

    do: Literal["merge"] = "merge"


class AddHold(BaseEdit):
    """Mark a held effort from here to `end_ms`."""

    do: Literal["add-hold"] = "add-hold"
    end_ms: Ms
    how: HoldHow = "voiced"


class RemoveHold(BaseEdit):
    """Say that what begins here is no held effort."""

    do: Literal["remove-hold"] = "remove-hold"


class AddStop(BaseEdit):
    """Let the player stop here for practice, and go on from `resume_ms`."""

    do: Literal["add-stop"] = "add-stop"
    resume_ms: Ms | None = None


class MoveStop(BaseEdit):
    """Move the practice stop that is here."""

    do: Literal["move-stop"] = "move-stop"
    to_ms: Ms


class RemoveStop(BaseEdit):
    """Take the practice stop away that is here."""

    do: Literal["remove-stop"] = "remove-stop"


class SetWord(BaseEdit):
    """Correct the word spoken here; `was` guards against hitting another word."""

    do: Literal["set-word"] = "set-word"
    was: Name
    text: Name


class ReplaceWords(BaseEdit):
    """Put other words in place of `was` wherever it is heard in the class; times stay."""

    do: Literal["replace-words"] = "replace-words"
    was: Name
    text: Name


class RemoveName(BaseEdit):
    """Take a person's name out of everything that is written, wherever it is said."""

    do: Literal["remove-name"] = "remove-name"
    was: Name


class BreakCaption(BaseEdit):
    """Let a new caption begin with the word spoken here."""

    do: Literal["break-caption"] = "break-caption"
    was: Name


class JoinCaption(BaseEdit):
    """Join the caption that begins with the word spoken here to the one before it."""

    do: Literal["join-caption"] = "join-caption"
    was: Name


class SettleCheck(BaseEdit):
    """Say that a thing to look at was looked at, or open it again.

    `message` is what it said then: where another draft says something else, it has to be looked at anew.
    """

    do: Literal["settle-check"] = "settle-check"
    code: Name
    message: str | None = None
    settled: bool = True


class MarkChecked(BaseEdit):
    """Say that the lesson as a whole was checked; `draft` is the draft that was looked at."""

    do: Literal["mark-checked"] = "mark-checked"
    checked: bool = True
    draft: str


class Undo(Record):
    """Take an earlier record back."""

    do: Literal["undo"] = "undo"
    edit: int


class Redo(Record):
    """Let an earlier record that was taken back count again."""

    do: Literal["redo"] = "redo"
    edit: int


class Place(Record):
    """Put an edit that no longer fits somewhere else."""

    do: Literal["place"] = "place"
    edit: int
    at_ms: Ms
    until_ms: Ms | None = None


ChapterEdit = Retitle | Reclassify | SetAsked | AcceptUsual | SetStill | Hide
PieceEdit = AddHold | RemoveHold | AddStop | MoveStop | RemoveStop
BoundaryEdit = MoveBoundary | Split | Merge
WordEdit = SetWord | ReplaceWords | RemoveName
LateEdit = BreakCaption | JoinCaption | SettleCheck
"""Edits of what is made from the words: they wait until the captions stand."""
Edit = ChapterEdit | PieceEdit | BoundaryEdit | WordEdit | LateEdit | TitleLesson | MarkChecked
Entry = Annotated[Edit | Undo | Redo | Place, Field(discriminator="do")]

EDIT: TypeAdapter[Edit] = TypeAdapter(Annotated[Edit, Field(discriminator="do")])
ENTRY: TypeAdapter[Entry] = TypeAdapter(Entry)
ENTRIES: TypeAdapter[list[Entry]] = TypeAdapter(list[Entry])
