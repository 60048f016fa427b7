"""The data model: what is read is what was written, and broken lessons are refused."""

import json

import jsonschema
import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.errors import LessonError
from segmenter.lesson import (
    Ask,
    Chapter,
    Lesson,
    MadeBy,
    Recording,
    Word,
    json_schema,
    lesson_from_json,
    to_json,
)
from segmenter.times import clock, ms_from_clock, ms_from_seconds, stamp


def lesson(*ends: int, **more: object) -> Lesson:
    starts = (0, *ends[:-1])
    chapters = tuple(
        Chapter(id=f"c{i}", title=f"Part {i}", kind="talk", start_ms=start, end_ms=end)
        for i, (start, end) in enumerate(zip(starts, ends, strict=True), 1)
    )
    seconds = ends[-1] / 1000
    return Lesson(
        title="A class",
        language="en",
        recording=Recording(path="class.mp4", sha256=None, seconds=seconds),
        chapters=chapters,
        made_by=MadeBy(segmenter="test", speech_model=None),
        **more,  # type: ignore[arg-type]
    )


@given(st.lists(st.integers(1, 36_000_000), min_size=1, max_size=12, unique=True))
def test_reads_back_what_it_wrote(ends: list[int]) -> None:
    made = lesson(*sorted(ends))
    assert lesson_from_json(to_json(made)) == made


def test_json_keeps_to_the_published_schema() -> None:
    ask = Ask(
        start_ms=100, end_ms=900, where="class", reps=(5, None), hold_s=(2.5, 3.0), pattern=(4, None, 6, None)
    )
    made = lesson(1000, words=(Word(text="ah", start_ms=0, end_ms=400),))
    made = made.model_copy(update={"chapters": (made.chapters[0].model_copy(update={"asked": (ask,)}),)})
    data = json.loads(to_json(made))
    jsonschema.Draft202012Validator(json.loads(json_schema())).validate(data)
    assert data["schema"] == "lesson/1"
    assert data["chapters"][0]["asked"][0]["reps"] == [5, None]
    assert data["words"][0]["end"] == 0.4


def test_unknown_fields_of_later_versions_are_passed_over() -> None:
    data = json.loads(to_json(lesson(1000)))
    data["chapters"][0]["mood"] = "cheerful"
    assert lesson_from_json(json.dumps(data)) == lesson(1000)


@pytest.mark.parametrize(
    ("path", "value", "message"),
    [
        (("chapters", 0, "end"), 0.9, "starts at"),
        (("chapters", 1, "end"), 1.9, "last chapter"),
        (("chapters", 1, "id"), "c1", "same id"),
        (("chapters", 0, "kind"), "sermon", "kind"),
        (("schema",), "lesson/9", "schema"),
    ],
)
def test_broken_lessons_are_refused(path: tuple[str | int, ...], value: object, message: str) -> None:
    data = json.loads(to_json(lesson(1000, 2000)))
    inner = data
    for step in path[:-1]:
        inner = inner[step]
    inner[path[-1]] = value
    with pytest.raises(LessonError, match=message):
        lesson_from_json(json.dumps(data), "lesson.json")


@pytest.mark.parametrize("reps", [(None, None), (6, 5), (-1, 2)])
def test_ranges_have_an_end_and_run_upwards(reps: tuple[int | None, int | None]) -> None:
    with pytest.raises(ValueError, match=r"range|greater"):
        Ask(start_ms=0, end_ms=1, where="home", reps=reps)


@given(st.integers(0, 360_000_000))
def test_time_stamps_read_back(ms: int) -> None:
    assert ms_from_clock(stamp(ms)) == ms
    assert ms_from_clock(stamp(ms, ",")) == ms
    assert ms_from_clock(clock(ms)) == ms // 1000 * 1000
    assert ms_from_seconds(ms / 1000) == ms
