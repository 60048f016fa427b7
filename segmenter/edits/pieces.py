"""What lies inside chapters follows its time when their borders move."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TypeVar

from segmenter.lesson import Chapter, Part, Shown

T = TypeVar("T")


def shared_out(olds: Sequence[Chapter], news: Sequence[Chapter]) -> list[Chapter]:
    """Return the chapters `news` with everything timed that was in `olds`, each piece where its middle lies.

    Parameters
    ----------
    olds : sequence of Chapter
        Neighbours as they were.
    news : sequence of Chapter
        The same stretch with other borders; titles, families and warnings without a time stay theirs.
    """
    holds = _placed(news, (h for c in olds for h in c.shown.holds), lambda h: (h.start_ms + h.end_ms) // 2)
    counts = _placed(news, (r for c in olds for r in c.shown.counts), lambda r: (r.start_ms + r.end_ms) // 2)
    asked = _placed(news, (a for c in olds for a in c.asked), lambda a: (a.start_ms + a.end_ms) // 2)
    stops = _placed(news, (p for c in olds for p in c.practice), lambda p: p.at_ms)
    quiz = _placed(news, (q for c in olds for q in c.quiz), lambda q: q.clue.start_ms)
    timed = ((k, k.start_ms) for c in olds for k in c.cautions if k.start_ms is not None)
    cautions = _placed(news, timed, lambda pair: pair[1])
    parts = [part for chapter in olds for part in chapter.parts]
    made = []
    for n, chapter in enumerate(news):
        shown = Shown(reps=chapter.shown.reps, holds=tuple(holds[n]), counts=tuple(counts[n]))
        untimed = [k for k in chapter.cautions if k.start_ms is None]
        made.append(
            chapter.model_copy(
                update={
                    "parts": _clipped(parts, chapter),
                    "asked": tuple(asked[n]),
                    "shown": shown,
                    "practice": tuple(stops[n]),
                    "cautions": (*(k for k, _ in cautions[n]), *untimed),
                    "quiz": tuple(quiz[n]),
                }
            )
        )
    return made


def _placed(news: Sequence[Chapter], pieces: Iterable[T], middle: Callable[[T], int]) -> list[list[T]]:
    rooms: list[list[T]] = [[] for _ in news]
    for piece in pieces:
        at = middle(piece)
        room = next((n for n, chapter in enumerate(news) if at < chapter.end_ms), len(news) - 1)
        rooms[room].append(piece)
    return rooms


def _clipped(parts: Iterable[Part], chapter: Chapter) -> tuple[Part, ...]:
    found: list[Part] = []
    for part in sorted(parts, key=lambda part: part.span):
        start, end = max(part.start_ms, chapter.start_ms), min(part.end_ms, chapter.end_ms)
        if end <= start:
            continue
        if found and found[-1].kind == part.kind and found[-1].end_ms == start:
            # A border that went away leaves no seam behind.
            found[-1] = Part(kind=part.kind, start_ms=found[-1].start_ms, end_ms=end)
        else:
            found.append(Part(kind=part.kind, start_ms=start, end_ms=end))
    return tuple(found)
