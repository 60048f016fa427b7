"""How well chapters fit the truth: counts that can be added over many classes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, fields
from typing import TypeVar

from segmenter.intervals import overlap
from segmenter.lesson import Ask, Chapter
from segmenter.understand.layout import Span, Truth
from segmenter.understand.scripts import RANGES, Value
from tests.evaluation.windowdiff import text_tiling, windowdiff

BOUNDARY_MS = 5_000
STOP_MS = 1_500
QUIZ_MS = 1_500
BEAT_SHARE = 0.03
EVERY_DAY: Value = (7.0, 7.0)

Of = TypeVar("Of")
AskedField = tuple[int, str, str, Value]
"""Chapter of the truth, class or home, name of the field, value."""


@dataclass(frozen=True)
class Hits:
    """How many were right, how many were wanted, how many were found in all."""

    right: int = 0
    wanted: int = 0
    found: int = 0

    def __add__(self, other: Hits) -> Hits:
        return Hits(self.right + other.right, self.wanted + other.wanted, self.found + other.found)

    @property
    def precision(self) -> float:
        """Share of what was found that is right; 1 where nothing was found."""
        return self.right / self.found if self.found else 1.0

    @property
    def recall(self) -> float:
        """Share of what was wanted that was found; 1 where nothing was wanted."""
        return self.right / self.wanted if self.wanted else 1.0

    @property
    def f1(self) -> float:
        """Harmonic mean of both."""
        both = self.wanted + self.found
        return 2 * self.right / both if both else 1.0


@dataclass(frozen=True)
class Tally:
    """The score of one recording, or of many added up. `talk_exercises`: exercises invented in plain talk."""

    classes: int = 0
    minutes: float = 0.0
    boundaries: Hits = Hits()
    windowdiff: float = 0.0
    tiling: float = 0.0
    family_ms: int = 0
    exercise_ms: int = 0
    named: Hits = Hits()
    stops: Hits = Hits()
    asked: Hits = Hits()
    counts: Hits = Hits()
    beats: Hits = Hits()
    quiz: Hits = Hits()
    cautions: Hits = Hits()
    talks: int = 0
    talk_exercises: int = 0

    def __add__(self, other: Tally) -> Tally:
        return Tally(**{f.name: getattr(self, f.name) + getattr(other, f.name) for f in fields(self)})


@dataclass
class Misses:
    """What went wrong in one class, in words; for the tuned classes only."""

    lines: list[str] = field(default_factory=list)

    def note(self, what: str, at_ms: int, more: object = "") -> None:
        """Keep one mistake."""
        self.lines.append(f"{at_ms // 60000}:{at_ms // 1000 % 60:02d} {what} {more}".rstrip())


def score(truth: Truth, chapters: Sequence[Chapter], misses: Misses | None = None) -> Tally:
    """Score the chapters found in one recording."""
    misses = misses or Misses()
    active = [chapter for chapter in chapters if chapter.kind in {"exercise", "quiz"}]
    if truth.talk_only:
        for chapter in active:
            misses.note("exercise in plain talk", chapter.start_ms, chapter.title)
        return Tally(talks=1, talk_exercises=len(active))
    practised = [stop.at_ms for chapter in chapters for stop in chapter.practice]
    found = [chapter.start_ms for chapter in chapters[1:]]
    family, exercise = _family(truth, chapters, misses)
    counts, beats = _counts(truth, chapters, misses)
    return Tally(
        classes=1,
        minutes=truth.end_ms / 60_000,
        boundaries=_near([c.start_ms for c in truth.chapters[1:]], found, BOUNDARY_MS, "boundary", misses),
        windowdiff=windowdiff(*_boundaries(truth, found)),
        tiling=windowdiff(_boundaries(truth, found)[0], text_tiling([text for _, _, text in truth.sentences])),
        family_ms=family,
        exercise_ms=exercise,
        named=_named(truth, chapters, misses),
        stops=_near(truth.stops, practised, STOP_MS, "practice stop", misses),
        asked=_asked(truth, chapters, misses),
        counts=counts,
        beats=beats,
        quiz=_quiz(truth, chapters, misses),
        cautions=_cautions(truth, chapters, misses),
    )


def _near(wanted: Sequence[int], found: Sequence[int], within: int, what: str, misses: Misses) -> Hits:
    """Pair times one to one, nearest pairs first."""
    pairs = sorted((abs(w - f), i, j) for i, w in enumerate(wanted) for j, f in enumerate(found))
    left, right = set(range(len(wanted))), set(range(len(found)))
    for distance, i, j in pairs:
        if distance <= within and i in left and j in right:
            left.remove(i)
            right.remove(j)
    for i in sorted(left):
        misses.note(f"{what} missed", wanted[i])
    for j in sorted(right):
        misses.note(f"{what} invented", found[j])
    return Hits(len(wanted) - len(left), len(wanted), len(found))


def _boundaries(truth: Truth, found: Sequence[int]) -> tuple[list[bool], list[bool]]:
    """After which sentences a chapter ends, in truth and as found."""
    middles = [(start + end) // 2 for start, end, _ in truth.sentences]

    def follows(starts: Sequence[int]) -> list[bool]:
        firsts = {sum(middle < start for middle in middles) for start in starts} - {0, len(middles)}
        return [at + 1 in firsts for at in range(len(middles))]

    return follows([c.start_ms for c in truth.chapters[1:]]), follows(found)


def _family(truth: Truth, chapters: Sequence[Chapter], misses: Misses) -> tuple[int, int]:
    right = total = 0
    for true in truth.chapters:
        if true.opens.kind != "exercise":
            continue
        span = (true.start_ms, true.end_ms)
        same = [c for c in chapters if c.kind in {"exercise", "quiz"} and c.family == true.opens.family]
        own = sum(overlap(c.span, span) for c in same)
        right, total = right + own, total + span[1] - span[0]
        if own < 0.8 * (span[1] - span[0]):
            there = [f"{c.kind}/{c.family}/{c.exercise}" for c in chapters if overlap(c.span, span) > 2_000]
            misses.note("family", span[0], f"{true.opens.family}/{true.opens.exercise}, found {', '.join(there)}")
    return right, total


def _named(truth: Truth, chapters: Sequence[Chapter], misses: Misses) -> Hits:
    """Exercises of the catalogue named right, where the class has one that the catalogue knows."""
    right = wanted = 0
    for true in truth.chapters:
        if true.opens.exercise is None:
            continue
        wanted += 1
        best = max(chapters, key=lambda c: overlap(c.span, (true.start_ms, true.end_ms)))
        right += best.exercise == true.opens.exercise
        if best.exercise != true.opens.exercise:
            misses.note("exercise", true.start_ms, f"{true.opens.exercise}, found {best.exercise}")
    return Hits(right, wanted, sum(c.exercise is not None for c in chapters if c.kind == "exercise"))


def _asked(truth: Truth, chapters: Sequence[Chapter], misses: Misses) -> Hits:
    stops = [(stop.asked, "home") for c in chapters for stop in c.practice if stop.asked]
    asks: list[tuple[Ask, str]] = [*((ask, ask.where) for c in chapters for ask in c.asked), *stops]
    found: dict[AskedField, str] = {}
    for ask, where in asks:
        at = next((n for n, c in enumerate(truth.chapters) if c.start_ms <= ask.start_ms < c.end_ms), None)
        if at is None:
            continue
        for name in (*RANGES, "side", "pattern"):
            value = getattr(ask, name)
            if value is not None:
                found[at, where, name, value] = ask.said or ""
    wanted, found = _alike(dict.fromkeys(truth.asked, "")), _alike(found)
    right = set(wanted) & set(found)
    for at, where, name, value in sorted(set(wanted) - right, key=str):
        misses.note("ask missed", truth.chapters[at].start_ms, f"{where} {name}={value}")
    for row in sorted(set(found) - right, key=str):
        misses.note("ask wrong", truth.chapters[row[0]].start_ms, f"{row[1]} {row[2]}={row[3]} “{found[row]}”")
    return Hits(len(right), len(wanted), len(found))


def _alike(asked: dict[AskedField, str]) -> dict[AskedField, str]:
    """Write what means the same in one way: "every day" is once a day; a breath not held is held for nothing."""
    rows: dict[AskedField, str] = {}
    often = {(at, where) for at, where, name, _ in asked if name == "per_day"}
    for (at, where, name, value), said in asked.items():
        if name == "days_per_week" and value == EVERY_DAY:
            if (at, where) not in often:
                rows[at, where, "per_day", (1.0, 1.0)] = said
        elif name == "pattern" and not isinstance(value, str):
            rows[at, where, name, tuple(beat or 0.0 for beat in value)] = said
        else:
            rows[at, where, name, value] = said
    return rows


def _counts(truth: Truth, chapters: Sequence[Chapter], misses: Misses) -> tuple[Hits, Hits]:
    runs = [run for chapter in chapters for run in chapter.shown.counts]
    right = even = 0
    for true in truth.counts:
        span = (true.start_ms, true.end_ms)
        run = max(runs, key=lambda r: overlap(r.span, span), default=None)
        if run is None or run.numbers != true.numbers or overlap(run.span, span) * 2 < span[1] - span[0]:
            there = run.numbers if run is not None and overlap(run.span, span) else None
            misses.note("count missed", span[0], f"{true.numbers}, found {there}")
            continue
        right += 1
        if run.kind != true.kind:
            misses.note("count kind", span[0], f"{true.kind}, found {run.kind}")
        if run.beat_s is not None and abs(run.beat_s - true.beat_s) <= BEAT_SHARE * true.beat_s:
            even += 1
        else:
            misses.note("beat", span[0], f"{true.beat_s:.2f}, found {run.beat_s}")
    return Hits(right, len(truth.counts), len(runs)), Hits(even, right, right)


def _quiz(truth: Truth, chapters: Sequence[Chapter], misses: Misses) -> Hits:
    items = [(item.clue.span, item.answer.span) for c in chapters for item in c.quiz if item.answer]

    def fits(true: tuple[Span, Span], item: tuple[Span, Span]) -> bool:
        clue = abs(true[0][1] - item[0][1]) <= QUIZ_MS and overlap(true[0], item[0]) > 0
        return clue and abs(true[1][0] - item[1][0]) <= QUIZ_MS

    return _paired(truth.quiz, items, fits, lambda item: item[0][0], "quiz item", misses)


def _cautions(truth: Truth, chapters: Sequence[Chapter], misses: Misses) -> Hits:
    spoken = [
        (c.start_ms, c.end_ms)
        for chapter in chapters
        for c in chapter.cautions
        if c.source == "spoken" and c.start_ms is not None and c.end_ms is not None
    ]

    # A recogniser parts and joins sentences as it likes: one may hold two cautions, or half of one.
    def fits(true: Span, one: Span) -> bool:
        shorter = min(true[1] - true[0], one[1] - one[0])
        return 2 * overlap(true, one) >= max(shorter, 1)

    missed = [true for true in truth.cautions if not any(fits(true, one) for one in spoken)]
    invented = [one for one in spoken if not any(fits(true, one) for true in truth.cautions)]
    for what, spans in (("missed", missed), ("invented", invented)):
        for span in spans:
            misses.note(f"caution {what}", span[0])
    right = len(truth.cautions) - len(missed)
    return Hits(right, len(truth.cautions), right + len(invented))


def _paired(
    wanted: Sequence[Of],
    found: Sequence[Of],
    fits: Callable[[Of, Of], bool],
    start: Callable[[Of], int],
    what: str,
    misses: Misses,
) -> Hits:
    left = list(found)
    right = 0
    for true in wanted:
        one = next((one for one in left if fits(true, one)), None)
        if one is None:
            misses.note(f"{what} missed", start(true))
            continue
        left.remove(one)
        right += 1
    for one in left:
        misses.note(f"{what} invented", start(one))
    return Hits(right, len(wanted), len(found))
