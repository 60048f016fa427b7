"""What the screen shows while something is put in: the last frame, dimmed, and one thing to do, very large."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from typing import Final

from PIL import Image, ImageDraw, ImageFont

from segmenter.publish.follow.plan import Insert
from segmenter.publish.follow.steps import Step
from segmenter.publish.typeface import font_file, showable
from segmenter.publish.wording import DEFER

INK: Final = (29, 27, 24)
PAPER: Final = (251, 248, 241)
SOFT: Final = (203, 196, 182)
DO: Final = (143, 211, 230)
"""Always and only: do this now."""
CARE: Final = (255, 189, 143)
"""Always and only: take care."""
DIM: Final = 0.16
"""What is left of the light of the last frame: white on it stays above 7 to 1 (W3C WCAG 2.2, 1.4.6)."""
TAKE_CARE: Final = "Take care"
STOP_LINE: Final = "Stop and rest if you feel dizzy or unwell, or if it hurts."
_DOING: Final = frozenset({"hold", "breathe", "wait", "think"})

Size = tuple[int, int]


def pictures(
    insert: Insert, size: Size, behind: Image.Image | None, rate: Fraction
) -> Iterator[tuple[Image.Image, int]]:
    """Yield every picture of something put in, with the number of frames it stands.

    Parameters
    ----------
    insert : Insert
        What to show.
    size : (int, int)
        Width and height of the film, in pixels.
    behind : Image or None
        The last frame of the class, in that size; None shows plain ink.
    rate : Fraction
        Frames a second.
    """
    ground = dimmed(behind, size)
    ticks = insert.tick_frames(rate)
    whole, passed = sum(frames for _, _, frames in ticks), 0
    for step, number, frames in ticks:
        picture = ground.copy()
        if step.kind == "card":
            _card(picture, insert)
        else:
            _step(picture, insert, step, number)
            _bar(picture, passed / whole)
        passed += frames
        yield picture, frames


def dimmed(behind: Image.Image | None, size: Size) -> Image.Image:
    """Return the frame made dark enough to read on."""
    ground = Image.new("RGB", size, INK)
    return ground if behind is None else Image.blend(ground, behind.convert("RGB").resize(size), DIM)


def number_text(number: int) -> str:
    """A count as it stands on the screen.

    >>> number_text(9), number_text(100)
    ('9', '1:40')
    """
    return f"{number // 60}:{number % 60:02d}" if number >= 100 else str(number)


def number_box(size: Size) -> tuple[int, int, int, int]:
    """Where the number stands: left, top, right, bottom in pixels."""
    unit = size[1] / 720
    middle = size[0] / 2
    return round(middle - 330 * unit), round(230 * unit), round(middle + 330 * unit), round(510 * unit)


def draw_number(picture: Image.Image, number: int, colour: tuple[int, int, int]) -> None:
    """Draw the number in its box, the largest thing on the screen."""
    left, top, right, bottom = number_box(picture.size)
    place = (left + right) / 2, (top + bottom) / 2
    text = number_text(number)
    face = _font("Bold", round((bottom - top) * (1.14 if len(text) < 4 else 0.9)))
    ImageDraw.Draw(picture).text(place, text, fill=colour, font=face, anchor="mm")


def _step(picture: Image.Image, insert: Insert, step: Step, number: int) -> None:
    colour = DO if step.kind in _DOING else PAPER
    _middle(picture, 20, 40, insert.title, SOFT, "Bold", lines=1)
    top = 84 if step.kind != "think" else 70
    _middle(picture, top, 84 if step.kind != "think" else 52, step.label, colour, "Bold", lines=1)
    if step.kind == "think":
        _middle(picture, 140, 44, step.note, PAPER, "Regular", lines=2)
    if step.kind == "done":
        _middle(picture, 300, 64, "The class goes on", PAPER, "Regular", lines=1)
        return
    draw_number(picture, number, colour)
    beneath = {
        "breathe": "count",
        "wait": "seconds until the class goes on",
        "think": "seconds until the answer",
    }.get(step.kind, "second")
    if step.kind in {"wait", "think"}:
        _middle(picture, 500, 36, beneath, SOFT, "Regular", lines=1)
    else:
        _middle(picture, 500, 36, beneath if number == 1 else f"{beneath}s", SOFT, "Regular", lines=1)
    if step.rep is not None and step.of is not None and step.kind != "ready":
        _middle(picture, 556, 52, f"number {step.rep} of {step.of}", PAPER, "Bold", lines=1)
    note = "you may stop now, or go on" if step.kind == "hold" and number <= step.enough else step.note
    if step.kind == "wait":
        _middle(picture, 548, 44, note, PAPER, "Bold", lines=2)
    elif note and step.kind != "think":
        _middle(picture, 618, 36, note, PAPER, "Regular", lines=2 if step.rep is None else 1)
    if step.kind in {"ready", "wait"}:
        _middle(picture, 600 if step.kind == "ready" else 664, 30, STOP_LINE, CARE, "Regular", lines=1)


def _card(picture: Image.Image, insert: Insert) -> None:
    top = 200.0 if len(insert.lines) < 3 else 40.0
    top = _middle(picture, top, 84, insert.title, PAPER, "Bold", lines=2)
    points, lines = 46.0, _headed(insert.lines)
    # Everything that is to be taken care of must fit: many lines are written smaller.
    while _height(picture, lines, points) > 690 - top and points > 20:
        points -= 1
    for line in lines:
        colour, face = (PAPER if line == DEFER else CARE), ("Bold" if line == TAKE_CARE else "Regular")
        top = _middle(picture, top + points / 2, points, line, colour, face, lines=9)


def _headed(lines: tuple[str, ...]) -> tuple[str, ...]:
    """Put a heading above the cautions, so that not only their colour tells what they are."""
    first = next((at for at, line in enumerate(lines) if line != DEFER), None)
    return lines if first is None else (*lines[:first], TAKE_CARE, *lines[first:])


def _height(picture: Image.Image, lines: tuple[str, ...], points: float) -> float:
    unit = picture.size[1] / 720
    font, room = _font("Regular", round(points * unit)), picture.size[0] - 112 * unit
    return sum(points / 2 + 1.25 * points * len(_rows(showable(line), font, room)) for line in lines)


def _bar(picture: Image.Image, share: float) -> None:
    width, height = picture.size
    thick = max(4, round(height / 60))
    pen = ImageDraw.Draw(picture)
    pen.rectangle((0, height - thick, width, height), fill=INK)
    pen.rectangle((0, height - thick, round(width * share), height), fill=SOFT)


def _middle(
    picture: Image.Image,
    top: float,
    points: float,
    words: str,
    colour: tuple[int, int, int],
    face: str,
    *,
    lines: int,
) -> float:
    """Write words in the middle, smaller where they would not fit; returns where they end. Units: 720 a height."""
    unit = picture.size[1] / 720
    room = picture.size[0] - 2 * 56 * unit
    words, size = showable(words), points
    while len(rows := _rows(words, _font(face, round(size * unit)), room)) > lines and size > points * 0.5:
        size *= 0.92
    if len(rows) > lines:
        rows = [*rows[: lines - 1], rows[lines - 1].rstrip(" ,.;") + "…"]
    pen = ImageDraw.Draw(picture)
    for row in rows:
        pen.text(
            (picture.size[0] / 2, top * unit), row, fill=colour, font=_font(face, round(size * unit)), anchor="ma"
        )
        top += size * 1.25
    return top


def _rows(words: str, font: ImageFont.FreeTypeFont, room: float) -> list[str]:
    rows: list[str] = []
    for word in words.split():
        if rows and font.getlength(f"{rows[-1]} {word}") <= room:
            rows[-1] += f" {word}"
        else:
            rows.append(word)
    return rows


@cache
def _font(face: str, size: int) -> ImageFont.FreeTypeFont:
    return ImageFont.truetype(str(font_file(face)), max(8, size))
