"""A new lesson out of others: the right chapters, everything moved alike, sources untouched."""

from __future__ import annotations

import hashlib
from pathlib import Path

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.errors import FolderError, SegmenterError, SettingError
from segmenter.lesson import Chapter, Lesson, Recording, Video, lesson_from_json, to_json
from segmenter.library.compose import compose, lesson_of
from segmenter.library.moving import moved
from segmenter.library.pieces import lay_out, take
from tests.lessons import rich_lesson
from tests.library.shelf import a_class, put
from tests.media_files import make
from tests.publish.follow.reading import sound


def content(folder: Path) -> dict[str, str]:
    files = (path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def test_chapters_lie_end_to_end_with_their_words_and_credits(tmp_path: Path) -> None:
    first = put(tmp_path / "2026-01-05", a_class("January", ["chin-tuck", "siren"]))
    second = put(tmp_path / "2026-04-01", a_class("April", ["single-leg-stance", "chin-tuck"], reps=8))
    before = content(first), content(second)
    made = compose("Monday set", [take(first, "2"), take(second, "2, 1")], tmp_path / "monday")
    lesson = lesson_from_json((tmp_path / "monday" / "lesson.json").read_bytes())
    assert [(c.title, c.start_ms, c.end_ms, c.credit) for c in lesson.chapters] == [
        ("Siren", 0, 20_000, "“January”, 2026-01-05"),
        ("Chin tuck", 20_000, 40_000, "“April”, 2026-04-01"),
        ("Single leg stance", 40_000, 60_000, "“April”, 2026-04-01"),
    ]
    assert [c.asked[0].reps for c in lesson.chapters] == [(5, 5), (8, 8), (8, 8)]
    assert [(w.text, w.start_ms) for w in lesson.words_in(20_000, 40_000)][:2] == [
        ("Tuck", 20_500),
        ("your", 20_850),
    ]
    assert {"index.html", "handout.pdf", "sheet.xlsx", "captions.vtt"} <= set(content(tmp_path / "monday"))
    assert len(made.pieces) == 3
    assert (content(first), content(second)) == before, "the sources are only read"
    for name in ("upload.txt", "transcript.html"):
        assert "2026-04-01" in (tmp_path / "monday" / name).read_text(encoding="utf-8"), name


def test_every_time_of_a_chapter_moves_alike(tmp_path: Path) -> None:
    rich = rich_lesson()
    source, chapters = take(put(tmp_path / "rich", rich), "3,2")
    lesson = lesson_of("New", lay_out([(source, chapters)]))
    quiz, ah = lesson.chapters
    before = rich.chapters[1]
    assert quiz.quiz[0].clue.start_ms == 68_600 - 65_000
    assert [h.span for h in ah.shown.holds] == [
        (s + 5_000, e + 5_000) for s, e in (h.span for h in before.shown.holds)
    ]
    assert (ah.practice[0].at_ms, ah.practice[0].resume_ms) == (65_000, 65_500)
    assert [c.start_ms for c in ah.cautions] == [17_000, None]
    assert (ah.practice[0].asked or ah.asked[0]).start_ms == 25_000
    (check,) = lesson.checks
    assert (check.code, check.start_ms) == ("bad", 67_250), "notes stay behind, what is open comes along"


@given(by=st.integers(-30_000, 90_000), start=st.integers(0, 50_000), long=st.integers(1, 90_000))
def test_nothing_leaves_its_stretch(by: int, start: int, long: int) -> None:
    within = (start, start + long)
    chapter = moved(rich_lesson().chapters[1], by, within)
    times = [chapter.span, *(p.span for p in chapter.parts), *(h.span for h in chapter.shown.holds)]
    assert all(within[0] <= a <= b <= within[1] for a, b in times)
    assert moved(rich_lesson().chapters[1], 0, (0, 10**9)) == rich_lesson().chapters[1]


def test_what_is_hidden_or_not_there_is_refused(tmp_path: Path) -> None:
    lesson = a_class("A", ["chin-tuck", "siren"])
    hidden = lesson.chapters[1].model_copy(update={"hidden": True})
    folder = put(tmp_path / "a", lesson.model_copy(update={"chapters": (lesson.chapters[0], hidden)}))
    assert [chapter.title for chapter in take(folder)[1]] == ["Chin tuck"]
    for wanted, told in (("2", "hidden"), ("3", "1 to 2"), ("0", "1 to 2"), ("x", "1 to 2"), ("1-2", "1 to 2")):
        with pytest.raises(SettingError, match=told):
            take(folder, wanted)
    with pytest.raises(FolderError, match="no finished lesson"):
        take(tmp_path)
    with pytest.raises(SettingError, match="of itself"):
        compose("A", [take(folder)], folder)


def test_lessons_of_two_languages_are_refused(tmp_path: Path) -> None:
    german = a_class("B", ["siren"]).model_copy(update={"language": "de"})
    both = [take(put(tmp_path / "a", a_class("A", ["siren"]))), take(put(tmp_path / "b", german))]
    with pytest.raises(SettingError, match="different languages"):
        compose("A", both, tmp_path / "new")


def recorded(folder: Path, name: str, hertz: int, seconds: int, picture: Video | None) -> Path:
    """A lesson with a recording that hums a note of its own: two chapters of half its length."""
    folder.mkdir()
    make(folder / name, seconds, f"sine={hertz}:r=48000")
    half = seconds * 500
    chapters = tuple(
        Chapter(id=f"c{n}", title=f"{name} {n}", kind="exercise", start_ms=n * half, end_ms=(n + 1) * half)
        for n in range(2)
    )
    recording = Recording(path=name, sha256=None, seconds=seconds, video=picture)
    lesson: Lesson = a_class(name, []).model_copy(update={"recording": recording, "chapters": chapters})
    (folder / "lesson.json").write_text(to_json(lesson), encoding="utf-8")
    return folder


def test_one_recording_of_pieces_with_and_without_a_picture(tmp_path: Path) -> None:
    film = recorded(tmp_path / "film", "film.mp4", 500, 6, Video(width=64, height=48, fps=10.0))
    voice = recorded(tmp_path / "voice", "voice.m4a", 900, 5, None)
    folder = tmp_path / "new"
    chosen = [take(voice, "2"), take(film, "2"), take(voice, "1")]
    compose("One: two / three", chosen, folder, video=True)
    lesson = lesson_from_json((folder / "lesson.json").read_bytes())
    assert lesson.recording.path == "one-two-three.mp4"
    assert (folder / "one-two-three.mp4").is_file()
    assert not list((folder / ".work").rglob("*.mp4")), "what was in between is gone"
    whole, rate = sound(folder / "one-two-three.mp4")
    for chapter, hertz in zip(lesson.chapters, (900, 500, 900), strict=True):
        inner = whole[(chapter.start_ms + 150) * rate // 1000 : (chapter.end_ms - 150) * rate // 1000]
        loudest = np.fft.rfftfreq(len(inner), 1 / rate)[np.abs(np.fft.rfft(inner)).argmax()]
        assert loudest == pytest.approx(hertz, abs=5), chapter.title
    with av.open(str(folder / "one-two-three.mp4")) as media:
        starts = [round(float(row["start"] * (row["time_base"] or 0)) * 1000) for row in media.chapters()]
        assert media.duration == pytest.approx(lesson.duration_ms * 1000, abs=60_000)
    assert starts == [chapter.start_ms for chapter in lesson.chapters]

    compose("One: two / three", chosen[:2], folder, video=True)
    again = lesson_from_json((folder / "lesson.json").read_bytes())
    assert [c.title for c in again.chapters] == ["voice.m4a 1", "film.mp4 1"], "composed anew in the same folder"


def test_a_lesson_without_its_recording_gives_no_video(tmp_path: Path) -> None:
    folder = put(tmp_path / "a", a_class("A", ["chin-tuck"]))
    with pytest.raises(SegmenterError, match="no recording"):
        compose("New", [take(folder)], tmp_path / "new", video=True)
    assert not (tmp_path / "new").exists()
