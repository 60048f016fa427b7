"""What the sheet shows, as rows of text: asked against shown, and every hold and count."""

from __future__ import annotations

from dataclasses import astuple, dataclass
from typing import Final

from segmenter.lesson import FAMILY_NAMES, Ask, Chapter, CountRun, Hold, Lesson, Where
from segmenter.publish.chapters import chapter_title
from segmenter.publish.wording import dose_text, number, side_text
from segmenter.times import clock, seconds, spoken_length

EXERCISE_HEADINGS = (
    "Starts",
    "Starts (seconds)",
    "Ends (seconds)",
    "Exercise",
    "Family",
    "Asked in class",
    "Asked for home",
    "Shown",
    "Difference",
    "Side",
    "Practice time (seconds)",
)
EFFORT_HEADINGS = (
    "Starts",
    "Starts (seconds)",
    "Ends (seconds)",
    "Exercise",
    "What",
    "How",
    "Length (seconds)",
    "Pitch (Hz)",
    "Level (dB)",
    "Side",
    "Numbers",
    "Left out",
    "Beat (seconds)",
)
HOLD_HOW: Final = {"voiced": "with voice", "silent": "without voice", "counted": "counted aloud"}
COUNT_KINDS: Final = {"seconds": "seconds", "reps": "repetitions", "breath": "breath", "down": "counting down"}
"""How a hold was made, and what a run of numbers counts, in plain words."""


@dataclass(frozen=True)
class Target:
    """How long a hold was asked to be, and for where: ``in class`` or ``for home``."""

    seconds: tuple[float | None, float | None]
    where: str

    @property
    def least(self) -> float:
        """The shortest hold that was asked for; the longest where only that was said."""
        lo, hi = self.seconds
        return lo if lo is not None else hi or 0.0

    @property
    def most(self) -> float:
        """The longest hold that was asked for; the shortest where only that was said."""
        lo, hi = self.seconds
        return hi if hi is not None else lo or 0.0


@dataclass(frozen=True)
class ExerciseRow:
    """One exercise, in the order of `EXERCISE_HEADINGS`; unknown is empty."""

    starts: str
    start_s: str
    end_s: str
    title: str
    family: str
    asked_class: str
    asked_home: str
    shown: str
    difference: str
    side: str
    practice_s: str

    def cells(self) -> tuple[str, ...]:
        """The row as text."""
        return astuple(self)


def exercise_rows(lesson: Lesson) -> tuple[ExerciseRow, ...]:
    """One row for every exercise or quiz chapter, in order."""
    return tuple(
        ExerciseRow(
            starts=clock(chapter.start_ms),
            start_s=f"{seconds(chapter.start_ms):.3f}",
            end_s=f"{seconds(chapter.end_ms):.3f}",
            title=chapter_title(chapter),
            family=family_name(chapter),
            asked_class=asked_text(chapter, "class"),
            asked_home=asked_text(chapter, "home"),
            shown=shown_text(chapter),
            difference=difference_text(chapter),
            side=sides_text(chapter),
            practice_s="; ".join(number(p.seconds) for p in chapter.practice if p.seconds is not None),
        )
        for chapter in lesson.exercises()
    )


def effort_rows(lesson: Lesson) -> tuple[tuple[str, ...], ...]:
    """One row for every hold and every run of numbers, in order of time."""
    return tuple(_effort(part, chapter) for part, chapter in efforts(lesson))


def efforts(lesson: Lesson) -> list[tuple[Hold | CountRun, Chapter]]:
    """Every hold and every run of numbers with its chapter, in order of time."""
    found: list[tuple[Hold | CountRun, Chapter]] = []
    for chapter in lesson.chapters:
        found += [(hold, chapter) for hold in chapter.shown.holds]
        found += [(count, chapter) for count in chapter.shown.counts]
    return sorted(found, key=lambda each: each[0].span)


def family_name(chapter: Chapter) -> str:
    """The family in plain words, empty where there is none."""
    return FAMILY_NAMES[chapter.family] if chapter.family else ""


def hold_target(chapter: Chapter) -> Target | None:
    """Return the length of hold asked for in class, else for home; None where none was said, or several."""
    everywhere = [*chapter.asked, *(stop.asked for stop in chapter.practice if stop.asked is not None)]
    for where, words in (("class", "in class"), ("home", "for home")):
        said = {ask.hold_s for ask in everywhere if ask.where == where and ask.hold_s is not None}
        if said:
            return Target(said.pop(), words) if len(said) == 1 else None
    return None


def sides_text(chapter: Chapter) -> str:
    """The sides that were asked for, once each."""
    return "; ".join(dict.fromkeys(side_text(ask.side) for ask in chapter.asked if ask.side))


def asked_text(chapter: Chapter, where: Where) -> str:
    """The doses asked for `where`, in plain words, parted by semicolons."""
    return "; ".join(dose for ask in chapter.asked if ask.where == where and (dose := dose_text(ask)))


def shown_text(chapter: Chapter) -> str:
    """What was done: repetitions and lengths of holds. Empty when nothing was measured."""
    shown = chapter.shown
    said = []
    if shown.reps is not None:
        said.append(f"{shown.reps} time{'s' * (shown.reps != 1)}")
    if shown.holds:
        shortest, longest = min(h.seconds for h in shown.holds), max(h.seconds for h in shown.holds)
        holds = f"{len(shown.holds)} hold{'s' * (len(shown.holds) != 1)} of {shortest:.1f}"
        said.append(f"{holds} to {longest:.1f} seconds" if longest - shortest >= 0.1 else f"{holds} seconds")
    return ", ".join(said)


def difference_text(chapter: Chapter) -> str:
    """How what was done differs from what was asked in class; empty when they agree or one is unknown.

    Only an ask in class is compared: a home dose is not meant to be shown. Holds within a
    second of the ask agree, since nobody counts closer than that (common practice, no source).
    """
    asks = [ask for ask in chapter.asked if ask.where == "class"]
    if len(asks) != 1:
        return ""  # several asks: which one was shown cannot be known
    ask, shown, said = asks[0], chapter.shown, []
    if ask.reps and shown.reps is not None:
        off = _outside(shown.reps, *_all_rounds(ask))
        if off:
            said.append(f"{number(abs(off))} {'fewer' if off < 0 else 'more'} than asked")
    if ask.hold_s and shown.holds:
        off = sum(_outside(hold.seconds, *ask.hold_s) for hold in shown.holds) / len(shown.holds)
        if abs(off) >= 1:
            length = spoken_length(round(abs(off) * 1000))
            said.append(f"holds {length} {'shorter' if off < 0 else 'longer'} than asked")
    return ", ".join(said)


def _all_rounds(ask: Ask) -> tuple[float | None, float | None]:
    lo, hi = ask.reps or (None, None)
    if not ask.sets:
        return lo, hi
    # A class may show one round of several: anything from one round to all of them agrees.
    return lo, None if hi is None or ask.sets[1] is None else hi * ask.sets[1]


def _outside(value: float, lo: float | None, hi: float | None) -> float:
    if lo is not None and value < lo:
        return value - lo
    if hi is not None and value > hi:
        return value - hi
    return 0.0


def _known(value: float | None) -> str:
    return "" if value is None else f"{value:.1f}"


def _effort(part: Hold | CountRun, chapter: Chapter) -> tuple[str, ...]:
    title = chapter_title(chapter)
    when = (clock(part.start_ms), f"{seconds(part.start_ms):.3f}", f"{seconds(part.end_ms):.3f}", title)
    if isinstance(part, Hold):
        measured = (f"{part.seconds:.1f}", _known(part.pitch_hz), _known(part.level_db), side_text(part.side))
        return (*when, "hold", HOLD_HOW[part.how], *measured, "", "", "")
    numbers, missing = (" ".join(map(str, values)) for values in (part.numbers, part.missing))
    length = f"{seconds(part.end_ms - part.start_ms):.1f}"
    beat = "" if part.beat_s is None else f"{part.beat_s:.2f}"
    return (*when, "count", COUNT_KINDS[part.kind], length, "", "", "", numbers, missing, beat)


def alone_texts(chapter: Chapter) -> list[str]:
    """What viewers are asked to do while the recording stands still, where it was not asked for besides."""
    told = {dose_text(ask) for ask in chapter.asked}
    stops = dict.fromkeys(dose_text(practice.asked) for practice in chapter.practice if practice.asked)
    return [dose for dose in stops if dose and dose not in told]


def general_texts(lesson: Lesson) -> list[str]:
    """What was asked for home outside the exercises, so of all of them: "do the lot twice a day"."""
    others = (chapter for chapter in lesson.chapters if chapter.kind not in {"exercise", "quiz"})
    said = dict.fromkeys(dose_text(ask) for chapter in others for ask in chapter.asked if ask.where == "home")
    return [dose for dose in said if dose]
