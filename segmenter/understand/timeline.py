"""From facts to chapters: what the class was, stretch by stretch, with the reasons."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from segmenter.heard import Heard
from segmenter.intervals import overlap
from segmenter.lesson import FAMILY_NAMES, Caution, Chapter, Check, Shown, Word
from segmenter.understand.catalogue import Catalogue, Exercise
from segmenter.understand.cues import Role
from segmenter.understand.doubts import doubts_of
from segmenter.understand.evidence import Facts, Line, gather, lines_of
from segmenter.understand.parts import parts_of, practice_of, quiz_of
from segmenter.understand.plan import Plan, plan_checks, plan_support
from segmenter.understand.repair import repair
from segmenter.understand.search import Reading, Stretch, best_stretches
from segmenter.understand.shown import shown
from segmenter.understand.spoken_names import names_spoken

SURE_SCORE = 6.0
"""Evidence from which on a chapter counts as certain."""
LEAST_ACTIVITY = 1.5
"""An exercise in which less happens is talk about an exercise."""
SURE_NAME = 0.8
"""A mention this strong names the exercise beyond doubt."""
LEAD_IN_MS = 300
"""A chapter starts at most this long before its first word, so that no word is cut."""
CAUTION = 0.9
"""Cue strength from which on a sentence is kept as a caution."""

_TITLES = {"opening": "Welcome", "talk": "News and talk", "closing": "Goodbye", "quiz": "Think and answer"}


@dataclass(frozen=True)
class Understood:
    """The chapters of a class, its words, and what a person should look at."""

    chapters: tuple[Chapter, ...]
    words: tuple[Word, ...]
    checks: tuple[Check, ...]


def understand(heard: Heard, catalogue: Catalogue, plan: Plan | None = None) -> Understood:
    """Read a class from what was heard.

    Parameters
    ----------
    heard : Heard
        Words and sounds.
    catalogue : Catalogue
        The exercises known.
    plan : Plan or None
        What the clinician meant to do, as a hint.

    Returns
    -------
    Understood
        Chapters in order, touching, from 0 to the end of the recording.
    """
    repaired = repair(heard.words, catalogue)
    heard = heard.model_copy(update={"words": repaired.words})
    facts = gather(heard, catalogue)
    lines = lines_of(facts)
    if not lines:
        nothing = Chapter(id="c1", title="Recording", kind="talk", start_ms=0, end_ms=heard.end_ms, confidence=0.0)
        return Understood((nothing,), heard.words, repaired.checks)
    support = plan_support(plan, catalogue) if plan else {}
    for line in lines:
        line.named.update({id: min(1.0, s + support[id]) for id, s in line.named.items() if id in support})
    stretches = _joined([_named(_judged(s, lines), lines, catalogue) for s in best_stretches(lines, catalogue)])
    starts = [0, *(_start(lines, stretch.first) for stretch in stretches[1:]), heard.end_ms]
    chapters = tuple(
        _chapter(f"c{number}", stretch, (starts[number - 1], starts[number]), lines, facts, catalogue)
        for number, stretch in enumerate(stretches, 1)
    )
    chapters = _told_apart(chapters)
    planned = plan_checks(plan, chapters, heard.words) if plan else ()
    named = names_spoken(heard.words, catalogue)
    return Understood(chapters, heard.words, (*repaired.checks, *doubts_of(chapters), *planned, *named))


def _told_apart(chapters: Sequence[Chapter]) -> tuple[Chapter, ...]:
    """Number titles that stand more than once."""
    titles = Counter(chapter.title for chapter in chapters)
    seen: Counter[str] = Counter()
    told: list[Chapter] = []
    for chapter in chapters:
        seen[chapter.title] += 1
        title = f"{chapter.title} {seen[chapter.title]}" if titles[chapter.title] > 1 else chapter.title
        told.append(chapter.model_copy(update={"title": title}))
    return tuple(told)


def _start(lines: Sequence[Line], first: int) -> int:
    line = lines[first]
    return line.sentence.start_ms - min(LEAD_IN_MS, line.pause_before_ms // 2)


def _judged(stretch: Stretch, lines: Sequence[Line]) -> Stretch:
    """Take talk that only mentions an exercise for what it is."""
    if stretch.reading.kind != "exercise":
        return stretch
    own = lines[stretch.first : stretch.last]
    activity = sum(line.activity for line in own)
    done = any(line.efforts or line.counted or line.class_ask or line.home_ask or line.prompt for line in own)
    named = max((line.named.get(stretch.reading.exercise or "", 0.0) for line in own), default=0.0)
    told = sum(line.roles.get("how", 0.0) > 0 for line in own)
    busy = activity >= LEAST_ACTIVITY
    if not ((done and (busy or named >= SURE_NAME)) or (busy and named >= 0.5 and told >= 2)):
        return Stretch(stretch.first, stretch.last, Reading("talk"), stretch.score)
    return stretch


def _named(stretch: Stretch, lines: Sequence[Line], catalogue: Catalogue) -> Stretch:
    """Find the exercise of a stretch whose family alone is known, from its weaker mentions."""
    reading = stretch.reading
    own = lines[stretch.first : stretch.last]
    # A part split off from a named exercise keeps the family, not the name.
    if reading.exercise is not None and not any(reading.exercise in line.named for line in own):
        stretch = Stretch(stretch.first, stretch.last, Reading(reading.kind, reading.family), stretch.score)
        reading = stretch.reading
    if reading.kind != "exercise" or reading.exercise is not None:
        return stretch
    voiced = any(line.efforts for line in own)
    scores: dict[str, float] = {}
    for line in own:
        for name, strength in line.named.items():
            exercise = catalogue.by_id(name)
            if exercise.family == reading.family and (exercise.held in {"voiced", "glide"}) == voiced:
                scores[name] = scores.get(name, 0.0) + strength
    ranked = sorted(scores.items(), key=lambda item: -item[1])
    if not ranked or ranked[0][1] < 0.5 or (len(ranked) > 1 and ranked[1][1] > 0.7 * ranked[0][1]):
        return stretch
    return Stretch(stretch.first, stretch.last, Reading("exercise", reading.family, ranked[0][0]), stretch.score)


def _joined(stretches: Sequence[Stretch]) -> list[Stretch]:
    joined: list[Stretch] = []
    for stretch in stretches:
        last = joined[-1] if joined else None
        if last is not None and stretch.reading == last.reading and stretch.reading.kind != "exercise":
            joined[-1] = Stretch(last.first, stretch.last, last.reading, last.score + stretch.score)
        else:
            joined.append(stretch)
    return joined


def _chapter(
    name: str,
    stretch: Stretch,
    span: tuple[int, int],
    lines: Sequence[Line],
    facts: Facts,
    catalogue: Catalogue,
) -> Chapter:
    own = lines[stretch.first : stretch.last]
    reading = stretch.reading
    exercise = catalogue.by_id(reading.exercise) if reading.exercise else None
    is_exercise = reading.kind == "exercise"
    prompts = [p for p in facts.prompts if span[0] <= p.start_ms < span[1]]
    # What is asked of those who stop the recording belongs to the practice stop.
    asked = tuple(
        ask
        for ask in facts.asks
        if is_exercise and span[0] <= ask.start_ms < span[1] and not any(overlap(p.span, ask.span) for p in prompts)
    )
    length = max(1, len(own))
    return Chapter(
        id=name,
        start_ms=span[0],
        end_ms=span[1],
        title=_title(reading, exercise),
        kind=reading.kind,
        family=reading.family,
        exercise=reading.exercise,
        confidence=round(min(1.0, max(0.05, stretch.score / min(SURE_SCORE, 1.5 * length))), 2),
        parts=parts_of(own, facts, span, is_exercise=is_exercise),
        asked=asked,
        shown=shown(facts.words, facts.sounds, *span, facts.counts) if is_exercise else Shown(),
        practice=practice_of(prompts, asked, facts, span),
        cautions=(*_spoken_cautions(own), *_usual_cautions(exercise)),
        quiz=quiz_of(own) if reading.kind == "quiz" else (),
        reasons=_reasons(own, reading),
    )


def _title(reading: Reading, exercise: Exercise | None) -> str:
    if exercise is not None:
        return exercise.plain[:1].upper() + exercise.plain[1:]
    if reading.kind == "exercise" and reading.family:
        return FAMILY_NAMES[reading.family]
    return _TITLES.get(reading.kind, "Exercise")


def _spoken_cautions(own: Sequence[Line]) -> tuple[Caution, ...]:
    return tuple(
        Caution(
            text=line.sentence.text,
            start_ms=line.sentence.start_ms,
            end_ms=line.sentence.end_ms,
            source="spoken",
        )
        for line in own
        if line.roles.get("caution", 0.0) >= CAUTION
    )


def _usual_cautions(exercise: Exercise | None) -> tuple[Caution, ...]:
    if exercise is None:
        return ()
    return tuple(Caution(text=c.text, source="catalogue", reference=c.source) for c in exercise.cautions)


def _reasons(own: Sequence[Line], reading: Reading) -> tuple[str, ...]:
    reasons: list[str] = []
    named = [line for line in own if reading.exercise and line.named.get(reading.exercise, 0.0) >= 0.5]
    if named:
        reasons.append(f"the exercise is named: “{_short(named[0].sentence.text)}”")
    turn: Role = "turn"
    if own and own[0].roles.get(turn, 0.0) >= 0.4:
        reasons.append(f"the speaker turns to something new: “{_short(own[0].sentence.text)}”")
    signs = {
        "a sound is held": any(line.efforts for line in own),
        "numbers are counted": any(line.counted for line in own),
        "a dose is asked for": any(line.class_ask or line.home_ask for line in own),
        "viewers are asked to stop and practise": any(line.prompt for line in own),
        "clues are followed by time to think": any(line.answers for line in own),
        "dates or news are told": sum(line.roles.get("news", 0.0) > 0 for line in own) >= 2,
    }
    reasons += [sign for sign, there in signs.items() if there]
    if reading.family and not named and reading.kind == "exercise":
        reasons.append(f"its words belong to the family “{reading.family}”")
    return tuple(reasons or [f"it reads as {reading.kind}"])


def _short(text: str, most: int = 80) -> str:
    return text if len(text) <= most else text[: most - 1].rsplit(" ", 1)[0] + "…"
