"""What a person is told when ``edits.json`` was damaged."""

from __future__ import annotations

from pathlib import Path

from segmenter.edits.journal import FILE
from segmenter.files import kept_beside
from segmenter.lesson import Check, Lesson


def damaged(folder: Path) -> list[Path]:
    """Return every damaged ``edits.json`` that was kept in a lesson folder, oldest first."""
    return kept_beside(folder / FILE)


def told(draft: Lesson, folder: Path) -> Lesson:
    """Return the draft with one more thing to look at while a damaged file of changes lies in the folder."""
    kept = damaged(folder)
    if not kept:
        return draft
    names = ", ".join(path.name for path in kept)
    message = (
        f"Your file of changes was damaged. Changes before the damage count; all of it is kept as {names}. "
        "Look through the lesson, make again what is missing, names and hidden chapters first, then move "
        "that file away."
    )
    check = Check(code="edits-damaged", level="stop", message=message)
    return draft.model_copy(update={"checks": (check, *draft.checks)})
