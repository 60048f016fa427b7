"""Edits of what is made from the words: where captions break, and which checks are settled."""

from __future__ import annotations

from collections.abc import Sequence

from segmenter.edits.anchors import WORD_MS, NoPlaceError, bare, word_for
from segmenter.edits.kinds import BreakCaption, JoinCaption, LateEdit, SettleCheck
from segmenter.lesson import Caption, Check, Lesson

CHECK_MS = 3_000
"""Another draft may put the same check this far off."""
LONGEST = 84
"""Letters that fit two lines (DCMP: 32 to 42 a line; from memory): captions are not joined beyond them."""


def with_late(lesson: Lesson, edit: LateEdit) -> Lesson:
    """Return the lesson with a caption cut or joined, or a check settled."""
    match edit:
        case SettleCheck():
            return _settled(lesson, edit)
        case BreakCaption():
            return _broken(lesson, edit)
        case JoinCaption():
            return _joined(lesson, edit)


def _settled(lesson: Lesson, edit: SettleCheck) -> Lesson:
    if edit.settled:
        open_checks = tuple(check for check in lesson.checks if not settles(edit, check))
        return lesson.model_copy(update={"checks": open_checks})
    return lesson  # it was opened again: nothing is taken off the list


def settles(edit: SettleCheck, check: Check) -> bool:
    """Whether an edit is about this check."""
    near = abs((check.start_ms or 0) - edit.at_ms) <= CHECK_MS
    return check.code == edit.code and near and edit.message in {None, check.message}


def _broken(lesson: Lesson, edit: BreakCaption) -> Lesson:
    word_at = word_for(lesson.words, edit.at_ms, edit.was)
    if word_at is None:
        raise NoPlaceError(f"“{edit.was}” is no longer heard there")
    word = lesson.words[word_at]
    number = _showing(lesson.captions, word.start_ms, word.text)
    if number is None:
        raise NoPlaceError(f"no caption shows “{edit.was}” there")
    caption = lesson.captions[number]
    pieces = caption.text.split()
    at = _token(pieces, caption, word.text, word.start_ms)
    if at is None:
        raise NoPlaceError(f"the caption does not show “{edit.was}”")
    if at == 0 or (at == 1 and pieces[0] == "-"):
        return lesson  # it begins here already
    cut = min(max(word.start_ms, caption.start_ms + 1), caption.end_ms - 1)
    if not caption.start_ms < cut < caption.end_ms:
        raise NoPlaceError("this caption is too short to cut")
    first = caption.model_copy(update={"end_ms": cut, "text": _lines(pieces[:at])})
    second = caption.model_copy(update={"start_ms": cut, "text": _lines(pieces[at:])})
    return _replaced(lesson, number, 1, first, second)


def _joined(lesson: Lesson, edit: JoinCaption) -> Lesson:
    number = min(
        (n for n in range(1, len(lesson.captions)) if abs(lesson.captions[n].start_ms - edit.at_ms) <= WORD_MS),
        key=lambda n: (bare(edit.was) not in map(bare, lesson.captions[n].text.split()[:2]),
                       abs(lesson.captions[n].start_ms - edit.at_ms)),
        default=None,
    )  # fmt: skip
    if number is None or bare(edit.was) not in map(bare, lesson.captions[number].text.split()[:2]):
        return lesson  # no caption begins with it any more: that is what was wanted
    before, after = lesson.captions[number - 1], lesson.captions[number]
    pieces = [*before.text.split(), *after.text.split()]
    if "sound" in {before.kind, after.kind} or len(" ".join(pieces)) > LONGEST:
        raise NoPlaceError("the two captions do not fit into one")
    one = Caption(start_ms=before.start_ms, end_ms=after.end_ms, text=_lines(pieces))
    return _replaced(lesson, number - 1, 2, one)


def _showing(captions: Sequence[Caption], at_ms: int, text: str) -> int | None:
    near = [
        n for n, caption in enumerate(captions)
        if caption.kind == "speech" and caption.start_ms - WORD_MS <= at_ms <= caption.end_ms + WORD_MS
        and bare(text) in map(bare, caption.text.split())
    ]  # fmt: skip
    return min(near, key=lambda n: _away(captions[n], at_ms), default=None)


def _away(caption: Caption, at_ms: int) -> int:
    return max(caption.start_ms - at_ms, at_ms - caption.end_ms + 1, 0)


def _token(pieces: Sequence[str], caption: Caption, text: str, at_ms: int) -> int | None:
    share = (at_ms - caption.start_ms) / max(1, caption.end_ms - caption.start_ms)
    same = [n for n, piece in enumerate(pieces) if bare(piece) == bare(text)]
    return min(same, key=lambda n: abs(n / len(pieces) - share), default=None)


def _lines(pieces: Sequence[str]) -> str:
    """Set words in one line, or in two of about the same length."""
    text = " ".join(pieces)
    if len(text) <= LONGEST // 2 or len(pieces) < 2:
        return text
    cut = min(range(1, len(pieces)), key=lambda n: max(len(" ".join(pieces[:n])), len(" ".join(pieces[n:]))))
    return f"{' '.join(pieces[:cut])}\n{' '.join(pieces[cut:])}"


def _replaced(lesson: Lesson, number: int, count: int, *news: Caption) -> Lesson:
    captions = (*lesson.captions[:number], *news, *lesson.captions[number + count :])
    return lesson.model_copy(update={"captions": captions})
