"""From facts to chapters: what the class was, stretch by stretch, with the reasons."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from segmenter.heard import Heard
from segmenter.intervals import overlap
from segmenter.lesson import FAMILY_NAMES, Caution, Chapter, Check, QuizItem, Shown, Word
from segmenter.understand.ageing import ageing_remarks
from segmenter.understand.catalogue import Catalogue, Exercise
from segmenter.understand.caution_words import caution_words, is_caution
from segmenter.understand.dose import find_asks
from segmenter.understand.dose_clauses import Utterance
from segmenter.understand.dose_verdicts import Weighed
from segmenter.understand.dose_weighed import weigh
from segmenter.understand.doubts import doubts_of
from segmenter.understand.evidence import Facts, Line, gather, lines_of
from segmenter.understand.judged import is_general, judged_asks, judged_prompts
from segmenter.understand.parts import parts_of, practice_of, quiz_of
from segmenter.understand.pieces import Piece, pieces_of
from segmenter.understand.plan import Plan, plan_checks, plan_support
from segmenter.understand.prompts import find_prompts
from segmenter.understand.reader import Readings, read
from segmenter.understand.reasons import reasons_for
from segmenter.understand.repair import repair
from segmenter.understand.shown import shown
from segmenter.understand.spans import Span, find_spans
from segmenter.understand.spoken_names import names_spoken

LEAD_IN_MS = 300
"""A chapter starts at most this long before its first word, so that no word is cut."""

_TITLES = {"opening": "Welcome", "talk": "News and talk", "closing": "Goodbye", "quiz": "Think and answer"}


@dataclass(frozen=True)
class Understood:
    """The chapters of a class, its words, and what a person should look at."""

    chapters: tuple[Chapter, ...]
    words: tuple[Word, ...]
    checks: tuple[Check, ...]


@dataclass(frozen=True)
class Models:
    """What was trained: `read` reads the sentences, `spot` finds spans in the words, `weigh` weighs the numbers."""

    read: Callable[[Sequence[Line], Catalogue], Readings] = read
    spot: Callable[[Sequence[Word]], Sequence[Span]] = find_spans
    weigh: Callable[[Sequence[Utterance], Sequence[Span], Sequence[Line], Readings], Sequence[Weighed]] = weigh


SHIPPED = Models()


def understand(
    heard: Heard, catalogue: Catalogue, plan: Plan | None = None, models: Models = SHIPPED
) -> Understood:
    """Read a class from what was heard.

    Parameters
    ----------
    heard : Heard
        Words and sounds.
    catalogue : Catalogue
        The exercises known.
    plan : Plan or None
        What the clinician meant to do, as a hint.
    models : Models
        Those that ship, or others that were trained on other text.

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
    readings = models.read(lines, catalogue)
    facts = _with_labels(facts, lines, readings, models)
    readings = caution_words().read_again(readings, [line.sentence.text for line in lines])
    pieces = pieces_of(readings, lines, catalogue)
    starts = [0, *(_start(lines, piece.first) for piece in pieces[1:]), heard.end_ms]
    chapters = tuple(
        _chapter(f"c{number}", piece, (starts[number - 1], starts[number]), lines, readings, facts, catalogue)
        for number, piece in enumerate(pieces, 1)
    )
    chapters = _told_apart(chapters)
    planned = plan_checks(plan, chapters, heard.words) if plan else ()
    said = (*names_spoken(heard.words, catalogue), *ageing_remarks(heard.words))
    return Understood(chapters, heard.words, (*repaired.checks, *doubts_of(chapters), *planned, *said))


def _with_labels(facts: Facts, lines: Sequence[Line], readings: Readings, models: Models) -> Facts:
    """Read doses and practice stops again, with what was trained.

    The reader was trained on what rules alone find, since the recogniser of spans knows the training text by heart.
    """
    weighed = models.weigh(facts.utterances, models.spot(facts.words), lines, readings)
    asks = judged_asks(find_asks(facts.words, weighed), lines, readings)
    prompts = judged_prompts(find_prompts(facts.words, weighed), lines, readings, facts.words, weighed)
    return replace(facts, asks=asks, prompts=prompts)


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


def _chapter(
    name: str,
    piece: Piece,
    span: tuple[int, int],
    lines: Sequence[Line],
    readings: Readings,
    facts: Facts,
    catalogue: Catalogue,
) -> Chapter:
    places = range(piece.first, piece.last)
    own = lines[piece.first : piece.last]
    exercise = catalogue.by_id(piece.exercise) if piece.exercise else None
    is_exercise = piece.kind == "exercise"
    prompts = [p for p in facts.prompts if span[0] <= p.start_ms < span[1]]
    # What is asked of those who stop the recording belongs to the practice stop.
    asked = tuple(
        ask
        for ask in facts.asks
        if span[0] <= ask.start_ms < span[1]
        and not any(overlap(p.span, ask.span) for p in prompts)
        and (is_exercise or is_general(ask, lines, readings))
    )
    return Chapter(
        id=name,
        start_ms=span[0],
        end_ms=span[1],
        title=_title(piece, exercise),
        kind=piece.kind,
        family=piece.family,
        exercise=piece.exercise,
        confidence=piece.confidence,
        parts=parts_of(places, lines, readings, span) if is_exercise else (),
        asked=asked,
        shown=shown(facts.words, facts.sounds, *span, facts.counts) if is_exercise else Shown(),
        practice=practice_of(prompts, asked, facts, span),
        cautions=(*_spoken_cautions(places, lines, readings), *_usual_cautions(exercise)),
        quiz=_riddles(piece, quiz_of(places, lines, readings)),
        reasons=reasons_for(piece, own),
    )


def _riddles(piece: Piece, items: tuple[QuizItem, ...]) -> tuple[QuizItem, ...]:
    """What is asked; words to say after somebody, in an exercise of another kind, are no riddles."""
    if piece.kind != "exercise" or piece.family == "thinking":
        return items
    return tuple(item for item in items if "?" in item.clue.text)


def _title(piece: Piece, exercise: Exercise | None) -> str:
    if exercise is not None:
        return exercise.plain[:1].upper() + exercise.plain[1:]
    if piece.kind == "exercise" and piece.family:
        return FAMILY_NAMES[piece.family]
    return _TITLES.get(piece.kind, "Exercise")


def _spoken_cautions(places: Sequence[int], lines: Sequence[Line], readings: Readings) -> tuple[Caution, ...]:
    return tuple(
        Caution(
            text=lines[at].sentence.text,
            start_ms=lines[at].sentence.start_ms,
            end_ms=lines[at].sentence.end_ms,
            source="spoken",
        )
        for at in places
        if is_caution(readings.role(at, "caution"), lines[at].sentence.text, lines[at].cues.get("caution", 0.0))
    )


def _usual_cautions(exercise: Exercise | None) -> tuple[Caution, ...]:
    if exercise is None:
        return ()
    return tuple(Caution(text=c.text, source="catalogue", reference=c.source) for c in exercise.cautions)
