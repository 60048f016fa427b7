"""The words of the class as plain text: headings with times, cautions, what was put right."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from segmenter.lesson import Lesson, Word
from segmenter.publish.chapters import chapter_title, one_line
from segmenter.publish.transcript import paragraphs, shared_out
from segmenter.publish.wording import DEFER, caution_source
from segmenter.times import clock

WIDTH = 100
"""Characters a line; a longer word stays whole."""


def transcript_text(lesson: Lesson) -> str:
    """Return the transcript as plain text; every word of the lesson is in it once, other speakers with a dash."""
    lines = [one_line(lesson.title) or "Exercise class", "", DEFER, ""]
    for chapter, words in shared_out(lesson):
        heading = f"{clock(chapter.start_ms)}  {chapter_title(chapter)}"
        lines += ["", heading, "-" * min(WIDTH, len(heading)), ""]
        for caution in chapter.cautions:
            lines += [*_filled(f"TAKE CARE: {one_line(caution.text)} ({caution_source(caution)})"), ""]
        for paragraph in paragraphs(words):
            lines += [*_filled(f"[{clock(paragraph[0].start_ms)}] {_said(paragraph)}"), ""]
    return "\n".join(lines).rstrip() + "\n"


def _said(words: Sequence[Word]) -> str:
    dash = "- " if words[0].speaker == "other" else ""
    return dash + " ".join(
        word.text if word.heard is None or word.heard == word.text else f"{word.text} (heard: {word.heard})"
        for word in words
    )


def _filled(text: str) -> list[str]:
    return textwrap.wrap(text, WIDTH, break_long_words=False, break_on_hyphens=False, subsequent_indent="    ")
