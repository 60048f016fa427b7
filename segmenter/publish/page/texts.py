"""Every word of the lesson page that does not come from the lesson, in every language it speaks.

A language is one file in ``texts/``: the same keys, the same ``{places}``. Keys that end in
``_one`` and ``_many`` are the two forms of a number of things.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from types import MappingProxyType
from typing import Final

FIRST: Final = "en"
"""The language that a page falls back to."""
LANGUAGES: Final[Mapping[str, str]] = MappingProxyType({"en": "English", "de": "Deutsch"})
"""Languages of the page by their code (BCP 47), each named in itself."""

Texts = Mapping[str, str]


@cache
def texts(language: str) -> Texts:
    """Return the table of one language of `LANGUAGES`."""
    read = files(__package__).joinpath("texts", f"{language}.json").read_text("utf-8")
    return MappingProxyType(dict(json.loads(read)))


def page_language(wanted: str | None, spoken: str) -> str:
    """Choose the page's language: the one wanted, else the one spoken in the class, else English.

    >>> page_language(None, "de-AT"), page_language(None, "fr"), page_language("de", "en")
    ('de', 'en', 'de')
    """
    for tag in (wanted, spoken):
        primary = (tag or "").split("-")[0].lower()
        if primary in LANGUAGES:
            return primary
    return FIRST


def fill(table: Texts, key: str, **values: object) -> str:
    """Return a text with its places filled in."""
    return table[key].format(**values)


def many(table: Texts, key: str, number: float, shown: str) -> str:
    """Return the form of a text for this number of things."""
    return fill(table, f"{key}_{'one' if number == 1 else 'many'}", n=shown)
