"""What the speaker calls an exercise that the catalogue does not know."""

from __future__ import annotations

import re
from collections.abc import Sequence

from segmenter.understand.evidence import Line
from segmenter.understand.spans import Span

MOST_WORDS = 6
"""A longer name is a description."""
_EMPTY = re.compile(
    r"^(?:(?:the|a|an|some|our|your|my|these|those|this|that|what i call|one|ones|it)\b\s*)+", re.IGNORECASE
)


def spoken_title(own: Sequence[Line], spans: Sequence[Span]) -> str | None:
    """Return the first name of an exercise among the sentences of a chapter, None where none was spoken.

    Speakers name an exercise when they turn to it, or when they look back on it; a name that comes up
    more than once counts more than the first.
    """
    first, last = own[0].sentence.first, own[-1].sentence.last
    names = [_plain(s.text) for s in spans if s.label == "mention" and first <= s.first and s.last <= last]
    names = [name for name in names if name and len(name.split()) <= MOST_WORDS]
    if not names:
        return None
    often = max(names, key=names.count)
    return often[:1].upper() + often[1:]


def _plain(text: str) -> str:
    """Words without the article before and the punctuation after.

    >>> _plain("the kitchen march,")
    'kitchen march'
    """
    return _EMPTY.sub("", text.strip(" .,;:!?\"'“”‘’…–—-")).strip()
