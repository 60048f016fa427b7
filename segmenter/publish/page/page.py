"""The lesson page: a lesson in, one self-contained ``index.html`` out."""

from __future__ import annotations

import base64
import hashlib
import re
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from segmenter.lesson import Lesson
from segmenter.publish.page.data import page_data
from segmenter.publish.page.fonts import font_rules
from segmenter.publish.page.pack import pack
from segmenter.publish.page.phrases import length
from segmenter.publish.page.texts import LANGUAGES, page_language, texts
from segmenter.publish.shapes import SHAPES

STYLES = ("base.css", "find.css", "watch.css", "practice.css", "set.css", "paper.css")
SCRIPTS = (
    "inflate.js", "dom.js", "base.js", "store.js", "sound.js", "parts.js", "captions.js", "quiz.js", "dial.js",
    "timing.js", "practice.js", "pace.js", "player.js", "watch.js", "search.js", "find.js", "set.js", "paper.js",
    "settings.js", "views.js",
)  # fmt: skip
_COMMENT = re.compile(r"^\s*//.*\n", re.MULTILINE)
_NOTE = re.compile(r"/\*.*?\*/\s*", re.DOTALL)
_INDENT = re.compile(r"\n\s+")


def render(
    lesson: Lesson,
    media: str | None,
    language: str | None = None,
    stills: Mapping[str, str] | None = None,
    *,
    sheets: bool = False,
    film: str | None = None,
) -> str:
    """Return the lesson page as one HTML text that asks for nothing but the recording and its stills.

    Parameters
    ----------
    lesson : Lesson
        What to show.
    media : str or None
        Name of the recording beside the page; None makes a page to read, without a player.
    language : str or None
        Language of the page's own words; None takes the one of the lesson where the page speaks
        it. The viewer can choose another.
    stills : mapping or None
        Path of a picture, from the page's folder, by chapter id.
    sheets : bool
        Whether the home sheets lie beside the page: then it links to them.
    film : str or None
        Name of the follow-along film beside the page, if there is one: then it links to it.

    Returns
    -------
    str
        HTML that works from ``file://``. A content security policy in it forbids every
        request except the recording and pictures beside it.
    """
    style = font_rules() + "\n" + "\n".join(_style(name) for name in STYLES)
    script = "\n".join(_script(name) for name in SCRIPTS)
    chosen = page_language(language, lesson.language)
    links = {key: quote(path) for key, path in (stills or {}).items()}
    link = None if media is None else quote(media)
    data, size = pack(
        {
            "lesson": page_data(lesson, link, links),
            "name": media,
            "languages": dict(LANGUAGES),
            "texts": {each: dict(texts(each)) for each in LANGUAGES},
        }
    )
    policy = "; ".join(
        (
            "default-src 'none'",
            f"script-src '{_digest(script)}'",
            f"style-src '{_digest(style)}'",
            "font-src data:",
            "img-src 'self' file: data:",
            "media-src 'self' file:",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )
    table = texts(chosen)
    return (
        _templates()
        .get_template("template.html.j2")
        .render(
            lesson=lesson,
            media=link,
            picture=lesson.recording.video is not None,
            chapters=page_data(lesson, None, {})["chapters"],
            language=chosen,
            languages=LANGUAGES,
            shapes=SHAPES,
            sheets=sheets,
            film=None if film is None else quote(film),
            t=table,
            length=lambda start, end: length((end - start) * 1000, table),
            data=data,
            size=size,
            style=Markup(style),  # noqa: S704 - the project's own files
            script=Markup(script),  # noqa: S704 - the project's own files
            policy=policy,
        )
    )


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


@cache
def _script(name: str) -> str:
    # Indents and lines of comment are a fifth of the scripts; nothing else is touched.
    return _INDENT.sub("\n", _COMMENT.sub("", _source("scripts", name))).strip()


@cache
def _style(name: str) -> str:
    return _INDENT.sub("\n", _NOTE.sub("", _source("styles", name))).strip()


def _source(*path: str) -> str:
    return files(__package__).joinpath(*path).read_text("utf-8")


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("segmenter.publish.page", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
