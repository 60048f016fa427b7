"""The lesson as viewers get it: without what a person hid."""

from __future__ import annotations

from segmenter.edits.words import NAME
from segmenter.intervals import Interval
from segmenter.lesson import Lesson


def for_viewers(lesson: Lesson) -> Lesson:
    """Return the lesson without its hidden chapters, their words and their captions.

    What is left has gaps where the hidden chapters were: players jump over them. Times stay those of the
    recording, whose picture and sound still hold everything.
    """
    hidden = [chapter.span for chapter in lesson.chapters if chapter.hidden]
    if not hidden:
        return lesson
    return lesson.model_copy(
        update={
            "chapters": tuple(chapter for chapter in lesson.chapters if not chapter.hidden),
            "words": tuple(w for w in lesson.words if not _within(hidden, (w.start_ms + w.end_ms) // 2)),
            "captions": tuple(c for c in lesson.captions if not _within(hidden, (c.start_ms + c.end_ms) // 2)),
        }
    )


def withheld(lesson: Lesson) -> bool:
    """Whether anything is kept from viewers, also when `for_viewers` took it out before: a chapter or a name."""
    shown = sum(chapter.end_ms - chapter.start_ms for chapter in lesson.chapters if not chapter.hidden)
    texts = (lesson.title, *(c.title for c in lesson.chapters), *(word.text for word in lesson.words))
    return bool(lesson.chapters and shown < lesson.duration_ms) or any(NAME in text for text in texts)


def _within(spans: list[Interval], at: int) -> bool:
    return any(start <= at < end for start, end in spans)
