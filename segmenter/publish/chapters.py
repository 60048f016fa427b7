"""Chapters in four forms: WebVTT, ffmpeg metadata, podcast JSON and a plain time list."""

from __future__ import annotations

import json
import re

from segmenter.lesson import Chapter, Lesson
from segmenter.times import clock, seconds, stamp

SHORTEST_LISTED_MS = 10_000
"""Sites ignore a time list with shorter chapters (common practice, no source)."""
FEWEST_LISTED = 3
"""Sites ignore a list with fewer entries (common practice, no source)."""

_BREAKS = re.compile(r"[\s\x00-\x1f\x7f\x85\u2028\u2029]+")
_ESCAPED = re.compile(r"[=;#\\\n]")


def one_line(text: str) -> str:
    """Return `text` on one line: control characters and runs of blanks become one blank.

    >>> one_line(" Warm up\\n\\nslowly ")
    'Warm up slowly'
    """
    return _BREAKS.sub(" ", text).strip()


def chapter_title(chapter: Chapter) -> str:
    """The title on one line; never empty, because readers drop chapters without a name.

    A backslash at the end is left out: ffmpeg takes the line end after it into the title, escaped or not.

    >>> chapter_title(Chapter(id="a", title=" Lips \\\\", kind="exercise", start_ms=0, end_ms=1))
    'Lips'
    """
    return one_line(chapter.title).rstrip("\\ ") or chapter.kind.capitalize()


def vtt_text(text: str) -> str:
    """Escape for WebVTT cue text.

    ``&`` and ``<`` are illegal raw (W3C WebVTT, "WebVTT cue text span"); escaping ``>`` too
    removes any ``-->``, which no payload may hold ("WebVTT cue block").

    >>> vtt_text("a --> b & <c>")
    'a --&gt; b &amp; &lt;c&gt;'
    """
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def vtt_head(kind: str, language: str) -> str:
    """Return the head of a WebVTT file: signature, then what it is and in which language, as a comment.

    WebVTT has no field for either; they belong on the track that names the file (W3C WebVTT, "WebVTT comment
    block"; WHATWG HTML, "The track element").
    """
    return f"WEBVTT\n\nNOTE\nkind: {kind}\nlanguage: {one_line(language).replace('-->', '') or 'und'}"


def vtt(lesson: Lesson) -> str:
    """Return the chapters as WebVTT of kind ``chapters``.

    Titles are text and character references on one line; cues follow one another without
    overlap (W3C WebVTT, "chapter title text" and "chapter cues").
    """
    blocks = [vtt_head("chapters", lesson.language)]
    for number, chapter in enumerate(_lasting(lesson), 1):
        blocks.append(
            f"{number}\n{stamp(chapter.start_ms)} --> {stamp(chapter.end_ms)}\n{vtt_text(chapter_title(chapter))}"
        )
    return "\n\n".join(blocks) + "\n"


def ffmetadata(lesson: Lesson) -> str:
    """Return title and chapters as ffmpeg metadata.

    ``=``, ``;``, ``#``, backslash and line feed are escaped, and the time base always stands
    first, since a reader assumes nanoseconds without it (FFmpeg manual, "Metadata").
    """
    lines = [";FFMETADATA1", f"title={_metadata(one_line(lesson.title).rstrip(chr(92)))}"]
    for chapter in _lasting(lesson):
        lines += [
            "",
            "[CHAPTER]",
            "TIMEBASE=1/1000",
            f"START={chapter.start_ms}",
            f"END={chapter.end_ms}",
            f"title={_metadata(chapter_title(chapter))}",
        ]
    return "\n".join(lines) + "\n"


def podcast_json(lesson: Lesson) -> str:
    """Return JSON chapters, version 1.2.0 of the podcast namespace; times in seconds, ascending."""
    chapters = [
        {
            "startTime": seconds(chapter.start_ms),
            "endTime": seconds(chapter.end_ms),
            "title": chapter_title(chapter),
        }
        for chapter in _lasting(lesson)
    ]
    data = {"version": "1.2.0", "title": one_line(lesson.title), "chapters": chapters}
    return json.dumps(data, ensure_ascii=False, indent=2) + "\n"


def listed(lesson: Lesson) -> tuple[tuple[int, str], ...]:
    """Start and title of what a plain list shows: chapters of 10 s or more, the first at 0.

    A shorter chapter is merged into the one before it; a short first one takes in the next
    and goes under the next one's name, because that is where the time is spent.
    """
    entries: list[tuple[int, int, str]] = []
    for chapter in _lasting(lesson):
        title = chapter_title(chapter)
        if entries and entries[-1][1] - entries[-1][0] < SHORTEST_LISTED_MS:
            entries[-1] = (entries[-1][0], chapter.end_ms, title)
        elif entries and chapter.end_ms - chapter.start_ms < SHORTEST_LISTED_MS:
            entries[-1] = (entries[-1][0], chapter.end_ms, entries[-1][2])
        else:
            entries.append((chapter.start_ms, chapter.end_ms, title))
    return tuple((start, title) for start, _, title in entries)


def plain_list(lesson: Lesson) -> str:
    """Return one ``M:SS Title`` a line, from 0:00 on, strictly ascending (common practice, no source)."""
    hours = lesson.duration_ms >= 3_600_000
    return "".join(f"{clock(start, hours=hours)} {title}\n" for start, title in listed(lesson))


def _lasting(lesson: Lesson) -> list[Chapter]:
    # A cue must end after it starts (W3C WebVTT, "WebVTT cue timings"): empty chapters are no cues.
    return [chapter for chapter in lesson.chapters if chapter.end_ms > chapter.start_ms]


def _metadata(text: str) -> str:
    return _ESCAPED.sub(lambda found: "\\" + found.group(), text)
