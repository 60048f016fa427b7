"""Edits of words: one, all alike, or a name that is taken out. Times stay what they are."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from segmenter.edits.anchors import NoPlaceError, bare, word_for, words_near
from segmenter.edits.chapters import BY_PERSON
from segmenter.edits.kinds import RemoveName, ReplaceWords, SetWord
from segmenter.lesson import Chapter, Check, Lesson, Passage, Word
from segmenter.times import clock, counted

NAME = "[name]"
"""What stands where a name was taken out."""
_EDGES = re.compile(r"^(\W*)(.*?)(\W*)$", re.DOTALL)


def with_word(lesson: Lesson, edit: SetWord) -> Lesson:
    """Return the lesson with one word corrected; what was heard is kept beside it."""
    at = word_for(lesson.words, edit.at_ms, edit.was)
    if at is None:
        # A better run may hear it rightly by itself.
        if any(lesson.words[n].text == edit.text for n in words_near(lesson.words, edit.at_ms)):
            return lesson
        raise NoPlaceError(f"“{edit.was}” is no longer heard there")
    words = (*lesson.words[:at], _corrected(lesson.words[at], edit.text), *lesson.words[at + 1 :])
    return lesson.model_copy(update={"words": words})


def _corrected(word: Word, text: str) -> Word:
    return word.model_copy(update={"text": text, "heard": word.heard or word.text, "why": BY_PERSON})


def with_words_replaced(lesson: Lesson, edit: ReplaceWords) -> Lesson:
    """Return the lesson with one phrase replaced wherever it is heard; marks and capitals around it stay."""
    phrase = [bare(part) for part in edit.was.split()]
    wanted = edit.text.split()
    if not any(phrase):
        raise NoPlaceError("there is nothing to look for")
    words, found, at = [], False, 0
    while at < len(lesson.words):
        here = lesson.words[at : at + len(phrase)]
        if [bare(word.text) for word in here] == phrase:
            words += _replacement(here, wanted)
            at, found = at + len(phrase), True
        else:
            words.append(lesson.words[at])
            at += 1
    return lesson.model_copy(update={"words": tuple(words)}) if found else lesson


def _replacement(here: Sequence[Word], wanted: Sequence[str]) -> list[Word]:
    texts = list(wanted) if len(wanted) == len(here) else [" ".join(wanted)]
    opening, first, _ = _parts(here[0].text)
    _, _, closing = _parts(here[-1].text)
    if first[:1].isupper() and texts[0][:1].islower():
        texts[0] = texts[0][:1].upper() + texts[0][1:]
    texts[0], texts[-1] = opening + texts[0], texts[-1] + ("" if _parts(texts[-1])[2] else closing)
    if len(texts) == len(here):
        return [
            _corrected(word, text) if text != word.text else word for word, text in zip(here, texts, strict=True)
        ]
    heard = " ".join(word.heard or word.text for word in here)
    one = here[0].model_copy(update={"end_ms": here[-1].end_ms, "text": texts[0], "heard": heard, "why": BY_PERSON})
    return [one]


def _parts(text: str) -> tuple[str, str, str]:
    match = _EDGES.match(text)
    return (match[1], match[2], match[3]) if match else ("", text, "")


def with_name_removed(lesson: Lesson, edit: RemoveName) -> Lesson:
    """Return the lesson with a name taken out of every text, and a check that it can still be heard."""
    name = bare(edit.was)
    if not name:
        raise NoPlaceError("there is no name to take out")
    pattern = re.compile(rf"(?<!\w){re.escape(name)}(?!\w)", re.IGNORECASE)
    words, said = [], []
    for word in lesson.words:
        if pattern.search(word.text) or pattern.search(word.heard or ""):
            # What was heard is the name: here, and only here, it is not kept.
            text = pattern.sub(NAME, word.text)
            if text == word.text:  # it was put right as something else, but it is the name that is said
                opening, _, closing = _parts(word.text)
                text = f"{opening}{NAME}{closing}"
            change = {"text": text, "heard": None, "why": "a name, taken out by a person"}
            words.append(word.model_copy(update=change))
            said.append(word.start_ms)
        else:
            words.append(word)
    checks = tuple(
        check.model_copy(update={"message": pattern.sub(NAME, check.message)}) for check in lesson.checks
    )
    if said:
        message = (
            f"A name was taken out of the texts, and is silenced in the lesson's copy of the recording, "
            f"{counted(len(said), 'time')}, first at {clock(said[0])}. Listen there: your own file still holds it."
        )
        if pattern.search(Path(lesson.recording.path or "").stem.replace("_", " ")):
            message += " It also stands in the name of the recording's file: rename that before it goes out."
        checks = (
            *checks,
            Check(code="name-in-sound", level="look", message=message, start_ms=said[0], end_ms=said[0]),
        )
    return lesson.model_copy(
        update={
            "words": tuple(words),
            "title": pattern.sub(NAME, lesson.title),
            "chapters": tuple(_without(chapter, pattern) for chapter in lesson.chapters),
            "checks": checks,
        }
    )


def _without(chapter: Chapter, pattern: re.Pattern[str]) -> Chapter:
    def passage(one: Passage | None) -> Passage | None:
        return None if one is None else one.model_copy(update={"text": pattern.sub(NAME, one.text)})

    def quoted(said: str | None) -> str | None:
        return None if said is None else pattern.sub(NAME, said)

    asked = tuple(ask.model_copy(update={"said": quoted(ask.said)}) for ask in chapter.asked)
    stops = tuple(
        stop if stop.asked is None
        else stop.model_copy(update={"asked": stop.asked.model_copy(update={"said": quoted(stop.asked.said)})})
        for stop in chapter.practice
    )  # fmt: skip
    return chapter.model_copy(
        update={
            "title": pattern.sub(NAME, chapter.title),
            "reasons": tuple(pattern.sub(NAME, reason) for reason in chapter.reasons),
            "asked": asked,
            "practice": stops,
            "cautions": tuple(c.model_copy(update={"text": pattern.sub(NAME, c.text)}) for c in chapter.cautions),
            "quiz": tuple(
                item.model_copy(update={"clue": passage(item.clue), "answer": passage(item.answer)})
                for item in chapter.quiz
            ),
        }
    )
