"""Captions as files: WebVTT and SRT."""

from __future__ import annotations

from segmenter.lesson import Caption, Lesson
from segmenter.publish.chapters import vtt_head, vtt_text
from segmenter.times import stamp

# White on black, 21 to 1, for players that let a file choose (W3C WCAG 2.2, 1.4.3); a viewer's own setting wins.
_STYLE = "STYLE\n::cue {\n  color: white;\n  background-color: black;\n}"

_SRT_MARKS = str.maketrans({"<": "‹", ">": "›", "{": "(", "}": ")", "\\": "/"})


def vtt(lesson: Lesson) -> str:
    """Return the captions as WebVTT (W3C WebVTT, "File structure"); text is escaped."""
    blocks = [vtt_head("captions", lesson.language), _STYLE]
    for number, caption in enumerate(_writable(lesson), 1):
        times = f"{stamp(caption.start_ms)} --> {stamp(caption.end_ms)}"
        blocks.append(f"{number}\n{times}\n{vtt_text(caption_lines(caption))}")
    return "\n\n".join(blocks) + "\n"


def srt(lesson: Lesson) -> str:
    """Return the captions as SRT: counter, times with a comma, text, blank line (Matroska codec text, SRT).

    SRT has no escapes, and readers take angle brackets, braces and backslashes for markup, an arrow for a
    timing line: look-alikes stand for them.
    """
    blocks = []
    for number, caption in enumerate(_writable(lesson), 1):
        times = f"{stamp(caption.start_ms, ',')} --> {stamp(caption.end_ms, ',')}"
        blocks.append(f"{number}\n{times}\n{srt_text(caption_lines(caption))}\n")
    return "\n".join(blocks)


def srt_text(text: str) -> str:
    """Replace what SRT readers take for markup.

    >>> srt_text("a --> <b> {x}")
    'a → ‹b› (x)'
    """
    return text.replace("-->", "→").translate(_SRT_MARKS)


def caption_lines(caption: Caption) -> str:
    """Return the text without what no caption file can hold: empty lines, control characters."""
    # An empty line ends a cue (W3C WebVTT, "WebVTT cue block"); NUL is no text at all.
    lines = (" ".join(line.replace("\0", " ").split()) for line in caption.text.splitlines())
    return "\n".join(line for line in lines if line)


def _writable(lesson: Lesson) -> list[Caption]:
    kept = [c for c in lesson.captions if c.end_ms > c.start_ms and caption_lines(c)]
    return sorted(kept, key=lambda c: (c.start_ms, c.end_ms))
