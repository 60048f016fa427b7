"""A plan is read from three kinds of file, hints at exercises, and is compared with what was found."""

from pathlib import Path

import pytest

from segmenter.errors import PlanError
from segmenter.heard import Heard
from segmenter.lesson import Chapter, Recording, Word
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.plan import BONUS, Plan, plan_checks, plan_support, read_plan
from segmenter.understand.timeline import understand

TEXT = """# Tuesday

Lip trills, 5 times
2. Masako: 3 sets of 5
[ ] effortful swallow (10)
kitchen sink stretch
"""
MARKDOWN = """# Tuesday

- [x] Lip trills - 5 times
- Masako — 3 sets of 5
* effortful swallow x 10
1. kitchen sink stretch
"""
TABLE = "Exercise,Dose\nLip trills,5 times\nMasako,3 sets of 5\neffortful swallow,10\nkitchen sink stretch,\n"


def plan_of(folder: Path, name: str, text: str) -> Plan:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return read_plan(path, load_catalogue())


@pytest.mark.parametrize(
    ("name", "text"),
    [("plan.txt", TEXT), ("plan.md", MARKDOWN), ("plan.csv", TABLE), ("plan.csv", TABLE.replace(",", ";"))],
)
def test_three_kinds_of_file_say_the_same(tmp_path: Path, name: str, text: str) -> None:
    plan = plan_of(tmp_path, name, text)
    assert plan.exercises == ("lip-trill", "tongue-hold-swallow", "effortful-swallow")
    assert [item.title for item in plan.items][-1] == "kitchen sink stretch"
    assert [item.dose for item in plan.items][:2] == ["5 times", "3 sets of 5"]
    assert "10" in (plan.items[2].dose or "")
    assert plan.items[3].exercise is None
    assert plan.items[3].dose is None


def test_a_comma_inside_a_name_is_no_dose(tmp_path: Path) -> None:
    (item,) = plan_of(tmp_path, "plan.txt", "Kiss, smile, kiss, smile\n").items
    assert (item.title, item.dose, item.exercise) == ("Kiss, smile, kiss, smile", None, "pucker-and-smile")


def test_slips_of_spelling_are_mended(tmp_path: Path) -> None:
    assert plan_of(tmp_path, "plan.txt", "Mesako\neffortfull swallow\n").exercises == (
        "tongue-hold-swallow",
        "effortful-swallow",
    )


def test_all_bad_lines_are_named_at_once(tmp_path: Path) -> None:
    with pytest.raises(PlanError) as caught:
        plan_of(tmp_path, "plan.txt", f"Lip trills\n12345\n{'we ' * 60}\n?!\n")
    assert all(f"line {number}:" in str(caught.value) for number in (2, 3, 4))
    assert "line 1:" not in str(caught.value)
    with pytest.raises(PlanError, match="line 3: the name of the exercise is missing"):
        plan_of(tmp_path, "plan.csv", "Exercise,Dose\nLip trills,5\n,10\n")


@pytest.mark.parametrize("text", ["", "# Tuesday\n\n---\n"])
def test_an_empty_plan_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(PlanError, match="names no exercise"):
        plan_of(tmp_path, "plan.md", text)


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "plan.txt"
    path.write_bytes(b"\xff\xfe\x00plan")
    with pytest.raises(PlanError, match="cannot be read"):
        read_plan(path, load_catalogue())


def test_the_bonus_is_small_and_only_for_what_is_planned(tmp_path: Path) -> None:
    support = plan_support(plan_of(tmp_path, "plan.txt", "Lip trills\ntongue press thing\n"), load_catalogue())
    assert support["lip-trill"] == BONUS
    assert "sit-to-stand" not in support
    assert max(support.values()) < 0.5  # never as much as one good mention


def chapter(number: int, exercise: str | None, title: str) -> Chapter:
    return Chapter(
        id=f"c{number}",
        title=title,
        kind="exercise",
        exercise=exercise,
        start_ms=number * 1000,
        end_ms=number * 1000 + 1000,
    )


def test_differences_between_plan_and_class_become_notes(tmp_path: Path) -> None:
    plan = plan_of(tmp_path, "plan.txt", "Lip trills\nMasako\nkitchen sink stretch\nmystery wiggle\n")
    chapters = [chapter(0, "lip-trill", "Lip trill"), chapter(1, "sit-to-stand", "Sit to stand")]
    words = [Word(text=text, start_ms=0, end_ms=1) for text in ["now", "the", "kitchen", "sink", "stretches"]]
    checks = plan_checks(plan, chapters, words)
    assert [(check.code, check.level) for check in checks] == [
        ("planned-not-found", "note"),
        ("planned-not-found", "note"),
        ("found-not-planned", "note"),
    ]
    assert "Masako" in checks[0].message
    assert "line 2" in checks[0].message
    assert "mystery wiggle" in checks[1].message
    assert (checks[2].start_ms, checks[2].end_ms) == (1000, 2000)


def test_understanding_repairs_words_first_and_reports_the_plan(tmp_path: Path) -> None:
    text = (
        "Next is the effort for swallow. Swallow as hard as you can, five times. Swallow. And again. "
        "Put your tongue away and rest."
    )
    words = tuple(Word(text=word, start_ms=at * 500, end_ms=at * 500 + 400) for at, word in enumerate(text.split()))
    end = words[-1].end_ms + 1000
    heard = Heard(
        start_ms=0,
        end_ms=end,
        recording=Recording(path=None, sha256=None, seconds=end / 1000),
        language="en",
        speech_model=None,
        words=words,
    )
    plan = plan_of(tmp_path, "plan.txt", "effortful swallow\nlip trills\n")
    understood = understand(heard, load_catalogue(), plan)
    assert ("effortful", "effort for") in {(word.text, word.heard) for word in understood.words}
    codes = {check.code: check.message for check in understood.checks}
    assert "effortful" in codes["word-repaired"]
    assert "lip trills" in codes["planned-not-found"]
    assert "effortful-swallow" in {chapter.exercise for chapter in understood.chapters}
