"""A lesson folder against its own lesson: nothing lost, nothing told early, every file the same."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence

from segmenter.inspect.rules import Book, Cue
from segmenter.lesson import Caption, Chapter, Lesson, QuizItem
from segmenter.publish.caption_files import caption_lines, srt_text
from segmenter.publish.caption_sounds import tokens_of
from segmenter.publish.chapters import chapter_title, listed, one_line
from segmenter.publish.limits import EARLY_ON_MS
from segmenter.publish.phrases import bare_word

_NEAR_MS = 1
"""MP4 and Matroska hold whole milliseconds here; a rounding may move them by one."""


def check_captions_agree(book: Book, lesson: Lesson, cues: Sequence[Cue], *, srt: bool) -> None:
    """Note where a caption file differs from the lesson beside it."""
    wanted = [
        (c.start_ms, c.end_ms, srt_text(caption_lines(c)) if srt else caption_lines(c)) for c in lesson.captions
    ]
    wanted = [row for row in wanted if row[2] and row[1] > row[0]]
    found = [(cue.start_ms, cue.end_ms, cue.text) for cue in cues]
    _compare(book, "caption", wanted, found, [cue.line for cue in cues])


def check_chapters_agree(book: Book, lesson: Lesson, cues: Sequence[Cue], *, listing: bool = False) -> None:
    """Note where a chapter file, or the chapters inside a recording, differ from the lesson beside it."""
    if listing:
        wanted = [(start // 1000 * 1000, 0, title) for start, title in listed(lesson)]
        found = [(cue.start_ms, 0, cue.text) for cue in cues]
    else:
        lasting = [c for c in lesson.chapters if c.end_ms > c.start_ms]
        wanted = [(c.start_ms, c.end_ms, chapter_title(c)) for c in lasting]
        found = [(cue.start_ms, cue.end_ms, cue.text) for cue in cues]
    _compare(book, "chapter", wanted, found, [cue.line or None for cue in cues])


def _compare(
    book: Book,
    what: str,
    wanted: Sequence[tuple[int, int, str]],
    found: Sequence[tuple[int, int, str]],
    lines: Sequence[int | None],
) -> None:
    if len(wanted) != len(found):
        book.add("differs", f"{len(found)} {what}s here, {len(wanted)} in lesson.json")
        return
    for want, got, line in zip(wanted, found, lines, strict=True):
        apart = max(abs(want[0] - got[0]), abs(want[1] - got[1]))
        if apart > _NEAR_MS or want[2] != got[2]:
            book.add("differs", f"{got[2][:40]!r} is not as in lesson.json ({want[2][:40]!r})", line, got[0])
            return


def check_lesson(book: Book, lesson: Lesson) -> None:
    """Note spoken words that no caption holds, captions out of step, and answers told before their time."""
    holds = [hold.span for c in lesson.chapters for hold in c.shown.holds if hold.how != "counted"]
    tokens = tokens_of(lesson.words, holds)
    spoken = [c for c in lesson.captions if c.kind == "speech"]
    shown = Counter(piece for caption in spoken for piece in _words(caption))
    lost = Counter(token.text for token in tokens) - shown
    if lost and lesson.captions:
        book.add("words-lost", f"{lost.total()} spoken words are in no caption, such as {next(iter(lost))!r}")
    elif lesson.captions:
        _check_step(book, spoken, [token.start_ms for token in tokens])
    for chapter in lesson.chapters:
        for item in chapter.quiz:
            _check_answer(book, lesson, chapter, item)


def _words(caption: Caption) -> list[str]:
    lines = [line for line in caption.text.split("\n") if not line.startswith("[")]
    return [piece for line in lines for piece in line.removeprefix("- ").split()]


def _check_step(book: Book, spoken: Sequence[Caption], starts: Sequence[int]) -> None:
    at = 0
    for caption in spoken:
        words = len(_words(caption))
        if words and at < len(starts) and abs(caption.start_ms - starts[at]) > EARLY_ON_MS:
            late = caption.start_ms - starts[at]
            book.add("late", f"the cue comes {late} ms after its first word", None, caption.start_ms)
        at += words


def telling_words(item: QuizItem) -> frozenset[str]:
    """The words that give an answer away: long ones in it that its clue does not hold.

    >>> from segmenter.lesson import Passage
    >>> clue = Passage(text="It has a face and two hands.", start_ms=0, end_ms=1)
    >>> sorted(telling_words(QuizItem(clue=clue, answer=Passage(text="It was a clock.", start_ms=2, end_ms=3))))
    ['clock']
    """
    if item.answer is None:
        return frozenset()
    clue = {bare_word(word) for word in item.clue.text.split()}
    words = {bare_word(word) for word in item.answer.text.split()}
    return frozenset(word for word in words - clue - _PLAIN if len(word) > 2)


_PLAIN_TEXT = """
    the and was were are is that this one it's that's answer course right yes well course had have has mind you got
    would could for with from did not but all what who when where which there here they them his her its our your
    very good done think thought said say says get guess guessed let's see i'm i'd correct correctly exactly
"""
_PLAIN = frozenset(_PLAIN_TEXT.split())
"""Words around an answer that tell nothing."""


def _check_answer(book: Book, lesson: Lesson, chapter: Chapter, item: QuizItem) -> None:
    if item.answer is None:
        return
    telling = telling_words(item)
    # What is said aloud while viewers think is no secret.
    thinking = lesson.words_in(item.clue.start_ms, item.answer.start_ms)
    said = {bare_word(piece) for word in thinking for piece in word.text.split()}
    early = [
        caption
        for caption in lesson.captions
        if item.clue.start_ms <= caption.start_ms < item.answer.start_ms - EARLY_ON_MS
        and ((telling - said) & {bare_word(word) for word in caption.text.split()})
    ]
    for caption in early:
        book.add("spoiler", f"{one_line(caption.text)[:50]!r} tells an answer early", None, caption.start_ms)
    # What an exercise is called ("odd one out") is no secret either, nor what was said before the answer.
    called = {*(chapter.exercise or "").split("-"), *said, *_said_before(lesson, chapter.start_ms, item)}
    if (telling - called) & {bare_word(word) for word in chapter.title.split()}:
        book.add("spoiler", f"the title {chapter.title[:40]!r} tells an answer", None, chapter.start_ms)


def _said_before(lesson: Lesson, start_ms: int, item: QuizItem) -> set[str]:
    words = lesson.words_in(start_ms, item.clue.end_ms)
    return {bare_word(piece) for word in words for piece in word.text.split()}


def check_upload(book: Book, lesson: Lesson, text: str) -> None:
    """Note lines of the upload text that tell an answer of a quiz."""
    telling = {word for c in lesson.chapters for item in c.quiz for word in telling_words(item)}
    # What is said elsewhere in the class is no secret.
    quizzes = [c.span for c in lesson.chapters if c.quiz]
    outside = {
        bare_word(piece)
        for word in lesson.words
        if not any(start <= word.start_ms < end for start, end in quizzes)
        for piece in word.text.split()
    }
    # Titles are judged where they stand.
    called = {bare_word(word) for c in lesson.chapters if c.exercise for word in c.title.split()}
    for number, line in enumerate(text.split("\n"), 1):
        told = (telling - outside - called) & {bare_word(word) for word in re.split(r"[\s/]+", line)}
        if told:
            book.add("spoiler", f"{sorted(told)[0]!r} answers a quiz", number)
