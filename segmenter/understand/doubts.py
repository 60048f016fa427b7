"""What a person should look at in the draft: unsure chapters, missing doses and cautions, differences."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from segmenter.lesson import Ask, Chapter, Check

UNSURE = 0.5
RISKY = frozenset({"swallow", "breath", "neck", "balance"})
"""Families in which a missing caution is worth a look: choking, breath holding, dizziness, falls."""
HOLD_TOLERANCE = 0.15
"""A hold this share away from what was asked is a difference worth showing."""


def doubts_of(chapters: Sequence[Chapter]) -> tuple[Check, ...]:
    """Return the checks of a draft, in order of time."""
    return tuple(check for chapter in chapters for check in _of(chapter))


def _of(chapter: Chapter) -> Iterator[Check]:
    def check(code: str, level: str, message: str) -> Check:
        return Check(
            code=code,
            level="look" if level == "look" else "note",
            message=message,
            start_ms=chapter.start_ms,
            end_ms=chapter.end_ms,
        )

    title = f"“{chapter.title}”"
    if chapter.kind in {"exercise", "quiz"} and chapter.confidence < UNSURE:
        yield check("chapter-unsure", "look", f"{title}: it is not certain that this is what was done here.")
    if chapter.kind != "exercise":
        return
    if chapter.exercise is None:
        yield check(
            "exercise-unnamed", "look", f"{title}: an exercise was heard, but not which one. Give it its name."
        )
    if chapter.family in RISKY and not any(caution.source == "spoken" for caution in chapter.cautions):
        yield check(
            "no-caution-heard", "look", f"{title}: no caution was heard for this exercise. Add yours if needed."
        )
    if not chapter.asked and not any(stop.asked for stop in chapter.practice):
        yield check(
            "no-dose-heard", "note", f"{title}: no number to do was heard. Viewers will be asked for theirs."
        )
    yield from _differences(chapter, check("shown-differs", "look", ""))
    if any(stop.asked is None for stop in chapter.practice):
        yield check("practice-without-dose", "note", f"{title}: viewers are asked to practise, without a number.")


def _differences(chapter: Chapter, blank: Check) -> Iterator[Check]:
    in_class = [ask for ask in chapter.asked if ask.where == "class"]
    reps = [ask.reps for ask in in_class if ask.reps]
    if reps and chapter.shown.reps is not None and not _inside(chapter.shown.reps, reps[0], 0):
        message = f"“{chapter.title}”: {_text(reps[0])} asked for in class, {chapter.shown.reps} shown."
        yield blank.model_copy(update={"message": message})
    wanted = _hold_wanted(in_class) or _hold_wanted(chapter.asked)
    longest = max((hold.seconds for hold in chapter.shown.holds), default=None)
    if (
        wanted
        and longest is not None
        and not _inside(longest, wanted, HOLD_TOLERANCE * (wanted[1] or wanted[0] or 0))
    ):
        message = f"“{chapter.title}”: a hold of {_text(wanted)} seconds asked for, {longest:.1f} seconds shown."
        yield blank.model_copy(update={"message": message})


def _hold_wanted(asks: Sequence[Ask]) -> tuple[float | None, float | None] | None:
    return next((ask.hold_s for ask in asks if ask.hold_s), None)


def _inside(value: float, span: tuple[float | None, float | None], slack: float) -> bool:
    return (span[0] is None or value >= span[0] - slack) and (span[1] is None or value <= span[1] + slack)


def _text(span: tuple[float | None, float | None]) -> str:
    lo, hi = span
    if lo is None or hi is None:
        return f"at most {hi:g}" if hi is not None else f"at least {lo:g}"
    return f"{lo:g}" if lo == hi else f"{lo:g} to {hi:g}"
