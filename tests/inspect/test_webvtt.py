"""Reading and judging WebVTT (W3C WebVTT), on the points of the public suite web-platform-tests."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.inspect.rules import Book
from segmenter.inspect.webvtt import read_webvtt
from segmenter.lesson import Caption
from segmenter.publish.caption_files import caption_lines, vtt
from tests.inspect.vtt_cases import CASES, Case
from tests.lessons import lesson_of


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_the_right_cues_survive_and_every_fault_is_named(case: Case) -> None:
    book = Book(Path("x.vtt"))
    track = read_webvtt(book, case.text.encode())
    assert tuple((c.start_ms, c.end_ms, c.text) for c in track.cues) == case.cues
    assert sorted(f.rule.code for f in book.findings) == sorted(case.broken)
    assert all(f.line is not None and f.rule.source for f in book.findings)


def test_faults_carry_line_and_time() -> None:
    book = Book(Path("x.vtt"))
    read_webvtt(book, b"WEBVTT\n\n00:01.000 --> 00:02.000\nhello & goodbye\n\n00:03.000 --> 00:02.500\nx\n")
    assert [(f.line, f.at_ms, f.rule.code) for f in book.findings] == [
        (4, 1_000, "character"),
        (6, 3_000, "times-end"),
    ]
    assert book.findings[1].text() == (
        "x.vtt:6: 00:00:03.000 fault times-end: the cue ends before or as it starts "
        "[W3C WebVTT, cue timings (the end comes after the start)]"
    )


def test_bytes_that_are_no_utf8_are_told_with_their_line() -> None:
    book = Book(Path("x.vtt"))
    track = read_webvtt(book, b"WEBVTT\n\n00:01.000 --> 00:02.000\nh\xe9llo\n")
    assert [(f.line, f.rule.code) for f in book.findings] == [(4, "encoding")]
    assert track.cues[0].text == "h\ufffdllo"


@settings(max_examples=100)
@given(st.lists(st.text(st.characters(codec="utf-8"), max_size=60), max_size=5))
def test_our_own_files_break_no_rule(texts: list[str]) -> None:
    made = tuple(Caption(start_ms=n * 2_000, end_ms=n * 2_000 + 1_500, text=t) for n, t in enumerate(texts))
    lesson = lesson_of((), seconds=20).model_copy(update={"captions": made})
    book = Book(Path("x.vtt"))
    track = read_webvtt(book, vtt(lesson).encode())
    assert book.findings == []
    assert [c.text for c in track.cues] == [text for c in made if (text := caption_lines(c))]
    assert (track.kind, track.language) == ("captions", "en")


@settings(max_examples=150)
@given(st.binary(max_size=200), st.sampled_from([b"", b"WEBVTT\n\n", b"WEBVTT\n\n00:01.000 --> 00:02.000\n"]))
def test_no_bytes_stop_it(data: bytes, head: bytes) -> None:
    book = Book(Path("x.vtt"))
    read_webvtt(book, head + data)
