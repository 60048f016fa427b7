"""The lesson is a pure function of draft and edits: always valid, nothing lost, undone exactly."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.edits.anchors import NoPlaceError
from segmenter.edits.apply import apply_edits, apply_one, lay_over
from segmenter.edits.journal import Journal, active, steps
from segmenter.edits.kinds import (
    AcceptUsual,
    AddHold,
    AddStop,
    BreakCaption,
    Edit,
    Hide,
    JoinCaption,
    Merge,
    MoveBoundary,
    MoveStop,
    Reclassify,
    Redo,
    RemoveHold,
    RemoveName,
    RemoveStop,
    ReplaceWords,
    Retitle,
    SetAsked,
    SettleCheck,
    SetWord,
    Split,
    Undo,
)
from segmenter.lesson import Ask, Caption, Check, Lesson, json_schema, lesson_from_json, to_json
from segmenter.publish import captions
from segmenter.publish.base import WRITERS
from segmenter.publish.viewers import for_viewers
from tests.edits.making import EDITS, drafts
from tests.lessons import rich_lesson, spoken

SEQUENCES = st.lists(EDITS, max_size=12)


def _contents(lesson: Lesson) -> tuple[int, ...]:
    """What must not get lost when borders move."""
    chapters = lesson.chapters
    return (
        sum(len(c.practice) for c in chapters),
        sum(len(c.shown.holds) for c in chapters),
        sum(len(c.shown.counts) for c in chapters),
        sum(len(c.asked) for c in chapters),
        sum(len(c.quiz) for c in chapters),
        sum(k.start_ms is not None for c in chapters for k in c.cautions),
    )


def _plainly(lesson: Lesson) -> tuple[tuple[Caption, ...], tuple[Check, ...]]:
    """Captions in no time at all: eight words each."""
    rows = [lesson.words[n : n + 8] for n in range(0, len(lesson.words), 8)]
    cues = (
        Caption(start_ms=row[0].start_ms, end_ms=row[-1].end_ms, text=" ".join(w.text for w in row)) for row in rows
    )
    return tuple(cues), ()


@settings(max_examples=1000)
@given(drafts(), SEQUENCES)
def test_any_sequence_of_edits_leaves_a_valid_lesson(draft: Lesson, edits: list[Edit]) -> None:
    """A thousand sequences: what comes out is read back by the model, which checks the contract."""
    made, _ = lay_over(draft, edits, _plainly)
    assert lesson_from_json(to_json(made)) == made


@settings(max_examples=40)
@given(drafts(), SEQUENCES)
def test_what_edits_leave_can_be_published(draft: Lesson, edits: list[Edit]) -> None:
    """Judged by the JSON Schema we publish, through the package jsonschema; every writer takes it."""
    made, _ = lay_over(draft, edits, captions.compose)
    jsonschema.Draft202012Validator(json.loads(json_schema())).validate(json.loads(to_json(made)))
    for writer in WRITERS.values():
        assert writer.render(for_viewers(made)) is not None


@settings(max_examples=100)
@given(drafts(), st.lists(EDITS.filter(lambda e: e.do in {"move-boundary", "split", "merge"}), max_size=8))
def test_moving_borders_loses_nothing(draft: Lesson, edits: list[Edit]) -> None:
    assert _contents(apply_edits(draft, edits)) == _contents(draft)


@settings(max_examples=100)
@given(drafts(), SEQUENCES)
def test_edits_change_neither_draft_nor_times_of_words(draft: Lesson, edits: list[Edit]) -> None:
    before = to_json(draft)
    made = apply_edits(draft, edits)
    assert to_json(draft) == before
    assert {word.start_ms for word in made.words} <= {word.start_ms for word in draft.words}


ONCE = ("retitle", "reclassify", "set-asked", "accept-usual", "set-still", "hide", "move-boundary", "split",
        "add-hold", "add-stop", "move-stop", "remove-name", "break-caption", "settle-check")  # fmt: skip


@settings(max_examples=150)
@given(drafts(), EDITS.filter(lambda edit: edit.do in ONCE))
def test_applying_twice_equals_once_where_it_should(draft: Lesson, edit: Edit) -> None:
    """Not for "merge", "remove" and "replace", which by their nature take the next thing the second time."""
    draft, _ = lay_over(draft, [], _plainly)
    try:
        once = apply_one(draft, edit)
    except NoPlaceError:
        return
    try:
        twice = apply_one(once, edit)
    except NoPlaceError:
        return  # refused is fine: nothing happens
    drop = {"checks"} if edit.do == "remove-name" else set()
    assert twice.model_dump(exclude=drop) == once.model_dump(exclude=drop)


@settings(max_examples=60)
@given(drafts(), st.lists(st.one_of(EDITS, st.sampled_from(["undo", "redo"])), max_size=14))
def test_undo_and_redo_restore_exactly(
    tmp_path_factory: pytest.TempPathFactory, draft: Lesson, acts: list[Edit | str]
) -> None:
    """Against the plainest model there is: a list of finished lessons and a finger in it."""
    journal = Journal(tmp_path_factory.mktemp("lesson"))
    seen, at = [_text(draft, [])], 0
    for act in acts:
        entries = journal.read()
        now = steps(entries)
        if act == "undo":
            if now.done:
                journal.append(Undo(edit=now.done[-1]))
                at -= 1
        elif act == "redo":
            if now.undone:
                journal.append(Redo(edit=now.undone[-1]))
                at += 1
        elif not isinstance(act, str):
            journal.append(act)
            seen, at = [*seen[: at + 1], _text(draft, active(journal.read()))], at + 1
        assert _text(draft, active(journal.read())) == seen[at]


def _text(draft: Lesson, edits: Sequence[Edit]) -> str:
    return to_json(apply_edits(draft, edits))


def _chapter(lesson: Lesson, title: str) -> int:
    return next(n for n, chapter in enumerate(lesson.chapters) if chapter.title == title)


def test_pieces_go_with_their_time() -> None:
    """rich_lesson: holds at 26 and 36 s, a count at 46 s, a stop at 60 s, a home dose said at 52 s."""
    made = apply_edits(rich_lesson(), [Split(at_ms=35_000, title="Second half")])
    first, second = made.chapters[1], made.chapters[2]
    assert (first.title, second.title) == ("Steady ah", "Second half")
    assert [len(c.shown.holds) for c in (first, second)] == [1, 1]
    assert [len(c.practice) for c in (first, second)] == [0, 1]
    assert [[a.where for a in c.asked] for c in (first, second)] == [["class"], ["home"]]
    assert [c.shown.reps for c in (first, second)] == [None, None], "how often each half was done is not known"
    assert [p.span for c in (first, second) for p in c.parts] == [(26_000, 35_000), (35_000, 44_000)]
    joined = apply_edits(made, [Merge(at_ms=35_000)]).chapters[1]
    assert [p.span for p in joined.parts] == [(26_000, 44_000)], "no seam is left"
    assert joined.span == rich_lesson().chapters[1].span


@pytest.mark.parametrize(
    ("edit", "look", "expected"),
    [
        (Retitle(at_ms=10_000, until_ms=65_000, title="Long ah"), lambda x: x.chapters[1].title, "Long ah"),
        (Reclassify(at_ms=1, kind="talk"), lambda x: x.chapters[0].kind, "talk"),
        (SetAsked(at_ms=11_000, asked=()), lambda x: x.chapters[1].asked, ()),
        (Hide(at_ms=1), lambda x: [c.id for c in for_viewers(x).chapters], ["b", "c"]),
        (MoveBoundary(at_ms=10_000, to_ms=9_100), lambda x: [c.start_ms for c in x.chapters], [0, 9_100, 65_000]),
        (AddHold(at_ms=50_000, end_ms=52_500), lambda x: x.chapters[1].shown.holds[-1].seconds, 2.5),
        (RemoveHold(at_ms=26_300), lambda x: len(x.chapters[1].shown.holds), 1),
        (AddStop(at_ms=30_000), lambda x: [p.at_ms for p in x.chapters[1].practice], [30_000, 60_000]),
        (MoveStop(at_ms=60_000, to_ms=61_000), lambda x: x.chapters[1].practice[0].at_ms, 61_000),
        (RemoveStop(at_ms=60_000), lambda x: x.chapters[1].practice, ()),
        (SetWord(at_ms=20_000, was="Hold", text="Keep"), lambda x: x.words[14].heard, "Hold"),
        (SettleCheck(at_ms=62_250, code="bad"), lambda x: [c.code for c in x.checks], ["low"]),
    ],
    ids=lambda value: getattr(value, "do", ""),
)  # fmt: skip
def test_each_edit_does_what_it_says(edit: Edit, look: Callable[[Lesson], object], expected: object) -> None:
    assert look(apply_one(rich_lesson(), edit)) == expected


def test_a_usual_dose_says_where_it_is_from() -> None:
    ask = Ask(where="home", start_ms=0, end_ms=0, reps=(5, 10))
    made = apply_edits(rich_lesson(), [AcceptUsual(at_ms=11_000, asked=ask, source="a leaflet")])
    assert made.chapters[1].asked[-1].usual == "a leaflet"
    assert [ask.usual for ask in made.chapters[1].asked[:-1]] == [None, None]


def test_replacing_keeps_times_marks_and_capitals() -> None:
    made = apply_edits(rich_lesson(), [ReplaceWords(at_ms=0, was="one, two", text="eins zwei")])
    assert [(w.text, w.heard) for w in made.words if w.why == "changed by a person"] == [
        ("Eins", "One,"),
        ("zwei,", "two,"),
    ]
    many = apply_edits(rich_lesson(), [ReplaceWords(at_ms=0, was="steady ah", text="vowel")])
    one = next(w for w in many.words if w.text == "vowel")
    assert (one.heard, one.start_ms, one.end_ms) == ("steady ah", 20_700, 21_365)


def test_a_name_is_in_no_text_that_viewers_get() -> None:
    draft = rich_lesson()
    chapter = draft.chapters[1].model_copy(update={"title": "Steady ah with Paris"})
    draft = draft.model_copy(update={"chapters": (draft.chapters[0], chapter, draft.chapters[2])})
    made, _ = lay_over(draft, [RemoveName(at_ms=0, was="paris")], captions.compose)
    for name, writer in WRITERS.items():
        text = writer.render(made)
        assert "paris" not in (text if isinstance(text, str) else text.decode("latin-1")).lower(), name
    assert "harris" not in to_json(made).lower(), "what was heard for the name goes too"
    assert [c.code for c in made.checks if "your own file still holds it" in c.message] == ["name-in-sound"]


def test_a_name_goes_in_every_form_it_is_written_in() -> None:
    draft = rich_lesson().model_copy(
        update={"words": spoken("Anna's chair, anna-style. Annas and Joanna stay. ANNA!", 500)}
    )
    recording = draft.recording.model_copy(update={"path": "Anna_on_Tuesday.mp4"})
    made = apply_edits(draft.model_copy(update={"recording": recording}), [RemoveName(at_ms=0, was="Anna")])
    assert " ".join(word.text for word in made.words) == (
        "[name]'s chair, [name]-style. Annas and Joanna stay. [name]!"
    )
    (told,) = [check.message for check in made.checks if check.code == "name-in-sound"]
    assert "name of the recording's file" in told


def test_captions_break_and_join_where_a_person_says() -> None:
    draft = rich_lesson()
    plain, _ = lay_over(draft, [], captions.compose)
    word = next(w for w in draft.words if w.text == "chair")
    cut, _ = lay_over(draft, [BreakCaption(at_ms=word.start_ms, was="chair")], captions.compose)
    assert len(cut.captions) == len(plain.captions) + 1
    assert any(c.text.startswith("chair") and c.start_ms == word.start_ms for c in cut.captions)
    edits: list[Edit] = [
        BreakCaption(at_ms=word.start_ms, was="chair"),
        JoinCaption(at_ms=word.start_ms, was="chair"),
    ]
    joined, _ = lay_over(draft, edits, captions.compose)
    assert [c.text.split() for c in joined.captions] == [c.text.split() for c in plain.captions]


def test_settling_one_check_leaves_its_neighbour_open() -> None:
    draft = rich_lesson()
    alike = tuple(draft.checks[1].model_copy(update={"message": text}) for text in ("one", "two"))
    draft = draft.model_copy(update={"checks": alike})
    settled = SettleCheck(at_ms=62_250, code="bad", message="one")
    assert [check.message for check in apply_one(draft, settled).checks] == ["two"]
    again = settled.model_copy(update={"settled": False})
    made, _ = lay_over(draft, [settled, again], _plainly)
    assert [check.message for check in made.checks] == ["one", "two"]


def test_a_better_draft_keeps_every_edit_or_says_why_not(tmp_path: Path) -> None:
    draft = rich_lesson()
    edits: list[Edit] = [
        Retitle(at_ms=10_000, until_ms=65_000, title="Long ah"),
        MoveBoundary(at_ms=65_000, to_ms=66_000),
        SetWord(at_ms=20_000, was="Hold", text="Keep"),
    ]
    chapters = (
        draft.chapters[0].model_copy(update={"end_ms": 12_000}),
        draft.chapters[1].model_copy(update={"start_ms": 12_000, "end_ms": 63_500, "id": "z"}),
        draft.chapters[2].model_copy(update={"start_ms": 63_500}),
    )
    later = [{"start_ms": w.start_ms + 400, "end_ms": w.end_ms + 400} for w in draft.words]
    words = tuple(w.model_copy(update=times) for w, times in zip(draft.words, later, strict=True))
    better = draft.model_copy(update={"chapters": chapters, "words": words})
    made, misfits = lay_over(better, edits, captions.compose)
    assert not misfits
    assert [c.start_ms for c in made.chapters] == [0, 12_000, 66_000]
    assert made.chapters[1].title == "Long ah"
    assert made.words[14].text == "Keep"
    halves = (
        draft.chapters[0],
        draft.chapters[1].model_copy(update={"end_ms": 37_500}),
        draft.chapters[1].model_copy(update={"start_ms": 37_500, "id": "d"}),
        draft.chapters[2],
    )
    other, misfits = lay_over(draft.model_copy(update={"chapters": halves}), edits[:1], captions.compose)
    assert [misfit.edit.do for misfit in misfits] == ["retitle"]
    assert "no chapter runs from about 0:10 to 1:05 any more" in other.checks[-1].message
