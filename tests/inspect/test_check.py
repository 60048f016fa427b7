"""``segmenter check``: lesson folders, files made elsewhere, exit status."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from segmenter import programs
from segmenter.cli import main
from segmenter.errors import FolderError, TranscriptError
from segmenter.inspect.agreement import check_lesson
from segmenter.inspect.check import check_path
from segmenter.inspect.rules import Book
from segmenter.lesson import Caption, Lesson, to_json
from segmenter.programs import url
from segmenter.publish.base import publish
from segmenter.publish.caption_files import srt
from segmenter.publish.captions import compose
from segmenter.publish.video import embed
from tests.lessons import lesson_of, rich_lesson, spoken
from tests.media_files import make


def captioned(lesson: Lesson) -> Lesson:
    return lesson.model_copy(update={"captions": compose(lesson)[0]})


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    lesson = captioned(rich_lesson())
    publish(lesson, tmp_path)
    (tmp_path / "lesson.json").write_text(to_json(lesson), encoding="utf-8")
    embed(make(tmp_path / "in.m4a", 80), lesson, srt(lesson), tmp_path, "class")
    (tmp_path / "in.m4a").unlink()
    return tmp_path


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, ["check", *map(str, arguments)])


def rules(result: Result) -> set[str]:
    return {row["rule"] for row in json.loads(result.stdout)["broken"]}


def test_our_own_folder_has_no_fault(folder: Path) -> None:
    result = run("--faults", folder)
    assert result.exit_code == 0, result.output
    assert result.stdout == ""
    assert "0 broken rules" in result.stderr


def test_broken_rules_are_counted_by_rule(tmp_path: Path) -> None:
    cues = "".join(
        f"00:{at:02}.000 --> 00:{at:02}.200\n{text}\n\n" for at, text in ((1, "a <b> c"), (3, "d <b> e"))
    )
    (tmp_path / "made.vtt").write_text(f"WEBVTT\n\n{cues}", encoding="utf-8")
    result = run(tmp_path / "made.vtt")
    told = re.findall(r"^ +(\d+)  (\S+)$", result.stderr, re.MULTILINE)
    assert ("2", "tag") in told
    assert sum(int(times) for times, _ in told) == len(result.stdout.splitlines())


@pytest.mark.parametrize(
    ("file", "old", "new", "rule"),
    [
        ("captions.vtt", "Paris.", "Rome.", "differs"),
        ("captions.srt", "00:00:12,000", "00:00:12,200", "differs"),
        ("chapters.vtt", "Steady ah", "Shaky ah", "differs"),
        ("chapters.ffmeta", "START=10000", "START=11000", "differs"),
        ("chapters.json", "Steady ah", "Shaky ah", "differs"),
        ("chapters.txt", "0:10 ", "0:11 ", "differs"),
        ("upload.txt", "Voice & breath", "Voice and Paris", "spoiler"),
        ("captions.vtt", "Welcome", "A <b> Welcome", "tag"),
    ],
)
def test_what_was_changed_in_one_file_is_found(folder: Path, file: str, old: str, new: str, rule: str) -> None:
    path = folder / file
    text = path.read_text(encoding="utf-8")
    assert old in text
    path.write_text(text.replace(old, new, 1), encoding="utf-8", newline="\n")
    result = run("--json", folder)
    assert result.exit_code == 1
    assert rule in {row["rule"] for row in json.loads(result.stdout)["broken"] if row["file"] == str(path)}


def test_lost_words_and_early_answers_are_found() -> None:
    lesson = captioned(rich_lesson())
    without = lesson.model_copy(update={"captions": lesson.captions[1:]})
    early = Caption(start_ms=69_000, end_ms=70_000, text="It is Paris.")
    told = lesson.model_copy(update={"captions": (*lesson.captions, early)})
    for changed, rule in ((without, "words-lost"), (told, "spoiler")):
        book = Book(Path("lesson.json"))
        check_lesson(book, changed)
        assert rule in {finding.rule.code for finding in book.findings}
    hinted = told.model_copy(update={"words": (*lesson.words, *spoken("Paris", 69_100))})
    book = Book(Path("lesson.json"))
    check_lesson(book, hinted)
    assert "spoiler" not in {finding.rule.code for finding in book.findings}  # said aloud, it is no secret


@pytest.mark.parametrize(
    ("title", "exercise", "tells"),
    [("Paris and others", None, True), ("Paris and others", "cities-of-paris", False), ("Capitals", None, False)],
)
def test_a_title_tells_an_answer_unless_the_exercise_is_called_so(
    title: str, exercise: str | None, tells: bool
) -> None:
    lesson = captioned(rich_lesson())
    chapters = [
        chapter.model_copy(update={"title": title, "exercise": exercise}) if chapter.quiz else chapter
        for chapter in lesson.chapters
    ]
    book = Book(Path("lesson.json"))
    check_lesson(book, lesson.model_copy(update={"chapters": tuple(chapters)}))
    assert ("spoiler" in {finding.rule.code for finding in book.findings}) is tells


def test_a_late_caption_is_found() -> None:
    lesson = captioned(rich_lesson())
    first = lesson.captions[0].model_copy(update={"start_ms": 900})
    book = Book(Path("lesson.json"))
    check_lesson(book, lesson.model_copy(update={"captions": (first, *lesson.captions[1:])}))
    assert [(f.rule.code, f.at_ms) for f in book.findings] == [("late", 900)]


def test_a_file_made_elsewhere(tmp_path: Path) -> None:
    file = tmp_path / "talk.vtt"
    file.write_text("WEBVTT\nKind: captions\n\n00:01.000 --> 00:02.000\nR&D, and we go\n", encoding="utf-8")
    result = run("--json", file)
    assert result.exit_code == 1
    assert rules(result) == {"header-lines", "character", "short", "speed"}
    row = json.loads(result.stdout)["broken"][1]
    assert set(row) == {"file", "line", "time", "rule", "level", "message", "source"}
    text = run(file).stdout.splitlines()
    assert text[0].startswith(f"{file}:2: fault header-lines: ")
    assert run("--faults", file).stdout.count("\n") == 2


def test_a_fast_cue_is_told_with_what_it_needs(tmp_path: Path) -> None:
    # DCMP, presentation rate: words over time on screen; 6 words at 180 a minute take 2 seconds.
    cue = "{}\n00:00:{} --> 00:00:{}\nplease breathe in and out now\n"
    file = tmp_path / "talk.srt"
    file.write_text(
        "\n".join(cue.format(n, *t) for n, t in enumerate((("01,000", "02,500"), ("02,500", "04,000")), 1))
    )
    first, last = (finding for finding in check_path(file)[1] if finding.rule.code == "speed")
    assert (
        first.message
        == "240 words a minute, 180 at most: 6 words in 1.5 s, 2.0 needed, but the next cue comes first"
    )
    assert last.message == (
        "240 words a minute, 180 at most: 6 words in 1.5 s, 2.0 needed, and there is room to let it stay"
    )


def test_chapters_inside_a_recording(tmp_path: Path) -> None:
    plain = make(tmp_path / "plain.mp4", 2)
    files, findings = check_path(plain)
    assert (files, findings) == ([plain], [])


QUICK = "1\n00:00:00,100 --> 00:00:01,000\n<i>Far too many words to read here</i>\n"


@pytest.mark.parametrize("suffix", [".mp4", ".mkv", ".webm"])
def test_captions_inside_a_recording_made_elsewhere(suffix: str, tmp_path: Path) -> None:
    # Two such tracks, one without a language.
    plain = make(tmp_path / f"plain{suffix}", 2)
    (tmp_path / "quick.srt").write_text(QUICK, encoding="utf-8")
    film, codec = tmp_path / f"film{suffix}", {".mp4": "mov_text", ".mkv": "srt", ".webm": "webvtt"}[suffix]
    text = ["-i", url(tmp_path / "quick.srt")]
    maps = ["-map", "0", "-map", "1", "-map", "2", "-c", "copy", "-c:s", codec, "-metadata:s:s:0", "language=eng"]
    programs.run(["-i", url(plain), *text, *text, *maps, "-y", url(film)], plain)
    found = [(finding.rule.code, finding.at_ms) for finding in check_path(film)[1]]
    assert found == [("track-language", None), *[("speed", 100), ("short", 100)] * 2]


def test_captions_inside_our_own_copy_are_those_of_the_lesson(folder: Path) -> None:
    lesson = captioned(rich_lesson())
    named = lesson.recording.model_copy(update={"path": "class.m4a"})
    for captions, wanted in ((lesson.captions, set()), (lesson.captions[:-1], {"differs", "words-lost"})):
        changed = lesson.model_copy(update={"recording": named, "captions": captions})
        (folder / "lesson.json").write_text(to_json(changed), encoding="utf-8")
        found = {(f.file.name, f.rule.code) for f in check_path(folder)[1] if f.rule.level == "fault"}
        assert {rule for name, rule in found if name in {"class.m4a", "lesson.json"}} == wanted


def test_what_is_hard_to_read_is_told_once_in_a_lesson_folder(tmp_path: Path) -> None:
    lesson = captioned(lesson_of(spoken("Now lift both arms up high and hold them there. " * 4, 0, each_ms=180)))
    publish(lesson, tmp_path)
    alone = [finding.rule.code for finding in check_path(tmp_path / "captions.srt")[1]]
    assert "speed" in alone
    (tmp_path / "lesson.json").write_text(to_json(lesson), encoding="utf-8")
    found = [(f.file.name, f.rule.code) for f in check_path(tmp_path)[1]]
    # A class of one chapter has a short list; that is nobody's fault.
    assert found == [*(("captions.vtt", code) for code in alone), ("chapters.txt", "list-few")]


def test_a_broken_file_does_not_hide_the_others(folder: Path) -> None:
    (folder / "film.mp4").write_bytes(b"not a film")
    (folder / "lesson.json").write_text("{", encoding="utf-8")
    (folder / "talk.srt").write_text("1\n00:00:01.000 --> 00:00:03.000\nGood.\n", encoding="utf-8")
    result = run("--json", "--faults", folder)
    assert result.exit_code == 1
    found = [(Path(row["file"]).name, row["rule"]) for row in json.loads(result.stdout)["broken"]]
    assert found == [("film.mp4", "unreadable"), ("lesson.json", "unreadable"), ("talk.srt", "srt-times")]


def test_a_file_of_any_name_is_checked_when_it_is_named(tmp_path: Path) -> None:
    times = tmp_path / "times.txt"
    times.write_text("0:00 One\n0:12 Two\n0:15 Three\n", encoding="utf-8")
    episode = tmp_path / "episode.json"
    episode.write_text('{"version": "1.2.0", "chapters": [{"startTime": "0:00"}]}', encoding="utf-8")
    assert [f.rule.code for f in check_path(times)[1]] == ["list-short"]
    assert [f.rule.code for f in check_path(episode)[1]] == ["json-times"]
    with pytest.raises(FolderError):  # in a folder they may be anything
        check_path(tmp_path)


def test_the_list_inside_an_upload_text(tmp_path: Path) -> None:
    file = tmp_path / "upload.txt"
    file.write_text("My class\n\nTimes\n0:05 One\n0:30 Two\n0:35 Three\n\nTake care\n", encoding="utf-8")
    assert [(f.rule.code, f.line) for f in check_path(file)[1]] == [("list-start", 4), ("list-short", 5)]


def test_what_cannot_be_checked_is_one_plain_line(tmp_path: Path) -> None:
    with pytest.raises(TranscriptError, match="no such file"):
        check_path(tmp_path / "none.vtt")
    with pytest.raises(FolderError, match="nothing in this folder"):
        check_path(tmp_path)
    other = tmp_path / "letter.docx"
    other.write_bytes(b"x")
    with pytest.raises(TranscriptError, match="no file with captions"):
        check_path(other)
    result = run(other)
    assert result.exit_code == 1
    assert result.stderr.startswith("Error: ")
    broken = tmp_path / "film.mp4"
    broken.write_bytes(b"not a film")
    assert run(broken).stderr.startswith("Error: ")
