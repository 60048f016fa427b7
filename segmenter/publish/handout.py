"""The home sheet: large print, one block an exercise, tagged so that a screen reader can read it."""

from __future__ import annotations

import io
import json
import tempfile
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final, Literal
from urllib.parse import urlsplit

import segno
import typst

from segmenter.errors import SettingError
from segmenter.lesson import Chapter, Lesson, Where, Word
from segmenter.publish.chapters import chapter_title, one_line
from segmenter.publish.own_words import how_words
from segmenter.publish.rows import alone_texts, family_name, general_texts
from segmenter.publish.shapes import shape_svg
from segmenter.publish.transcript import shared_out
from segmenter.publish.typeface import all_showable, font_file, showable
from segmenter.publish.wording import DEFER, DO_NOT_START, STOP_AND_REST, STOP_FOR_HELP, dose_text
from segmenter.times import clock, seconds

Paper = Literal["a4", "letter"]
PAPERS: Final[Mapping[Paper, str]] = {"a4": "a4", "letter": "us-letter"}
"""Size of paper by the name a person chooses, as typst calls it."""
DAYS: Final = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
MOST_ROWS: Final = 3
"""Rows of boxes: with more, the sheet no longer fits beside a second exercise."""


HANDOUTS: Final = {"handout.pdf": False, "handout-easy.pdf": True}
"""File names of the home sheets, and whether it is the easy one."""


@dataclass(frozen=True)
class HandoutSettings:
    """How the sheet is printed.

    Parameters
    ----------
    paper : str
        ``a4`` or ``letter``.
    address : str or None
        Where the lesson page will be found on the web: each exercise then gets a QR code. None leaves them out.
    easy : bool
        Easy-read: one exercise a page, larger, fewer words.
    """

    paper: Paper = "a4"
    address: str | None = None
    easy: bool = False


def handouts(
    lesson: Lesson,
    folder: Path,
    stills: Mapping[str, str],
    paper: Paper = "a4",
    address: str | None = None,
    second: Mapping[str, str] | None = None,
) -> dict[str, bytes]:
    """Return both home sheets by their file names.

    Parameters
    ----------
    lesson : Lesson
        What to print.
    folder : Path
        The lesson folder; only read.
    stills : mapping
        Path of a picture, from the folder, by chapter id.
    paper, address
        As in `HandoutSettings`.
    second : mapping or None
        The same for the second picture of a pair.

    Raises
    ------
    SettingError
        If the address is none.
    """
    pictures, others = (
        {key: (folder / path).read_bytes() for key, path in each.items()} for each in (stills, second or {})
    )
    return {
        name: handout_pdf(lesson, pictures, HandoutSettings(paper, address, easy), others)
        for name, easy in HANDOUTS.items()
    }


def page_address(address: str) -> str:
    """Return the address of the lesson page, ready for a moment to be added.

    >>> page_address("https://example.org/voice/")
    'https://example.org/voice/index.html'
    >>> page_address("https://example.org/voice.html")
    'https://example.org/voice.html'

    Raises
    ------
    SettingError
        If it is no web address.
    """
    parts = urlsplit(address.strip())
    if parts.scheme not in {"http", "https"} or not parts.hostname or any(c.isspace() for c in address.strip()):
        raise SettingError("this is not a web address", address, "Give one such as https://example.org/class/")
    bare = parts._replace(query="", fragment="").geturl()
    last = parts.path.rsplit("/", 1)[-1]
    return bare if "." in last else f"{bare.rstrip('/')}/index.html"


def moment_address(address: str, ms: int) -> str:
    """Return the address of a moment of the lesson page.

    >>> moment_address("https://example.org/a", 62_250)
    'https://example.org/a/index.html#t=62.25'
    """
    return f"{page_address(address)}#t={seconds(ms):g}"


def handout_pdf(
    lesson: Lesson,
    stills: Mapping[str, bytes] | None = None,
    settings: HandoutSettings | None = None,
    second: Mapping[str, bytes] | None = None,
) -> bytes:
    """Return the home sheet as PDF/UA-1 (ISO 14289-1), in the typeface Atkinson Hyperlegible.

    Parameters
    ----------
    lesson : Lesson
        What to print: its exercises and quizzes.
    stills : mapping or None
        A JPEG by chapter id.
    settings : HandoutSettings or None
        Paper, address and form.
    second : mapping or None
        A JPEG of the other position of a pair, by chapter id.

    Raises
    ------
    SettingError
        If the address is no web address.
    """
    settings = settings or HandoutSettings()
    pictures = stills or {}
    project: dict[str, bytes] = {"main.typ": _template()}
    blocks = []
    said = {chapter.id: words for chapter, words in shared_out(lesson)}
    for number, chapter in enumerate(lesson.exercises()):
        block = _block(chapter, said[chapter.id], settings)
        project[f"shape{number}.svg"] = shape_svg(chapter.family)
        block["shape"] = f"shape{number}.svg"
        for given, file in ((pictures, f"still{number}.jpg"), (second or {}, f"still{number}b.jpg")):
            if chapter.id in given:
                project[file] = given[chapter.id]
                block["stills"].append(file)
        if settings.address:
            link = moment_address(settings.address, chapter.start_ms)
            project[f"code{number}.svg"] = _qr(link)
            block["code"], block["link"] = f"code{number}.svg", link
        blocks.append(block)
    data = json.dumps(_data(lesson, blocks, settings), ensure_ascii=False)
    plain = json.dumps(_mapped(json.loads(data), showable), ensure_ascii=False)
    if all_showable(data):
        return _compiled({**project, "data.json": plain.encode()}, system_fonts=False)
    try:  # other scripts: the computer may have a typeface for them
        return _compiled({**project, "data.json": data.encode()}, system_fonts=True)
    except typst.TypstError:
        return _compiled({**project, "data.json": plain.encode()}, system_fonts=False)


def _mapped(value: Any, change: Callable[[str], str]) -> Any:
    if isinstance(value, str):
        return change(value)
    if isinstance(value, list):
        return [_mapped(each, change) for each in value]
    return {key: _mapped(each, change) for key, each in value.items()} if isinstance(value, dict) else value


def _compiled(project: Mapping[str, bytes], *, system_fonts: bool) -> bytes:
    # The compiler takes text alone in memory, and pictures only from a folder.
    with tempfile.TemporaryDirectory() as name:
        for file, content in project.items():
            Path(name, file).write_bytes(content)
        made = typst.compile(
            str(Path(name, "main.typ")),
            root=name,
            format="pdf",
            font_paths=[str(font_file().parent)],
            ignore_system_fonts=not system_fonts,
            pdf_standards=["ua-1"],
            timestamp=0,
        )
    return bytes(made or b"")


def _data(lesson: Lesson, blocks: list[dict[str, Any]], settings: HandoutSettings) -> dict[str, Any]:
    main = lesson.language.partition("-")[0].lower()
    return {
        "title": one_line(lesson.title)[:200] or "Exercise class",
        "language": main if len(main) in {2, 3} and main.isascii() and main.isalpha() else "en",
        "paper": PAPERS[settings.paper],
        "easy": settings.easy,
        "blocks": blocks,
        "whole": _lines(general_texts(lesson)),
        "days": DAYS,
        "defer": DEFER,
        "stops": [STOP_FOR_HELP, STOP_AND_REST, DO_NOT_START],
    }


def _block(chapter: Chapter, spoken: Sequence[Word], settings: HandoutSettings) -> dict[str, Any]:
    quiz = chapter.kind == "quiz"
    # A riddle told on paper may be read with its answer covered: answers are never printed.
    how = (
        [q.clue.text for q in chapter.quiz] if quiz else list(how_words(chapter, spoken, 2 if settings.easy else 3))
    )
    return {
        "title": chapter_title(chapter),
        "family": family_name(chapter),
        "quiz": quiz,
        "at": clock(chapter.start_ms),
        "home": _dose(chapter, "home"),
        "in_class": _dose(chapter, "class"),
        "alone": _lines(alone_texts(chapter)),
        "how": [one_line(text) for text in how],
        "cautions": [
            {"text": one_line(c.text), "spoken": c.source == "spoken", "source": one_line(c.reference or "")}
            for c in chapter.cautions
        ],
        "rows": _rows(chapter),
        "stills": [],
        "code": None,
        "link": "",
    }


def _dose(chapter: Chapter, where: Where) -> list[list[str]]:
    """Each dose a line at a time, as it is read on a wall; several doses stay apart."""
    return _lines(dict.fromkeys(dose_text(ask) for ask in chapter.asked if ask.where == where))


def _lines(doses: Iterable[str]) -> list[list[str]]:
    return [[one_line(part) for part in dose.split(", ")] for dose in doses if dose]


def _rows(chapter: Chapter) -> int:
    """Rows of boxes: as many as times a day were asked for at home; one when that was not said."""
    daily = [ask.per_day for ask in chapter.asked if ask.where == "home" and ask.per_day]
    most = max((hi or lo or 1 for lo, hi in daily), default=1)
    return min(MOST_ROWS, max(1, most))


def _qr(link: str) -> bytes:
    out = io.BytesIO()
    # Level M survives a coffee spot; four modules of quiet around it are part of the code (ISO/IEC 18004).
    segno.make(link, error="m", micro=False).save(out, kind="svg", border=4, xmldecl=False, scale=4)
    return out.getvalue()


@cache
def _template() -> bytes:
    return files("segmenter.publish").joinpath("templates", "handout.typ").read_bytes()
