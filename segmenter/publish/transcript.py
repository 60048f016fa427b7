"""The words of the class as a page: headings, times, cautions, and what was put right."""

from __future__ import annotations

from collections.abc import Sequence

from segmenter.lesson import Chapter, Lesson, Word
from segmenter.publish.chapters import chapter_title
from segmenter.publish.templating import render_html
from segmenter.publish.wording import DEFER

PAUSE_MS = 1_500
"""A silence that starts a new paragraph."""
LONGEST = 40
"""Words after which any pause starts one."""


def transcript_html(lesson: Lesson) -> str:
    """Return the transcript; every word of the lesson is in it once, under the chapter it starts in."""
    chapters = [
        {
            "title": chapter_title(chapter),
            "start_ms": chapter.start_ms,
            "cautions": chapter.cautions,
            "credit": chapter.credit,
            "sentences": paragraphs(words),
        }
        for chapter, words in shared_out(lesson)
    ]
    return render_html("transcript.html.j2", lesson, "Transcript", chapters=chapters, defer=DEFER)


def paragraphs(words: Sequence[Word]) -> list[list[Word]]:
    """Part words after a sentence or a long silence; order and number stay."""
    parts: list[list[Word]] = []
    for word in words:
        before = parts[-1][-1] if parts else None
        pause = word.start_ms - before.end_ms if before else 0
        ended = before is not None and before.text.rstrip("\"')”’").endswith((".", "?", "!", "…"))
        turn = before is not None and (before.speaker == "other") != (word.speaker == "other")
        if before is None or ended or turn or pause >= PAUSE_MS or (len(parts[-1]) >= LONGEST and pause > 0):
            parts.append([])
        parts[-1].append(word)
    return parts


def shared_out(lesson: Lesson) -> list[tuple[Chapter, list[Word]]]:
    """Return each chapter with the words that start in it; no word is left out."""
    shares: list[tuple[Chapter, list[Word]]] = [(chapter, []) for chapter in lesson.chapters]
    if not shares:
        return []
    at = 0
    for word in sorted(lesson.words, key=lambda w: w.start_ms):
        # The last chapter takes words past the end, so that none is lost.
        while at + 1 < len(shares) and word.start_ms >= shares[at][0].end_ms:
            at += 1
        shares[at][1].append(word)
    return shares
