"""Every rule a file is held to, with the published text it comes from."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import Literal

from segmenter.publish import limits
from segmenter.times import seconds, stamp

Level = Literal["fault", "guide"]
"""A fault makes readers drop or garble something; a guide is about people who read."""


@dataclass(frozen=True)
class Rule:
    """One rule: its short name, how grave it is, and where it is published."""

    code: str
    level: Level
    source: str


_VTT = "W3C WebVTT"
_FAULTS = {
    "unreadable": "a file that no reader opens (own rule)",
    "encoding": f"{_VTT}, file structure (UTF-8); RFC 3629",
    "signature": f"{_VTT}, file structure",
    "header-lines": f"{_VTT}, file structure (two line ends after the signature)",
    "late-block": f"{_VTT}, file structure (STYLE and REGION before the first cue)",
    "region": f"{_VTT}, region settings",
    "cue-id": f"{_VTT}, cue identifier",
    "times": f"{_VTT}, timestamp and cue timings",
    "times-order": f"{_VTT}, cue timings (starts never go backwards)",
    "times-end": f"{_VTT}, cue timings (the end comes after the start)",
    "settings": f"{_VTT}, cue settings",
    "arrow": f"{_VTT}, cue block (no --> in text)",
    "stray-text": f"{_VTT}, cue block (an empty line ends a cue)",
    "empty": f"{_VTT}, cue block; a cue without text shows nothing",
    "character": f"{_VTT}, cue text span (& and < stand as references)",
    "tag": f"{_VTT}, cue components (tags, classes, annotations)",
    "inner-times": f"{_VTT}, cue timestamp (rising, inside the cue)",
    "chapter-text": f"{_VTT}, chapter title text (one line, no tags); WHATWG HTML, track element",
    "chapter-overlap": f"{_VTT}, chapter cues (apart or nested, never half)",
    "srt-number": "SubRip as in Matroska, subtitle codecs (a number before every cue, from 1, rising)",
    "srt-times": "SubRip as in Matroska, subtitle codecs (HH:MM:SS,mmm --> HH:MM:SS,mmm)",
    "srt-text": "SubRip as in Matroska, subtitle codecs (an empty line ends a cue)",
    "meta-head": "FFmpeg manual, metadata (first line ;FFMETADATA1)",
    "meta-line": "FFmpeg manual, metadata (key=value, sections, escapes)",
    "meta-times": "FFmpeg ffmetadec (TIMEBASE, START, END before any tag; without TIMEBASE nanoseconds)",
    "json-form": "Podcast namespace, JSON chapters 1.2",
    "json-times": "Podcast namespace, JSON chapters 1.2 (startTime in seconds, rising)",
    "list-form": "plain time list (common practice, no source): M:SS or H:MM:SS, then a title",
    "list-start": "plain time list (common practice, no source): the first entry is 0:00",
    "list-order": "plain time list (common practice, no source): strictly rising",
    "list-short": "plain time list (common practice, no source): every chapter lasts 10 s or more",
    "chapter-untitled": "RFC 9559, ChapterDisplay; readers drop chapters without a name",
    "chapter-times": "RFC 9559, ChapterAtom (starts rise, an end is not before its start)",
    "track-language": "ISO/IEC 14496-12, media header; RFC 9559, Language (a track says its language)",
    "spoiler": "DCMP, speaker identification; BBC 4.2.4 (never tell before it is spoken)",
    "words-lost": "47 CFR 79.1(j)(2), completeness",
    "differs": "the same class, the same cues and chapters in every file (own rule)",
}
_GUIDES = {
    "lines": "DCMP, placement; BBC 3.3 (two lines at most)",
    "line-length": f"BBC Subtitle Guidelines, line length (about {limits.LINE} characters; from memory)",
    "speed": f"Ofcom, access services (160 to {limits.CEILING_WPM} words a minute at most)",
    "short": "DCMP, presentation rate (40 frames, from memory); BBC 4.1 (0.3 s a word)",
    "long": "DCMP, presentation rate (6 s at most; from memory)",
    "gap": "BBC 4.5 (no gap, or at least a second; from memory)",
    "overlap": "47 CFR 79.1(j)(2), placement (captions do not cover each other)",
    "line-break": "DCMP, text (keep phrases, names, numbers with their unit together)",
    "sound-marks": "DCMP, sound effects (in square brackets)",
    "list-few": "plain time list (common practice, no source): three entries or more",
    "late": "47 CFR 79.1(j)(2), synchronous; own limit 0.15 s (BBC 5.2 allows 1.5 s)",
}
RULES = MappingProxyType(
    {code: Rule(code, "fault", source) for code, source in _FAULTS.items()}
    | {code: Rule(code, "guide", source) for code, source in _GUIDES.items()}
)
"""Every rule by its short name."""


@dataclass(frozen=True)
class Finding:
    """One broken rule: which, where, and what is wrong.

    `line` counts from 1; None where a file has no lines. `at_ms` is None where no time is concerned.
    """

    file: Path
    rule: Rule
    message: str
    line: int | None = None
    at_ms: int | None = None

    def text(self) -> str:
        """One line for people: file, line, time, rule, what is wrong, source."""
        where = str(self.file) + (f":{self.line}" if self.line else "")
        at = f" {stamp(self.at_ms)}" if self.at_ms is not None else ""
        return f"{where}:{at} {self.rule.level} {self.rule.code}: {self.message} [{self.rule.source}]"

    def facts(self) -> dict[str, str | int | float | None]:
        """The same for scripts; the time in seconds."""
        return {
            "file": str(self.file),
            "line": self.line,
            "time": None if self.at_ms is None else seconds(self.at_ms),
            "rule": self.rule.code,
            "level": self.rule.level,
            "message": self.message,
            "source": self.rule.source,
        }


@dataclass(frozen=True)
class Cue:
    """A cue as a reader gets it: the line of its times, plain text, and when it is shown."""

    line: int
    start_ms: int
    end_ms: int
    text: str


class Book:
    """Collects what is found in one file."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.findings: list[Finding] = []

    def add(self, code: str, message: str, line: int | None = None, at_ms: int | None = None) -> None:
        """Note one broken rule."""
        self.findings.append(Finding(self.file, RULES[code], message, line, at_ms))


def decoded(book: Book, data: bytes) -> str:
    """Return the text of a file; what is not UTF-8 is reported with its line and replaced."""
    try:
        text = data.decode("utf-8")
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        book.add("encoding", f"byte {error.start + 1} (0x{data[error.start]:02x}) is not UTF-8", line)
        text = data.decode("utf-8", "replace")
    # One mark in front is allowed, a second one is text (W3C WebVTT, file parsing).
    return text.removeprefix("\ufeff").replace("\r\n", "\n").replace("\r", "\n")
