"""The text of one WebVTT cue: tags and character references read, and held to the rules.

Follows "WebVTT cue text tokenizer" and "cue text parsing rules" of W3C WebVTT.
"""

from __future__ import annotations

import html
import re
from collections.abc import Callable

Report = Callable[[str, str], None]
"""Takes the name of a rule and what is wrong."""

_REFERENCE = re.compile(r"&(#\d+|#[xX][0-9a-fA-F]+|[A-Za-z][A-Za-z0-9]*);")
_TIME = re.compile(r"(?:(\d{2,}):)?([0-5]\d):([0-5]\d)\.(\d{3})")
_LANGUAGE = re.compile(r"[A-Za-z]{2,8}(-[A-Za-z0-9]{1,8})*")
_NAMES = {"c", "i", "b", "u", "ruby", "rt", "v", "lang"}
_ANNOTATED = {"v", "lang"}


def ms_of(text: str) -> int | None:
    """Read a WebVTT timestamp as it must be written; None when it is none.

    >>> ms_of("01:02.500"), ms_of("1:02.500"), ms_of("00:60.000")
    (62500, None, None)
    """
    match = _TIME.fullmatch(text)
    if match is None:
        return None
    hours, minutes, secs, part = match.groups()
    return ((int(hours or 0) * 60 + int(minutes)) * 60 + int(secs)) * 1000 + int(part)


def read_text(text: str, span: tuple[int, int], report: Report) -> str:
    """Return what is shown of a cue's text, and report every broken rule in it.

    Parameters
    ----------
    text : str
        The payload.
    span : tuple of int
        Start and end of the cue in ms, which inner times lie between.
    report : callable
        Told the rule and the fault.
    """
    shown: list[str] = []
    opened: list[str] = []
    inner = span[0]
    at = 0
    while at < len(text):
        if text[at] != "<":
            end = text.find("<", at)
            end = len(text) if end < 0 else end
            shown.append(_characters(text[at:end], report))
            at = end
            continue
        end = text.find(">", at)
        if end < 0:
            report("character", "a raw < hides all text after it; write &lt;")
            break
        inside, at = text[at + 1 : end], end + 1
        if inside[:1].isdigit():
            inner = _inner_time(inside, inner, span[1], report)
        elif inside.startswith("/"):
            _close(inside[1:].strip(), opened, report)
        else:
            _open(inside, opened, report)
    left = [name for name in opened if name != "v"] if text.startswith("<v") else opened
    if left:
        report("tag", f"<{left[-1]}> is never closed")
    return "".join(shown)


def _characters(text: str, report: Report) -> str:
    if re.search(r"&(?!(#\d+|#[xX][0-9a-fA-F]+|[A-Za-z][A-Za-z0-9]*);)", text):
        report("character", "a raw & may be taken for a reference; write &amp;")
    for reference in _REFERENCE.findall(text):
        if html.unescape(f"&{reference};") == f"&{reference};":
            report("character", f"&{reference}; is no known reference")
    return html.unescape(text)


def _inner_time(inside: str, before: int, end_ms: int, report: Report) -> int:
    time = ms_of(inside)
    if time is None:
        report("inner-times", f"<{inside}> is no timestamp")
        return before
    if not before < time < end_ms:
        report("inner-times", f"<{inside}> does not lie after the time before it and inside the cue")
    return max(before, time)


def _close(name: str, opened: list[str], report: Report) -> None:
    if opened and opened[-1] == name:
        opened.pop()
        return
    if name == "ruby" and opened[-2:] == ["ruby", "rt"]:  # the tag of rt may be left out there
        del opened[-2:]
        return
    report("tag", f"</{name}> closes nothing" if name not in opened else f"</{name}> crosses <{opened[-1]}>")
    if name in opened:
        del opened[opened.index(name) :]


def _open(inside: str, opened: list[str], report: Report) -> None:
    head, _, annotation = re.sub(r"[\t\n]", " ", inside).partition(" ")
    name, *classes = head.split(".")
    if name not in _NAMES:
        report("tag", f"<{name}> is no tag of WebVTT")
        return
    if any(not c or re.search(r"[&<>]", c) for c in classes):
        report("tag", f"<{head}> has an empty class or a mark that none may hold")
    if name in _ANNOTATED and not annotation.strip():
        report("tag", f"<{name}> needs a {'name' if name == 'v' else 'language'}")
    elif name not in _ANNOTATED and annotation.strip():
        report("tag", f"<{name}> takes nothing after its name")
    if re.search(r"&(?!(#\w+|\w+);)", annotation):
        report("tag", f"raw & in <{name}>; write &amp;")
    if name == "lang" and annotation.strip() and not _LANGUAGE.fullmatch(annotation.strip()):
        report("tag", f"{annotation.strip()!r} is no language tag (BCP 47)")
    if name == "rt" and (not opened or opened[-1] != "ruby"):
        report("tag", "<rt> stands outside <ruby>")
    opened.append(name)
