"""What a person should look at before the lesson goes out, as a page."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from segmenter.intervals import overlap
from segmenter.lesson import Chapter, Check, Lesson, Word
from segmenter.publish.chapters import chapter_title
from segmenter.publish.hold_traces import HoldTrace, Traces
from segmenter.publish.rows import asked_text, difference_text, shown_text
from segmenter.publish.sound_report import ADVICE, faults, measured
from segmenter.publish.templating import render_html
from segmenter.publish.wording import LEVELS

AROUND_MS: Final = 4_000
"""Words this far on either side are shown: enough to know where one is."""
MOST_WORDS: Final = 14
"""Words shown on either side, and of a long stretch itself."""
STILL_CODES: Final = frozenset({"chapter-unsure", "exercise-unnamed", "no-caution-heard", "shown-differs"})
"""Checks of what was done rather than said: a picture says it faster."""
TRACE_CODES: Final = frozenset({"shown-differs"})
"""Checks of how long was held: drawn, it is seen which one differs."""
MANY: Final = 3
"""More notes of one kind than this are folded into one line, so that those that matter are seen."""
FOLDED: Final[Mapping[str, str]] = {"caption-fast": "Speech that is faster than many people read"}
"""Kinds of notes that may be folded, and their line."""
WHAT_TO_DO: Final[Mapping[str, str]] = {
    "chapter-unsure": "Watch a little of it. If it is something else, change its name or its kind.",
    "shown-differs": "If what you asked for counts, leave it. If what you showed counts, change the number.",
    "practice-without-dose": "The page waits there without counting. Add a number only if you meant one.",
    "no-dose-heard": "Add a number only if you meant one.",
    "word-repaired": "Listen once. If it is wrong, put the word right in the captions.",
    "caption-fast": "Nothing has to be done. Next time, a short silence after each sentence helps those who read.",
    "planned-not-found": "It may go by another name here, or was left out.",
    "found-not-planned": "If it was not done, join it to its neighbour.",
    "speech-not-in-words": "Listen once. If something is said, write it into the captions.",
    "words-repeated": "Listen once, and write what was really said into the captions.",
    "edit-without-place": "Look whether it is still needed, and make it again where it belongs.",
    **ADVICE,
}
"""What settles a check, for someone who meets it for the first time; where its message says it already, nothing."""


@dataclass(frozen=True)
class Words:
    """What was said before, at, and after a moment."""

    before: str
    at: str
    after: str


@dataclass(frozen=True)
class Entry:
    """A check with what helps to settle it."""

    check: Check
    chapter: str
    still: str | None
    words: Words | None
    traces: tuple[HoldTrace, ...] = ()

    @property
    def advice(self) -> str:
        """What to do about it."""
        return WHAT_TO_DO.get(self.check.code, "")


@dataclass(frozen=True)
class Fold:
    """Checks of one kind under one line."""

    line: str
    advice: str
    entries: tuple[Entry, ...]


def checks_html(lesson: Lesson, pictures: Mapping[str, str] | None = None, traces: Traces | None = None) -> str:
    """Return the checks by importance and time, each with its moment, the words around, and a picture.

    Then what was asked against what was shown, each hold drawn, exercises without a spoken caution, and a report
    on the sound.

    Parameters
    ----------
    lesson : Lesson
        What to look at.
    pictures : mapping or None
        Path of a still, from the folder, by chapter id.
    traces : mapping or None
        Pictures of holds, see `segmenter.publish.hold_traces`.
    """
    drawn = {chapter.id: _traces_of(chapter, traces or {}) for chapter in lesson.exercises()}
    groups = []
    for level, heading in LEVELS.items():
        checks = [check for check in lesson.checks if check.level == level]
        checks.sort(key=lambda check: -1 if check.start_ms is None else check.start_ms)
        if checks:
            entries = [_entry(lesson, check, pictures or {}, drawn) for check in checks]
            folds = [_fold(line, entries, code) for code, line in FOLDED.items()]
            folds = [fold for fold in folds if len(fold.entries) > MANY]
            inside = {entry.check.code for fold in folds for entry in fold.entries}
            alone = [entry for entry in entries if entry.check.code not in inside]
            groups.append(
                {"heading": heading, "care": level == "stop", "many": len(entries), "alone": alone, "folds": folds}
            )
    audio = lesson.recording.audio
    sound = {"rows": measured(audio), "faults": faults(lesson)} if audio else None
    return render_html(
        "checks.html.j2",
        lesson,
        "What to look at",
        groups=groups,
        compared=_compared(lesson),
        held=[(chapter, drawn[chapter.id]) for chapter in lesson.exercises() if drawn[chapter.id]],
        uncautioned=uncautioned(lesson),
        sound=sound,
    )


def uncautioned(lesson: Lesson) -> list[Chapter]:
    """The exercises in which no caution was heard."""
    return [
        chapter
        for chapter in lesson.chapters
        if chapter.kind == "exercise" and not any(caution.source == "spoken" for caution in chapter.cautions)
    ]


def words_around(words: Sequence[Word], start_ms: int, end_ms: int) -> Words | None:
    """Return what was said at a moment and around it; None where nobody spoke."""
    words = [
        w for w in words if start_ms - AROUND_MS <= w.end_ms and w.start_ms < max(end_ms, start_ms + 1) + AROUND_MS
    ]
    before = [w for w in words if start_ms - AROUND_MS <= w.start_ms < start_ms and w.end_ms <= start_ms + 1]
    at = [
        w
        for w in words
        if overlap((w.start_ms, max(w.end_ms, w.start_ms + 1)), (start_ms, max(end_ms, start_ms + 1)))
    ]
    after = [w for w in words if end_ms <= w.start_ms < end_ms + AROUND_MS and w not in at]
    if not (before or at or after):
        return None
    own = _joined(at[:MOST_WORDS]) + (" …" if len(at) > MOST_WORDS else "")
    # Of a long stretch the end is far away: what follows it would only confuse.
    return Words(_joined(before[-MOST_WORDS:]), own, "" if len(at) > MOST_WORDS else _joined(after[:MOST_WORDS]))


def _joined(words: Sequence[Word]) -> str:
    return " ".join(" ".join(word.text.split()) for word in words)


def _traces_of(chapter: Chapter, traces: Traces) -> tuple[HoldTrace, ...]:
    found = (traces.get((chapter.id, hold.start_ms)) for hold in chapter.shown.holds)
    return tuple(trace for trace in found if trace is not None)


def _entry(
    lesson: Lesson, check: Check, pictures: Mapping[str, str], drawn: Mapping[str, tuple[HoldTrace, ...]]
) -> Entry:
    if check.start_ms is None:
        return Entry(check, "", None, None)
    start, end = check.start_ms, check.start_ms if check.end_ms is None else check.end_ms
    chapter = next((c for c in lesson.chapters if c.start_ms <= start < c.end_ms), None)
    still = pictures.get(chapter.id) if chapter and check.code in STILL_CODES else None
    traces = drawn.get(chapter.id, ()) if chapter and check.code in TRACE_CODES else ()
    title = chapter_title(chapter) if chapter else ""
    return Entry(check, title, still, words_around(lesson.words, start, end), traces)


def _fold(line: str, entries: Sequence[Entry], code: str) -> Fold:
    return Fold(line, WHAT_TO_DO.get(code, ""), tuple(entry for entry in entries if entry.check.code == code))


def _compared(lesson: Lesson) -> list[dict[str, object]]:
    rows = []
    for chapter in lesson.exercises():
        asked, shown = asked_text(chapter, "class"), shown_text(chapter)
        if asked or shown:
            rows.append({"chapter": chapter, "asked": asked, "shown": shown, "off": difference_text(chapter)})
    return rows
