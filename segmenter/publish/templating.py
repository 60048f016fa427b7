"""HTML from templates: everything escaped, every name known."""

from __future__ import annotations

import re
from functools import cache
from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined

from segmenter.lesson import Lesson
from segmenter.publish.chapters import one_line
from segmenter.publish.page.fonts import font_rules
from segmenter.publish.wording import caution_source
from segmenter.times import clock, seconds

_TAG = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*")


def render_html(template: str, lesson: Lesson, heading: str, **values: Any) -> str:
    """Return a page that stands alone and needs no script.

    Parameters
    ----------
    template : str
        File name in ``templates/``.
    lesson : Lesson
        Gives title and language; an unknown language is ``und`` (BCP 47).
    heading : str
        What the page is, for the window's title.
    """
    language = lesson.language if _TAG.fullmatch(lesson.language) else "und"
    return render_page(template, one_line(lesson.title) or "Exercise class", language, heading, **values)


def render_page(template: str, title: str, language: str, heading: str, **values: Any) -> str:
    """Return a page about something else than one lesson, in the same look; `language` is a BCP 47 tag."""
    return _templates().get_template(template).render(title=title, language=language, heading=heading, **values)


@cache
def _templates() -> Environment:
    templates = Environment(
        loader=ChoiceLoader([PackageLoader("segmenter.publish"), PackageLoader("segmenter.library")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    templates.globals["font_rules"] = font_rules()
    templates.filters.update(clock=clock, at=lambda ms: f"{seconds(ms):g}", source=caution_source)
    return templates
