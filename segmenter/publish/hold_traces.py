"""A small picture of each hold: its pitch and level over time, how long it lasted and how long was asked for."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, MaxNLocator
from numpy.typing import NDArray

from segmenter.heard import Curve
from segmenter.lesson import Chapter, Hold, Lesson
from segmenter.publish.chapters import chapter_title
from segmenter.publish.drawing import INK, LINE, SOFT, bare_svg, look, png, with_words
from segmenter.publish.rows import HOLD_HOW, Target, hold_target
from segmenter.publish.wording import number, range_text
from segmenter.times import clock

FOLDER: Final = "holds"
SIZE: Final = (4.2, 2.1)
"""Inches."""
LIGHT: Final = "#cbc4b6"
LEVEL_DB: Final = 30.0
"""Decibels from bottom to top: a voice that fades to a breath still shows (own choice)."""
NARROWEST_ST: Final = 4.0
"""Semitones from bottom to top at least, so that a steady voice looks steady."""


@dataclass(frozen=True)
class HoldTrace:
    """The picture of one hold.

    Parameters
    ----------
    name : str
        Its file in the lesson folder.
    words : str
        The same in words.
    svg : str
    png : bytes
    """

    name: str
    words: str
    svg: str
    png: bytes


Traces = Mapping[tuple[str, int], HoldTrace]
"""Pictures of holds by chapter id and start of the hold."""


def hold_traces(lesson: Lesson, curve: Curve | None) -> Traces:
    """Return a picture of every hold of the exercises.

    Parameters
    ----------
    lesson : Lesson
        Its chapters.
    curve : Curve or None
        Pitch and level of the recording; None where it was not kept: then only lengths are drawn.
    """
    drawn = {}
    for number_, chapter in enumerate(lesson.exercises(), 1):
        target, holds = hold_target(chapter), chapter.shown.holds
        scale = max([hold.seconds for hold in holds] + [target.most if target else 0.0], default=0.0)
        for at, hold in enumerate(holds, 1):
            words = _words(chapter, hold, at, target)
            measured = _measured(hold, curve)
            picture = _drawn(hold, target, scale, measured, words)
            drawn[chapter.id, hold.start_ms] = HoldTrace(f"{FOLDER}/{number_:02d}-{at:02d}.svg", words, *picture)
    return drawn


@dataclass(frozen=True)
class _Measured:
    """Values over a hold, as bytes so that equal ones are found again; level against talk where that is known."""

    first_s: float
    step_s: float
    pitch: bytes
    level: bytes
    against_talk: bool

    def values(self) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
        """Seconds from the start of the hold, Hz (NaN without voice), dB."""
        pitch, level = (np.frombuffer(each, np.float64) for each in (self.pitch, self.level))
        seconds = np.asarray(self.first_s + np.arange(len(pitch)) * self.step_s, dtype=np.float64)
        return seconds, pitch, level


def _measured(hold: Hold, curve: Curve | None) -> _Measured | None:
    if curve is None or hold.how != "voiced":
        return None  # without voice there is neither pitch nor a level that means anything
    pitch, level = curve.within(*hold.span)
    if not len(pitch):
        return None
    talk = curve.talk_db
    zero = float(np.median(level)) if talk is None else talk
    step = curve.step_ms
    first = (-(-hold.start_ms // step) + 0.5) * step - hold.start_ms
    return _Measured(first / 1000, step / 1000, pitch.tobytes(), (level - zero).tobytes(), talk is not None)


def _words(chapter: Chapter, hold: Hold, at: int, target: Target | None) -> str:
    said = [f"Hold {at} of {len(chapter.shown.holds)} at {clock(hold.start_ms)} in {chapter_title(chapter)}: "]
    said.append(f"{hold.seconds:.1f} seconds {HOLD_HOW[hold.how]}")
    if target is not None:
        said.append(f", {range_text(target.seconds, 'second')} asked {target.where}{_off(hold, target)}")
    if hold.glide_hz is not None:
        said.append(f". Pitch from {hold.glide_hz[0]:.0f} to {hold.glide_hz[1]:.0f} hertz")
    elif hold.pitch_hz is not None:
        said.append(f". Pitch about {hold.pitch_hz:.0f} hertz")
        if hold.pitch_spread_st is not None:
            said.append(f", spread {hold.pitch_spread_st:.1f} semitones")
    if hold.level_db is not None:
        over = "louder" if hold.level_db >= 0 else "softer"
        said.append(f". {abs(hold.level_db):.0f} decibels {over} than the speaker's own talk")
    return "".join(said) + "."


def _off(hold: Hold, target: Target) -> str:
    least, most = target.least, target.most
    if hold.seconds < least - 1:
        return f" ({number(round(least - hold.seconds, 1))} seconds shorter)"
    if hold.seconds > most + 1:
        return f" ({number(round(hold.seconds - most, 1))} seconds longer)"
    return ""


@lru_cache(maxsize=1024)
def _drawn(
    hold: Hold, target: Target | None, scale: float, measured: _Measured | None, words: str
) -> tuple[str, bytes]:
    bare, picture = _bare(hold, target, scale, measured)
    return with_words(bare, "A hold, drawn", words, {}), picture


@lru_cache(maxsize=1024)
def _bare(hold: Hold, target: Target | None, scale: float, measured: _Measured | None) -> tuple[bytes, bytes]:
    """The same without words, SVG and PNG: a chapter that is only called something else is not drawn again."""
    with look():
        figure = Figure(figsize=SIZE)
        _draw(figure, hold, target, scale, measured)
        return bare_svg(figure), png(figure)


def _draw(figure: Figure, hold: Hold, target: Target | None, scale: float, measured: _Measured | None) -> None:
    end = max(1.0, scale * 1.06)
    axes = list(_panels(figure, measured))
    for panel in axes:
        panel.set_xlim(0, end)
        panel.tick_params(labelsize=12, length=3)
        if target is not None:
            if target.most > target.least:
                panel.axvspan(target.least, target.most, fc="none", ec=SOFT, hatch="////", lw=0)
            panel.axvline(target.least, color=INK, lw=1.6, ls=(0, (4, 2)))
        panel.axvline(hold.seconds, color=INK, lw=1.6)
        if panel is not axes[-1]:
            panel.tick_params(labelbottom=False)
    if measured is not None:
        _curves(axes, measured, hold.seconds)
    else:
        axes[0].barh(0, hold.seconds, height=0.7, color=LIGHT, ec=INK)
        axes[0].text(end * 0.02, 0, HOLD_HOW[hold.how], va="center", size=13)
        axes[0].set_ylim(-0.6, 0.6)
        axes[0].set_yticks([])
    axes[-1].xaxis.set_major_locator(MaxNLocator(6, integer=True))
    axes[-1].xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g} s"))
    asked = f"   asked {range_text(target.seconds)} s, dashed" if target else ""
    figure.text(0.02, 0.985, f"held {hold.seconds:.1f} s{asked}", va="top", weight="bold", size=14)


def _panels(figure: Figure, measured: _Measured | None) -> Iterator[Axes]:
    if measured is None:
        yield figure.add_axes((0.03, 0.2, 0.94, 0.58))
        return
    with_pitch = not np.isnan(measured.values()[1]).all()
    if with_pitch:
        yield figure.add_axes((0.19, 0.53, 0.79, 0.31))
    yield figure.add_axes((0.19, 0.16, 0.79, 0.3 if with_pitch else 0.66))


def _curves(axes: list[Axes], measured: _Measured, length_s: float) -> None:
    seconds, pitch, level = measured.values()
    if len(axes) > 1:
        panel, notes = axes[0], 12 * np.log2(pitch)
        middle = float(np.nanmedian(notes))
        reach = max(NARROWEST_ST / 2, 1.15 * float(np.nanmax(np.abs(notes - middle))))
        panel.axhline(middle, color=LINE, lw=0.8)
        panel.plot(seconds, notes, color=INK, lw=2.2, solid_joinstyle="round")
        panel.set_ylim(middle - reach, middle + reach)
        panel.set_yticks([middle], [f"{2 ** (middle / 12):.0f} Hz"])
    panel = axes[-1]
    low, high = float(level.max()) - LEVEL_DB, float(level.max()) + 3
    # Each value stands for a step of time: the first and the last reach to the ends of the hold.
    seconds, level = (
        np.concatenate([[0.0], seconds, [length_s]]),
        np.maximum(level, low)[[0, *range(len(level)), -1]],
    )
    panel.fill_between(seconds, level, low, color=LIGHT, lw=0)
    panel.plot(seconds, level, color=INK, lw=1.4)
    panel.set_ylim(low, max(high, 2.0) if measured.against_talk else high)
    if measured.against_talk and low < 0:
        panel.axhline(0, color=INK, lw=1.2, ls=(0, (1, 2)))
        panel.set_yticks([0], ["talk"])
    else:
        panel.set_yticks([])
        panel.set_ylabel("level", size=12)
