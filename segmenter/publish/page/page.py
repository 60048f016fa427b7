"""The lesson page: a lesson in, one self-contained ``index.html`` out."""

from __future__ import annotations

import base64
import hashlib
import json
import re
from functools import cache
from importlib.resources import files
from typing import Any
from urllib.parse import quote

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from segmenter.lesson import FAMILY_NAMES, Caption, Chapter, Lesson, Practice, QuizItem
from segmenter.publish.page.texts import TEXTS
from segmenter.publish.wording import DEFER, STOP_AND_REST, STOP_FOR_HELP, dose_text
from segmenter.times import clock, seconds, spoken_length

SCRIPTS = ("base.js", "quiz.js", "practice.js", "player.js", "search.js", "views.js")
FACES = (("Regular", 400), ("Bold", 700))


def render(lesson: Lesson, media: str | None) -> str:
    """Return the lesson page as one HTML text that asks for nothing but the recording.

    Parameters
    ----------
    lesson : Lesson
        What to show.
    media : str or None
        Name of the recording beside the page; None makes a page to read, without a player.

    Returns
    -------
    str
        HTML that works from ``file://``. A content security policy in it forbids every
        request except the recording.
    """
    style = _fonts() + _source("page.css")
    script = "\n".join(_source(name) for name in SCRIPTS)
    chapters = [_chapter(chapter) for chapter in lesson.chapters]
    policy = "; ".join(
        (
            "default-src 'none'",
            f"script-src '{_digest(script)}'",
            f"style-src '{_digest(style)}'",
            "font-src data:",
            "img-src data:",
            "media-src 'self' file:",
            "base-uri 'none'",
            "form-action 'none'",
        )
    )
    return (
        _templates()
        .get_template("template.html.j2")
        .render(
            lesson=lesson,
            media=None if media is None else quote(media),
            picture=lesson.recording.video is not None,
            chapters=chapters,
            always=(STOP_AND_REST, STOP_FOR_HELP),
            defer=DEFER,
            t=TEXTS,
            data=Markup(_json_in_html(_data(lesson, media, chapters))),  # noqa: S704 - `<` is escaped there
            style=Markup(style),  # noqa: S704 - the project's own file
            script=Markup(script),  # noqa: S704 - the project's own files
            policy=policy,
        )
    )


def _data(lesson: Lesson, media: str | None, chapters: list[dict[str, Any]]) -> dict[str, Any]:
    return {
        "title": lesson.title,
        "media": media,
        "seconds": lesson.recording.seconds,
        "chapters": chapters,
        "captions": guarded_captions(lesson),
        "texts": dict(TEXTS),
    }


def _chapter(chapter: Chapter) -> dict[str, Any]:
    return {
        "id": chapter.id,
        "start": seconds(chapter.start_ms),
        "end": seconds(chapter.end_ms),
        "title": chapter.title,
        "kind": chapter.kind,
        "main": chapter.kind in {"exercise", "quiz"},
        "family": chapter.family,
        "family_word": FAMILY_NAMES[chapter.family] if chapter.family else None,
        "length": spoken_length(chapter.end_ms - chapter.start_ms),
        "doses": _doses(chapter),
        "stops": [_stop(practice) for practice in chapter.practice],
        "cautions": [
            {"text": caution.text, "source": caution.source, "reference": caution.reference}
            for caution in chapter.cautions
        ],
        "quiz": [_question(item) for item in chapter.quiz],
    }


def _doses(chapter: Chapter) -> list[dict[str, str]]:
    """What was asked, once each, with where it is to be done."""
    found = [{"where": ask.where, "text": dose_text(ask)} for ask in chapter.asked]
    return [dose for n, dose in enumerate(found) if dose["text"] and dose not in found[:n]]


def _stop(practice: Practice) -> dict[str, Any]:
    ask = practice.asked
    return {
        "at": seconds(practice.at_ms),
        "resume": seconds(practice.resume_ms),
        "clock": clock(practice.at_ms),
        "dose": dose_text(ask) if ask else "",
        "reps": ask.reps if ask else None,
        "hold": ask.hold_s if ask else None,
        "sets": ask.sets if ask else None,
        "takes": None if practice.seconds is None else spoken_length(practice.seconds * 1000),
    }


def _question(item: QuizItem) -> dict[str, Any]:
    answer = item.answer
    return {
        "clue": item.clue.text,
        "answer": None if answer is None else answer.text,
        "start": None if answer is None else seconds(answer.start_ms),
        "end": None if answer is None else seconds(answer.end_ms),
    }


def guarded_captions(lesson: Lesson) -> list[list[Any]]:
    """Return captions as ``[start, end, text, kind, secret]`` that give no quiz answer away.

    `secret` is None or ``[chapter, question]`` (indices) whose answer the caption tells. A
    caption that begins before an answer is spoken and tells it is cut where the answer starts.
    """
    answers = [
        (item.answer.start_ms, item.answer.end_ms, item.answer.text, (c, q), chapter.span)
        for c, chapter in enumerate(lesson.chapters)
        for q, item in enumerate(chapter.quiz)
        if item.answer is not None
    ]
    rows: list[list[Any]] = []
    for caption in lesson.captions:
        hit = next(
            (
                (start, key)
                for start, end, text, key, span in answers
                if (caption.start_ms < end and start < caption.end_ms)
                or (span[0] <= caption.start_ms < span[1] and _tells(caption.text, text))
            ),
            None,
        )
        if hit is None:
            rows.append(_row(caption.start_ms, caption.end_ms, caption.text, caption.kind, None))
        else:
            rows.extend(_cut(lesson, caption, *hit))
    return rows


def _cut(lesson: Lesson, caption: Caption, start_ms: int, key: tuple[int, int]) -> list[list[Any]]:
    if not caption.start_ms < start_ms < caption.end_ms:
        return [_row(caption.start_ms, caption.end_ms, caption.text, caption.kind, key)]
    before = " ".join(word.text.strip() for word in lesson.words_in(caption.start_ms, start_ms))
    after = " ".join(word.text.strip() for word in lesson.words_in(start_ms, caption.end_ms))
    if not after:  # no word times: better late than told
        return [_row(start_ms, caption.end_ms, caption.text, caption.kind, key)]
    rows = [_row(caption.start_ms, start_ms, before, caption.kind, None)] if before else []
    return [*rows, _row(start_ms, caption.end_ms, after, caption.kind, key)]


def _row(start_ms: int, end_ms: int, text: str, kind: str, key: tuple[int, int] | None) -> list[Any]:
    return [seconds(start_ms), seconds(end_ms), text, kind, key]


def _tells(text: str, answer: str) -> bool:
    plain = _plain(answer)
    return bool(plain) and f" {plain} " in f" {_plain(text)} "


def _plain(text: str) -> str:
    return " ".join(re.findall(r"\w+", text.casefold()))


def _json_in_html(value: Any) -> str:
    # Nothing in a script element may look like markup (HTML standard, restrictions for script contents).
    text = json.dumps(value, ensure_ascii=False, separators=(",", ":"))
    return text.replace("&", "\\u0026").replace("<", "\\u003c").replace(">", "\\u003e")


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


@cache
def _source(name: str) -> str:
    return files(__package__).joinpath(name).read_text("utf-8").strip()


@cache
def _fonts() -> str:
    folder = files("fontpkg_atkinson_hyperlegible") / "files"
    rules = []
    for face, weight in FACES:
        letters = base64.b64encode((folder / f"AtkinsonHyperlegible-{face}.ttf").read_bytes()).decode()
        rules.append(
            f'@font-face{{font-family:"Atkinson Hyperlegible";font-weight:{weight};font-display:swap;'
            f'src:url("data:font/ttf;base64,{letters}") format("truetype")}}'
        )
    return "\n".join(rules)


@cache
def _templates() -> Environment:
    return Environment(
        loader=PackageLoader("segmenter.publish.page", "."),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
