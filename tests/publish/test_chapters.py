"""Chapters, against webvtt-py, ffmpeg and the podcast JSON fields."""

from __future__ import annotations

import html
import json
import subprocess
import tempfile
from pathlib import Path

import av
import imageio_ffmpeg
import webvtt
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.inspect.chapter_files import read_ffmetadata, read_podcast_json, read_time_list
from segmenter.inspect.rules import Book
from segmenter.inspect.webvtt import read_webvtt
from segmenter.lesson import Chapter
from segmenter.publish.chapters import (
    chapter_title,
    ffmetadata,
    listed,
    plain_list,
    podcast_json,
    vtt,
)
from tests.lessons import AWKWARD, bare, rich_lesson, titled

titles = st.lists(st.text(st.characters(codec="utf-8"), max_size=40), min_size=1, max_size=6)


def test_ffmpeg_and_pyav_read_back_every_chapter(tmp_path: Path) -> None:
    # FFmpeg manual, "Metadata": the file is read by ffmpeg and muxed; PyAV reads the result.
    lesson = titled(AWKWARD)
    source, made = tmp_path / "chapters.ffmeta", tmp_path / "out.mkv"
    source.write_bytes(ffmetadata(lesson).encode())
    command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-f", "lavfi", "-i", "anullsrc=r=8000:cl=mono"]
    command += ["-i", str(source), "-map_metadata", "1", "-map_chapters", "1"]
    command += ["-t", str(lesson.recording.seconds), "-c:a", "pcm_u8", str(made)]
    subprocess.run(command, check=True)
    with av.open(str(made)) as container:
        read = container.chapters()
        found = [
            (
                round(c["start"] * (c["time_base"] or 0) * 1000),
                round(c["end"] * (c["time_base"] or 0) * 1000),
                c["metadata"]["title"],
            )
            for c in read
        ]
    assert found == [(c.start_ms, c.end_ms, chapter_title(c)) for c in lesson.chapters]


@settings(max_examples=80)
@given(titles)
def test_any_title_survives_metadata_escaping(texts: list[str]) -> None:
    lesson = titled(texts)
    read = []
    for line in ffmetadata(lesson).split("\n"):
        assert line == "" or line[0] not in "#;" or line == ";FFMETADATA1"
        if line.startswith("title="):
            value, at = "", len("title=")
            while at < len(line):
                at += line[at] == "\\"
                value += line[at]
                at += 1
            read.append(value)
    assert read[1:] == [chapter_title(c) for c in lesson.chapters]


@settings(max_examples=25)
@given(titles)
def test_ffmpeg_reads_any_title(texts: list[str]) -> None:
    # FFmpeg itself reads the file and writes what it understood.
    lesson = titled(texts)
    with tempfile.TemporaryDirectory() as folder:
        source = Path(folder, "chapters.ffmeta")
        source.write_bytes(ffmetadata(lesson).encode())
        command = [imageio_ffmpeg.get_ffmpeg_exe(), "-v", "error", "-f", "ffmetadata", "-i", str(source)]
        done = subprocess.run([*command, "-f", "ffmetadata", "-"], check=True, capture_output=True)
    book = Book(Path("read"))
    found = read_ffmetadata(book, done.stdout)
    assert [(c.start_ms, c.end_ms, c.text) for c in found] == [
        (c.start_ms, c.end_ms, chapter_title(c)) for c in lesson.chapters
    ]


@settings(max_examples=80)
@given(titles)
def test_our_reader_finds_every_title_in_every_form(texts: list[str]) -> None:
    lesson = titled([*texts, *AWKWARD])
    wanted = [(c.start_ms, c.end_ms, chapter_title(c)) for c in lesson.chapters]
    book = Book(Path("chapters"))
    for found in (
        read_webvtt(book, vtt(lesson).encode()).cues,
        read_ffmetadata(book, ffmetadata(lesson).encode()),
        read_podcast_json(book, podcast_json(lesson).encode()),
    ):
        assert [(c.start_ms, c.end_ms, c.text) for c in found] == wanted
    listing = read_time_list(book, plain_list(lesson).encode())
    assert [(c.start_ms, c.text) for c in listing] == [(start, title) for start, _, title in wanted]
    assert book.findings == []


@settings(max_examples=80)
@given(titles)
def test_any_title_survives_webvtt(texts: list[str]) -> None:
    # W3C WebVTT, "chapter title text": text and character references on one line.
    lesson = titled(texts)
    cues = list(webvtt.from_string(vtt(lesson)).captions)
    assert [html.unescape(c.raw_text) for c in cues] == [chapter_title(c) for c in lesson.chapters]
    assert all("<" not in c.raw_text and ">" not in c.raw_text for c in cues)


def test_json_holds_the_published_fields() -> None:
    # Podcast namespace, JSON chapters 1.2: string version, ascending float startTime.
    lesson = rich_lesson()
    data = json.loads(podcast_json(lesson))
    assert data["version"] == "1.2.0"
    assert [c["startTime"] for c in data["chapters"]] == [0, 10, 65]
    assert [c["title"] for c in data["chapters"]] == ["Hello", "Steady ah", "Capitals"]


def test_short_chapters_join_the_one_before() -> None:
    ends = (4_000, 30_000, 35_000, 60_000)
    chapters = []
    at = 0
    for n, end in enumerate(ends):
        chapters.append(Chapter(id=str(n), title=f"Part {n}", kind="talk", start_ms=at, end_ms=end))
        at = end
    lesson = bare(tuple(chapters), seconds=60)
    assert plain_list(lesson) == "0:00 Part 1\n0:35 Part 3\n"


def test_the_list_starts_at_zero_and_rises() -> None:
    entries = listed(titled(AWKWARD))
    assert entries[0][0] == 0
    assert [start for start, _ in entries] == sorted({start for start, _ in entries})
    assert len(plain_list(titled(AWKWARD)).splitlines()) == len(AWKWARD)
