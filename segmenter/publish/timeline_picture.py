"""The class as one picture: chapters, what happens in them, holds, counts, and where viewers practise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Final, NamedTuple

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle
from matplotlib.ticker import FuncFormatter, MaxNLocator

from segmenter.lesson import Chapter, Lesson, PartKind
from segmenter.publish.chapters import chapter_title, one_line
from segmenter.publish.drawing import DO, INK, LINE, SOFT, look, png, svg
from segmenter.publish.rows import family_name, shown_text
from segmenter.publish.typeface import showable
from segmenter.times import clock, counted, spoken_length

PARTS: Final[dict[PartKind, tuple[str, str, str]]] = {
    "show": ("#8d877d", "", "doing it"),
    "count": ("#d9d4c8", "////", "counting"),
    "how": ("#e6e1d6", "", "how it is done"),
    "why": ("#f2eee4", "..", "why it helps"),
    "rest": ("#ffffff", "--", "a rest"),
    "practice": ("#ffffff", "xx", "time for viewers"),
    "chat": ("#ffffff", "", "talk"),
}
"""Fill, hatch and words of each kind of part: told apart in grey, by light and by pattern."""
ROW_IN: Final = 0.42
"""Inches a chapter."""
LONGEST_NAME: Final = 34


def timeline_svg(lesson: Lesson) -> str:
    """Return the timeline as SVG: a line a chapter, time from left to right, with words for every chapter."""
    return _drawn(*_facts(lesson)).svg


def timeline_png(lesson: Lesson) -> tuple[bytes, str]:
    """Return the same as PNG, and its words."""
    drawn = _drawn(*_facts(lesson))
    return drawn.png, f"Timeline: {drawn.words}"


class _Timeline(NamedTuple):
    svg: str
    png: bytes
    words: str


def _facts(lesson: Lesson) -> tuple[str, int, tuple[Chapter, ...]]:
    """What the picture depends on; a changed dose, say, is no reason to draw it again."""
    unseen = {"asked": (), "cautions": (), "quiz": (), "by_person": (), "reasons": (), "still_ms": None}
    chapters = [c.model_copy(update=unseen) for c in lesson.chapters if c.end_ms > c.start_ms]
    return lesson.title, lesson.duration_ms, tuple(chapters)


@lru_cache(maxsize=4)
def _drawn(title: str, duration_ms: int, chapters: tuple[Chapter, ...]) -> _Timeline:
    # Drawing takes longer than all texts of a lesson: both forms come of one figure, and the last few are kept.
    with look():
        figure = _figure(title, duration_ms, chapters)
        named = {f"chapter-{row}": _words(chapter) for row, chapter in enumerate(chapters)}
        words = _said(named)
        return _Timeline(svg(figure, f"Timeline: {one_line(title)}", words, named), png(figure), words)


def _said(words: Mapping[str, str]) -> str:
    return " ".join(words.values()) or "No chapters were found."


def _figure(title: str, duration_ms: int, chapters: Sequence[Chapter]) -> Figure:
    rows = max(1, len(chapters))
    figure = Figure(figsize=(12, 1.9 + ROW_IN * rows))
    axes = figure.add_subplot()
    for row, chapter in enumerate(chapters):
        _chapter(axes, row, chapter)
    _marks(axes, chapters)
    axes.set_ylim(rows - 0.4, -0.6)
    axes.set_xlim(0, max(1, duration_ms) * 1.005)  # room for the last line
    axes.set_yticks(range(len(chapters)), [_name(chapter) for chapter in chapters])
    axes.tick_params(axis="y", length=0)
    axes.xaxis.set_major_locator(MaxNLocator(8, steps=[1, 1.2, 1.5, 2, 3, 6, 10]))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda ms, _: clock(int(max(0, ms)))))
    axes.grid(axis="x", color="#d9d4c8", linewidth=0.8)
    axes.set_axisbelow(True)
    axes.set_title(showable(one_line(title))[:90] or "Exercise class", loc="left", weight="bold", size=17)
    figure.legend(handles=list(_legend(chapters)), loc="outside lower left", ncols=5, frameon=False, fontsize=12)
    # Laid out once: a figure that keeps its engine is laid out again for each form.
    ConstrainedLayoutEngine().execute(figure)
    return figure


def _name(chapter: Chapter) -> str:
    name = showable(chapter_title(chapter)) or chapter.kind
    return name if len(name) <= LONGEST_NAME else name[: LONGEST_NAME - 1].rstrip() + "…"


def _chapter(axes: Axes, row: int, chapter: Chapter) -> None:
    exercise = chapter.kind in {"exercise", "quiz"}
    start, length = chapter.start_ms, chapter.end_ms - chapter.start_ms
    edge = 1.6 if exercise else 0.9
    for part in chapter.parts:
        fill, hatch, _ = PARTS[part.kind]
        inside = Rectangle((part.start_ms, row - 0.3), part.end_ms - part.start_ms, 0.6, fc=fill, hatch=hatch, lw=0)
        axes.add_patch(inside)
    axes.add_patch(
        Rectangle(
            (start, row - 0.3), length, 0.6, fill=False, ec=INK if exercise else LINE, lw=edge, gid=f"chapter-{row}"
        )
    )


def _marks(axes: Axes, chapters: Sequence[Chapter]) -> None:
    """Holds, counts and practice stops, each kind drawn as one: a long class has hundreds."""
    holds = [(row - 0.1, *hold.span) for row, c in enumerate(chapters) for hold in c.shown.holds]
    counts = [(row + 0.16, *count.span) for row, c in enumerate(chapters) for count in c.shown.counts]
    stops = [(stop.at_ms, row - 0.42, row + 0.42) for row, c in enumerate(chapters) for stop in c.practice]
    if holds:
        axes.hlines(*zip(*holds, strict=True), color=INK, lw=4.5, zorder=2)
    if counts:
        axes.hlines(*zip(*counts, strict=True), color=INK, lw=2.2, ls=(0, (1, 1)), zorder=2)
    if stops:
        at, top, bottom = zip(*stops, strict=True)
        axes.vlines(at, top, bottom, color=DO, lw=2.6, zorder=2)
        axes.plot(at, top, "v", color=DO, markersize=11, clip_on=False)


def _legend(chapters: Sequence[Chapter]) -> Iterator[Patch | Line2D]:
    used = {part.kind for chapter in chapters for part in chapter.parts}
    for kind, (fill, hatch, words) in PARTS.items():
        if kind in used:
            yield Patch(fc=fill, hatch=hatch, ec=SOFT, lw=0.8, label=words)
    if any(chapter.shown.holds for chapter in chapters):
        yield Line2D([], [], color=INK, lw=4.5, label="held")
    if any(chapter.shown.counts for chapter in chapters):
        yield Line2D([], [], color=INK, lw=2.2, ls=(0, (1, 1)), label="counted aloud")
    if any(chapter.practice for chapter in chapters):
        yield Line2D([], [], color=DO, lw=2.6, marker="v", markersize=11, label="viewers stop to practise")


def _words(chapter: Chapter) -> str:
    """A chapter as a sentence, for those who do not see the picture."""
    said = [family_name(chapter).lower(), shown_text(chapter)]
    if chapter.practice:
        times = ", ".join(clock(stop.at_ms) for stop in chapter.practice)
        said.append(f"{counted(len(chapter.practice), 'practice stop')} at {times}")
    about = "".join(f", {part}" for part in said if part)
    length = spoken_length(chapter.end_ms - chapter.start_ms)
    return f"{clock(chapter.start_ms)} {chapter_title(chapter)}, {length}{about}."
