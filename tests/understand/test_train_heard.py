"""Classes as they were heard: that every sentence finds what was heard of it, and nothing else changes."""

from pathlib import Path

import pytest

from segmenter.resources import shipped
from segmenter.understand.scripts import Said, Script, read_script
from segmenter.understand.train_heard import as_heard, lines_of

CLASS = """voice: x
== exercise voice
show: Go. (0.5) Now.
show: And again.
show: And again.
> hold 3 200
ask: {reps Ten of those}. | ask class reps=10
"""


def _script(folder: Path) -> Script:
    (folder / "one.txt").write_text(CLASS, encoding="utf-8")
    return read_script(folder / "one.txt")


def _heard(folder: Path, pairs: list[tuple[str, str]]) -> Script:
    (folder / "heard").mkdir()
    (folder / "heard" / "one.txt").write_text(lines_of(pairs), encoding="utf-8")
    heard = as_heard(_script(folder), folder / "heard")
    assert heard is not None
    return heard


def test_each_sentence_is_as_it_was_heard_in_its_turn(tmp_path: Path) -> None:
    pairs = [
        ("Go. Now.", "Go now"),
        ("And again.", "and a gain"),
        ("And again.", "end again."),
        ("Ten of those.", "10 on those."),
    ]
    heard = _heard(tmp_path, pairs)
    script = _script(tmp_path)
    said = [item for item in heard.items if isinstance(item, Said)]
    assert [item.text for item in said] == ["Go now", "and a gain", "end again.", "10 on those."]
    assert [item.doses for item in said] == [item.doses for item in script.items if isinstance(item, Said)]
    assert not any(item.spans for item in said)
    assert len(heard.items) == len(script.items)
    assert heard.name != script.name
    assert heard.head == script.head


def test_what_was_lost_or_rewritten_since_stays_as_written(tmp_path: Path) -> None:
    heard = _heard(tmp_path, [("Go. Now.", ""), ("And once more.", "and one smore"), ("And again.", "and a gain")])
    texts = [item.text for item in heard.items if isinstance(item, Said)]
    assert texts == ["Go. (0.5) Now.", "and a gain", "And again.", "Ten of those."]


def test_a_class_that_nobody_spoke_is_not_there(tmp_path: Path) -> None:
    assert as_heard(_script(tmp_path), tmp_path / "heard") is None


def test_a_line_without_its_two_parts_is_named(tmp_path: Path) -> None:
    (tmp_path / "heard").mkdir()
    (tmp_path / "heard" / "one.txt").write_text("Go. | go\nAnd again.\n", encoding="utf-8")
    with pytest.raises(ValueError, match=r"one\.txt, line 2"):
        as_heard(_script(tmp_path), tmp_path / "heard")


def test_what_ships_belongs_to_what_is_written() -> None:
    folder = shipped("training")
    for path in sorted((folder / "heard").glob("*.txt")):
        script = read_script(folder / "classes" / path.name)
        heard = as_heard(script, folder / "heard")
        assert heard is not None
        pairs = zip(script.items, heard.items, strict=True)
        said = [(one.text, other.text) for one, other in pairs if isinstance(one, Said) and isinstance(other, Said)]
        assert sum(one != other for one, other in said) > len(said) / 5
