"""Draw the class: a friendly figure in a room, its mouth and arms following what is going on."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import fontpkg_atkinson_hyperlegible
import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

WIDTH, HEIGHT, FPS = 640, 360, 12
SCALE = 2  # drawn twice as large and shrunk, for smooth edges

WALL, FLOOR, LINE = "#efe6d6", "#c9ad86", "#3b332d"
SKIN, SKIN_DARK, HAIR, TOP, TOP_DARK, LIPS = "#d9a27c", "#c08a66", "#6d6a67", "#3f6f74", "#335b60", "#9c4a44"
MOUTHS = {  # half width and half height in pixels of the finished picture
    "closed": (13, 0), "small": (10, 3), "half": (11, 6), "wide": (11, 10),
    "ah": (12, 14), "ee": (19, 5), "oo": (6, 6), "press": (9, 0),
}  # fmt: skip


@dataclass(frozen=True)
class Look:
    """Everything that decides one frame; equal looks are drawn once."""

    mouth: str = "closed"
    pose: str = "rest"
    turn: int = 0  # -4 (the figure's right) to 4 (its left)
    lift: int = 0  # 0-4: chest in breathing, throat in swallowing
    wave: int = 0
    blink: bool = False
    title: str = ""


def font(size: int) -> ImageFont.FreeTypeFont:
    folder = Path(fontpkg_atkinson_hyperlegible.__file__).parent
    faces = sorted(p for p in folder.rglob("*") if p.suffix in {".ttf", ".otf"} and "Bold" in p.stem)
    return ImageFont.truetype(str(next(p for p in faces if "Italic" not in p.stem)), size)


class _Pen:
    """Draw in pixels of the finished picture."""

    def __init__(self, image: Image.Image) -> None:
        self._draw = ImageDraw.Draw(image)

    def _at(self, *numbers: float) -> list[float]:
        return [n * SCALE for n in numbers]

    def oval(self, x: float, y: float, rx: float, ry: float, fill: str) -> None:
        self._draw.ellipse(self._at(x - rx, y - ry, x + rx, y + ry), fill=fill)

    def box(self, x0: float, y0: float, x1: float, y1: float, fill: str, radius: float = 0) -> None:
        self._draw.rounded_rectangle(self._at(x0, y0, x1, y1), radius * SCALE, fill=fill)

    def line(self, points: list[tuple[float, float]], width: float, fill: str) -> None:
        flat = [(x * SCALE, y * SCALE) for x, y in points]
        self._draw.line(flat, fill=fill, width=round(width * SCALE), joint="curve")
        for x, y in (points[0], points[-1]):
            self.oval(x, y, width / 2, width / 2, fill)

    def smile(self, x: float, y: float, rx: float, ry: float, begin: int, fill: str) -> None:
        self._draw.arc(self._at(x - rx, y - ry, x + rx, y + ry), begin, 180 - begin, fill=fill, width=3 * SCALE)

    def arch(self, x0: float, x1: float, top: float, base: float, fill: str) -> None:
        self._draw.pieslice(self._at(x0, top, x1, 2 * base - top), 180, 360, fill=fill)

    def text(self, x: float, y: float, words: str, size: int, fill: str) -> None:
        self._draw.text((x * SCALE, y * SCALE), words, font=font(size * SCALE), fill=fill, anchor="lm")

    def width_of(self, words: str, size: int) -> float:
        return font(size * SCALE).getlength(words) / SCALE


@lru_cache(maxsize=1)
def _room() -> Image.Image:
    image = Image.new("RGB", (WIDTH * SCALE, HEIGHT * SCALE), WALL)
    pen = _Pen(image)
    pen.box(0, 292, WIDTH, HEIGHT, FLOOR)
    pen.box(0, 286, WIDTH, 292, "#fbf7ef")
    pen.box(466, 48, 596, 190, "#fbf7ef", 4)  # window, hill and sun
    pen.box(474, 56, 588, 182, "#bcd7e2")
    pen.oval(560, 82, 13, 13, "#f4d58a")
    pen.arch(474, 588, 150, 182, "#9fb98a")
    pen.box(460, 182, 602, 192, "#fbf7ef", 3)
    pen.box(528, 56, 534, 182, "#fbf7ef")
    pen.box(66, 232, 176, 240, "#8a6a48", 3)  # table, glass, plant
    pen.box(76, 240, 84, 330, "#7a5c3d")
    pen.box(158, 240, 166, 330, "#7a5c3d")
    pen.box(140, 204, 158, 232, "#dcebf0", 3)
    pen.box(142, 214, 156, 230, "#a9cfdd", 2)
    for lean in (-18, -8, 2, 12):
        pen.line([(98, 212), (98 + lean, 176 - abs(lean - 2) * -0.6)], 7, "#6f8f5f")
    pen.box(84, 206, 112, 232, "#b0694a", 4)
    return image


def _arms(pen: _Pen, look: Look, y: float) -> None:
    left, right = (256.0, y + 26), (384.0, y + 26)
    hands = {"left": (272.0, y + 124), "right": (368.0, y + 124)}
    elbows = {"left": (244.0, y + 84), "right": (396.0, y + 84)}
    if look.pose == "wave":
        hands["right"], elbows["right"] = (432.0 + 10 * look.wave, y - 30), (424.0, y + 40)
    elif look.pose == "palm":
        hands["right"], elbows["right"] = (418.0, y - 6), (424.0, y + 58)
    elif look.pose in {"throat", "swallow"}:
        hands["right"], elbows["right"] = (336.0, y + 8), (402.0, y + 74)
    elif look.pose in {"belly", "breathe_in", "breathe_out"}:
        hands["left"], hands["right"] = (302.0 - look.lift, y + 100), (338.0 + look.lift, y + 100)
    elif look.pose in {"think", "wonder"}:
        hands["right"], elbows["right"] = (346.0, y - 24), (392.0, y + 74)
    for name, shoulder in (("left", left), ("right", right)):
        pen.line([shoulder, elbows[name], hands[name]], 27, TOP_DARK)
        size = 17 if look.pose == "palm" and name == "right" else 13
        pen.oval(*hands[name], size, size, SKIN)
        if size == 17:
            for finger in (-12, -4, 4, 12):
                pen.line([(hands[name][0] + finger, y - 14), (hands[name][0] + finger * 1.2, y - 34)], 7, SKIN)


def _face(pen: _Pen, look: Look, y: float) -> None:
    x, shift = 320.0, look.turn * 6.0
    pen.oval(x - shift * 0.5, y - 6, 56, 60, HAIR)
    pen.oval(x - shift * 1.2, y - 62, 20, 18, HAIR)
    pen.oval(x, y + 2, 47, 55, SKIN)
    for side in (-1, 1):
        if side * look.turn <= 2:  # the ear on the far side goes out of sight
            pen.oval(x + side * 47 - shift * 0.3, y + 4, 8, 12, SKIN_DARK)
    pen.oval(x - shift * 0.3, y - 44, 42, 17, HAIR)
    near = 1 - abs(look.turn) * 0.06
    for side in (-1, 1):
        eye = x + shift + side * 18 * near
        brow = -3 if look.pose == "wonder" else 0
        pen.line([(eye - 8, y - 18 + brow), (eye + 8, y - 18 + brow)], 3, HAIR)
        if look.blink:
            pen.line([(eye - 5, y - 4), (eye + 5, y - 4)], 2.5, LINE)
        else:
            pen.oval(eye, y - 4, 4.2, 5.4, LINE)
            pen.oval(eye + 1.4, y - 6, 1.4, 1.6, "#ffffff")
        pen.oval(eye + side * 7, y + 15, 8, 5, "#d38f72")
    pen.smile(x + shift * 1.25, y + 8, 5, 6, 20, SKIN_DARK)
    half_width, half_height = MOUTHS[look.mouth]
    mouth_x, mouth_y = x + shift, y + 29
    if look.mouth == "closed":
        pen.smile(mouth_x, mouth_y - 8, half_width + 3, 10, 25, LIPS)
    elif look.mouth == "press":
        pen.line([(mouth_x - half_width, mouth_y), (mouth_x + half_width, mouth_y)], 4, LIPS)
    else:
        pen.oval(mouth_x, mouth_y, half_width * near + 2.5, half_height + 2.5, LIPS)
        pen.oval(mouth_x, mouth_y, half_width * near, half_height, "#5b2422")
        if look.mouth == "ee":
            pen.box(mouth_x - 13, mouth_y - 4, mouth_x + 13, mouth_y - 1, "#f6efe4", 1)


@lru_cache(maxsize=2000)
def drawn(look: Look) -> NDArray[np.uint8]:
    """Draw one look as an RGB picture of HEIGHT x WIDTH x 3."""
    image = _room().copy()
    pen = _Pen(image)
    breathing = look.pose in {"belly", "breathe_in", "breathe_out"}
    y = 196 - (look.lift if breathing else 0)
    pen.box(236, 190, 404, 352, "#8d7355", 16)  # chair back
    pen.box(298, 158, 342, 208, SKIN_DARK, 14)
    if look.pose == "swallow":
        pen.oval(320, 192 - 4 * look.lift, 7, 6, SKIN)
    pen.box(244, y + 4, 396, 370, TOP, 38)
    pen.box(318, y + 20, 322, 370, TOP_DARK)
    if breathing:
        pen.oval(320, 308, 50 + 3 * look.lift, 38 + 2 * look.lift, TOP)
    pen.box(230, 330, 410, 372, "#54483d", 18)  # lap
    _face(pen, look, 118)
    _arms(pen, look, y)
    if look.pose == "wonder":
        pen.oval(424, 92, 5, 5, "#fbf7ef")
        pen.oval(412, 104, 3, 3, "#fbf7ef")
        pen.oval(446, 66, 26, 22, "#fbf7ef")
        pen.text(439, 66, "?", 28, LINE)
    pen.box(18, 16, 38 + pen.width_of(look.title, 19), 52, "#fffdf8", 5)
    pen.text(28, 34, look.title, 19, LINE)
    return np.asarray(image.resize((WIDTH, HEIGHT), Image.Resampling.LANCZOS))


def looks(truth: dict[str, Any], level: NDArray[np.float64]) -> list[Look]:
    """Choose a look for every frame.

    Parameters
    ----------
    truth : dict
        What ``render`` returned.
    level : array
        The level of the sound in each frame in dBFS.
    """
    result, turn = [], 0
    chapters, rows = truth["chapters"], truth["picture"]
    for number, db in enumerate(level):
        now = (number + 0.5) / FPS
        chapter = next(c for c in reversed(chapters) if c["start"] <= now or c is chapters[0])
        begun = [r for r in rows if r["start"] <= now]
        current = [r for r in begun if now < r["end"]]
        pose = (current or begun or rows)[-1]["pose"]
        whats = {r["what"] for r in current}
        mouth, lift = "closed", 0
        if "talk" in whats:
            mouth = ("closed", "small", "half", "wide")[int(np.clip((db + 46) / 8, 0, 3))]
        for vowel in whats & {"ah", "ee", "oo"}:
            mouth = vowel
        counting = next((r for r in current if r["what"] in {"count", "silent"}), None)
        if counting:
            through = (now - counting["start"]) / (counting["end"] - counting["start"])
            lift = round(4 * (1 - through if pose == "breathe_out" else through))
            if pose == "swallow":
                mouth, lift = "press", round(4 * np.sin(np.pi * through))
        # "left" is the figure's own left: to the right on the screen, as when facing a teacher.
        wanted = {"turn_left": 4, "turn_right": -4}.get(pose, 0)
        turn += int(np.sign(wanted - turn))
        result.append(
            Look(
                mouth,
                pose,
                turn,
                lift,
                (number // 3) % 2 if pose == "wave" else 0,
                number % 47 in {0, 1},
                chapter["title"],
            )
        )
    return result
