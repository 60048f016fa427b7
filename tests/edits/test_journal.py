"""``edits.json`` only grows, a change sent twice counts once, and a kill never tears it."""

from __future__ import annotations

import json
import multiprocessing
import os
import signal
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings

from segmenter.edits.journal import (
    FILE,
    Journal,
    active,
    entries_to_json,
    read_entries,
    steps,
)
from segmenter.edits.kinds import ENTRIES, Edit, Place, Redo, Retitle, Undo
from segmenter.edits.telling import named
from segmenter.errors import LessonError
from tests.edits.making import EDITS
from tests.edits.writing import title, write_and_tell, write_many


@settings(max_examples=100)
@given(EDITS)
def test_every_edit_reads_back_and_has_words(edit: Edit) -> None:
    assert ENTRIES.validate_json(entries_to_json([edit])) == [edit]
    assert named(edit)


def test_records_are_only_added(tmp_path: Path) -> None:
    journal, before = Journal(tmp_path), "[\n"
    for record in (title(1), title(2), Undo(edit=2), Redo(edit=2), title(1)):
        journal.append(record)
        text = (tmp_path / FILE).read_text()
        assert text.startswith(before)
        before = text.removesuffix("\n]\n")
    assert [entry.id for entry in journal.read()] == [1, 2, 3, 4], "the same key twice is one change"
    assert all(json.loads(text)[n]["made"].endswith("Z") for n in range(4))


def test_what_is_typed_in_three_goes_is_one_step(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    journal.append(title(1))
    journal.append(Retitle(at_ms=1, title="L"))
    journal.append(Retitle(at_ms=1, title="Lo", amends=2))
    entries = journal.append(Retitle(at_ms=1, title="Long", amends=3))
    assert [edit.title for edit in active(entries) if isinstance(edit, Retitle)] == ["Title 1", "Long"]
    assert steps(entries).done == (1, 4)
    entries = journal.append(Undo(edit=4))
    assert [edit.id for edit in active(entries)] == [1]
    entries = journal.append(Redo(edit=4))
    assert [edit.id for edit in active(entries)] == [1, 4]


def test_an_edit_can_be_placed_again_and_that_undone(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    journal.append(title(1))
    entries = journal.append(Place(edit=1, at_ms=9_000, until_ms=12_000))
    assert [(edit.at_ms, edit.until_ms) for edit in active(entries)] == [(9_000, 12_000)]
    entries = journal.append(Undo(edit=2))
    assert [edit.at_ms for edit in active(entries)] == [1_000]


def test_two_programs_at_once_lose_nothing(tmp_path: Path) -> None:
    spawn = multiprocessing.get_context("spawn")
    others = [spawn.Process(target=write_many, args=(tmp_path, first, 25)) for first in (0, 100)]
    for other in others:
        other.start()
    for other in others:
        other.join()
    keys = {entry.key for entry in Journal(tmp_path).read()}
    assert keys == {f"k{n}" for n in (*range(25), *range(100, 125))}


def test_twenty_kills_while_editing_lose_nothing(tmp_path: Path) -> None:
    """Every edit that was answered before a kill is there after it."""
    spawn = multiprocessing.get_context("spawn")
    answered: set[int] = set()
    for round_ in range(20):
        ours, theirs = spawn.Pipe(duplex=False)
        writer = spawn.Process(target=write_and_tell, args=(tmp_path, theirs, 1000 * round_))
        writer.start()
        theirs.close()
        for _ in range(3 + round_):  # killed after another count each time, in the middle of the next write
            answered.add(ours.recv())
        assert writer.pid is not None
        os.kill(writer.pid, signal.SIGTERM if sys.platform == "win32" else signal.SIGKILL)
        writer.join()
        while True:
            try:
                answered.add(ours.recv())
            except EOFError:
                break
        kept = {int((entry.key or "k-1")[1:]) for entry in read_entries(tmp_path / FILE)}
        assert answered <= kept
        assert len(kept) <= len(answered) + round_ + 1, "at most one more a kill: written, but not yet answered"


WHOLE = entries_to_json([title(1).model_copy(update={"id": 1}), title(2).model_copy(update={"id": 2})])
BROKEN = {
    "[": 0,
    "": 0,
    "[" * 5_000: 0,
    WHOLE[:-3]: 2,
    WHOLE[:-20]: 1,
    WHOLE.replace('"Title 2"', '"Title \x00"'): 1,
    WHOLE + "and more": 2,
}


@pytest.mark.parametrize("text", BROKEN, ids=range(len(BROKEN)))
def test_a_damaged_file_is_kept_and_what_stands_before_the_damage_counts(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE).write_text(text)
    assert len(read_entries(tmp_path / FILE)) == BROKEN[text]
    assert (tmp_path / FILE).read_text() == text, "reading changes nothing"
    journal = Journal(tmp_path)
    (kept,) = journal.mend()
    assert (kept.name, kept.read_text()) == ("edits-damaged-1.json", text)
    assert len(journal.append(title(3))) == BROKEN[text] + 1
    assert len(ENTRIES.validate_json((tmp_path / FILE).read_bytes())) == BROKEN[text] + 1
    assert journal.mend() == [kept], "kept once"


def test_every_cut_and_every_spoilt_byte_keeps_what_stands_before_it(tmp_path: Path) -> None:
    whole = entries_to_json([title(n).model_copy(update={"id": n}) for n in range(1, 5)]).encode()
    ends = [at for at in range(len(whole)) if whole[at : at + 2] in {b"},", b"}\n"}]
    for at in range(len(whole)):
        for spoilt in (whole[:at], whole[:at] + b"\xff" + whole[at + 1 :]):
            (tmp_path / FILE).write_bytes(spoilt)
            read = [entry.id for entry in read_entries(tmp_path / FILE)]
            assert read == list(range(1, sum(end < at for end in ends) + 1)), at


def test_another_damage_is_kept_as_well(tmp_path: Path) -> None:
    journal = Journal(tmp_path)
    for text in ("[1", "[2", "[1"):
        (tmp_path / FILE).write_text(text)
        journal.mend()
    assert [path.read_text() for path in journal.mend()] == ["[1", "[2"]


UNKNOWN = (
    '{"do": "retitle"}',
    '[{"do": "retitle", "at": 1}]',
    '[{"do": "fly"}]',
    WHOLE.replace("]", ',{"do": "sing"}]'),
)


@pytest.mark.parametrize("text", UNKNOWN)
def test_a_whole_file_with_something_unknown_is_told_and_left_alone(tmp_path: Path, text: str) -> None:
    (tmp_path / FILE).write_text(text)
    for act in (Journal(tmp_path).mend, lambda: Journal(tmp_path).append(title(1))):
        with pytest.raises(LessonError, match="Nothing was changed"):
            act()
    assert (tmp_path / FILE).read_text() == text
