"""SRT, chapter files and guidelines: each rule has a file that breaks it and one that keeps it."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.inspect import chapter_files
from segmenter.inspect.reading import check_reading
from segmenter.inspect.rules import RULES, Book, Cue
from segmenter.inspect.srt import read_srt
from segmenter.inspect.webvtt import read_webvtt

SRT = "1\n00:00:01,000 --> 00:00:02,500\nOne <i>two</i>\n\n2\n00:00:03,000 --> 00:00:04,500\nthree\n"


def codes(book: Book) -> list[str]:
    return [finding.rule.code for finding in book.findings]


def test_a_good_srt_breaks_no_rule() -> None:
    book = Book(Path("x.srt"))
    cues = read_srt(book, SRT.encode())
    assert [(c.start_ms, c.end_ms, c.text) for c in cues] == [(1_000, 2_500, "One two"), (3_000, 4_500, "three")]
    assert codes(book) == []
    assert read_srt(book, b"") == ()
    assert codes(book) == []


@pytest.mark.parametrize(
    ("change", "rule", "line"),
    [
        (("2\n00:00:03", "5\n00:00:03"), "srt-number", 5),
        (("1\n00:00:01", "00:00:01"), "srt-number", 1),
        (("01,000", "01.000"), "srt-times", 2),
        (("00:00:04,500", "00:00:02,900"), "times-end", 6),
        (("00:00:03,000", "00:00:00,500"), "times-order", 6),
        (("three", "one --> two"), "arrow", 7),
        (("\nthree", "\n"), "empty", 6),
        (("One", "One\n\nlost"), "srt-text", 4),
    ],
)
def test_every_srt_fault_is_named_with_its_line(change: tuple[str, str], rule: str, line: int) -> None:
    book = Book(Path("x.srt"))
    read_srt(book, SRT.replace(*change).encode())
    assert (rule, line) in [(f.rule.code, f.line) for f in book.findings]


def test_text_that_is_no_srt_is_told() -> None:
    book = Book(Path("x.srt"))
    read_srt(book, b"just words\n")
    assert codes(book) == ["srt-times"]


META = ";FFMETADATA1\ntitle=A class\n\n[CHAPTER]\nTIMEBASE=1/1000\nSTART=0\nEND=5000\ntitle=One \\= \\#1\n"


def test_good_metadata_breaks_no_rule() -> None:
    book = Book(Path("x.ffmeta"))
    assert [(c.start_ms, c.end_ms, c.text) for c in chapter_files.read_ffmetadata(book, META.encode())] == [
        (0, 5_000, "One = #1")
    ]
    assert codes(book) == []


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        ((";FFMETADATA1", "; metadata"), "meta-head"),
        (("TIMEBASE=1/1000\n", ""), "meta-times"),
        (("START=0\nEND=5000", "START=zero\nEND=5000"), "meta-times"),
        (("TIMEBASE=1/1000\nSTART=0", "START=0\nTIMEBASE=1/1000"), "meta-times"),
        (("END=5000", "END=0"), "chapter-times"),
        (("title=One \\= \\#1", "title="), "chapter-untitled"),
        (("title=A class", "no equals sign"), "meta-line"),
    ],
)
def test_every_fault_of_metadata_is_named(change: tuple[str, str], rule: str) -> None:
    book = Book(Path("x.ffmeta"))
    chapter_files.read_ffmetadata(book, META.replace(*change).encode())
    assert rule in codes(book)


@pytest.mark.parametrize(
    ("text", "rules"),
    [
        ('{"version": "1.2.0", "chapters": [{"startTime": 0}, {"startTime": 2.5, "title": "x"}]}', []),
        ('{"version": 1.2, "chapters": []}', ["json-form"]),
        ('{"version": "1.2.0"}', ["json-form"]),
        ("[1,", ["json-form"]),
        ('{"version": "1.2.0", "chapters": [{"startTime": "0:00"}]}', ["json-times"]),
        ('{"version": "1.2.0", "chapters": [{"startTime": 5}, {"startTime": 4}]}', ["json-times"]),
        ('{"version": "1.2.0", "chapters": [{"startTime": 5, "endTime": 5}]}', ["json-times"]),
    ],
)
def test_podcast_json(text: str, rules: list[str]) -> None:
    book = Book(Path("chapters.json"))
    chapter_files.read_podcast_json(book, text.encode())
    assert codes(book) == rules


@pytest.mark.parametrize(
    ("text", "rules"),
    [
        ("0:00 One\n0:12 Two\n1:02:03 Three\n", []),
        ("0:05 One\n0:30 Two\n0:50 Three\n", ["list-start"]),
        ("0:00 One\n0:12 Two\n", ["list-few"]),
        ("0:00 One\n0:12 Two\n0:12 Three\n", ["list-order"]),
        ("0:00 One\n0:12 Two\n0:15 Three\n", ["list-short"]),
        ("0:00 One\nTwo\n0:12 Two\n0:25 Three\n", ["list-form"]),
    ],
)
def test_time_lists(text: str, rules: list[str]) -> None:
    book = Book(Path("chapters.txt"))
    chapter_files.read_time_list(book, text.encode())
    assert codes(book) == rules


@pytest.mark.parametrize(
    ("spans", "rules"),
    [
        (((0, 10), (10, 20)), []),
        (((0, 10), (12, 20)), []),  # apart, as in the example of the standard
        (((0, 20), (0, 10), (10, 20)), []),  # nested
        (((0, 10), (5, 20)), ["chapter-overlap"]),
    ],
)
def test_chapters_may_nest_but_not_overlap(spans: tuple[tuple[int, int], ...], rules: list[str]) -> None:
    text = "WEBVTT\n" + "".join(f"\n00:{a:02}.000 --> 00:{b:02}.000\nTitle\n" for a, b in spans)
    book = Book(Path("chapters.vtt"))
    chapter_files.check_chapter_cues(book, read_webvtt(book, text.encode()).cues, text.encode())
    assert codes(book) == rules


def test_chapter_titles_are_one_line_without_tags() -> None:
    text = b"WEBVTT\n\n00:00.000 --> 00:05.000\n<b>One</b>\ntwo\n"
    book = Book(Path("chapters.vtt"))
    chapter_files.check_chapter_cues(book, read_webvtt(book, text).cues, text)
    assert codes(book) == ["chapter-text", "chapter-text"]


def _one(text: str, length: int = 3_000) -> list[str]:
    book = Book(Path("x"))
    check_reading(book, [Cue(1, 0, length, text)])
    return codes(book)


@pytest.mark.parametrize(
    ("text", "length", "rules"),
    [
        ("Breathe in,\nand slowly out.", 3_000, []),
        ("slowly\nnow\nrest", 3_000, ["lines"]),
        ("a line that is far too long to be read at a glance", 6_000, ["line-length"]),
        ("we go up, then down, then up,\nthen down again", 3_000, ["speed"]),
        ("too short for me", 1_200, ["speed", "short"]),
        ("four,", 900, []),  # a number on its beat
        ("Good.", 6_500, ["long"]),
        ("(door slams)", 3_000, ["sound-marks"]),
        ("[door slams]", 3_000, []),
        ("hold it for twelve\nseconds", 3_000, ["line-break"]),
        ("- Is it a\n- Yes.", 3_000, []),
    ],
)
def test_guidelines(text: str, length: int, rules: list[str]) -> None:
    assert _one(text, length) == rules


def test_gaps_and_overlaps() -> None:
    book = Book(Path("x"))
    spans = ((0, 2_000), (2_000, 4_000), (4_300, 6_000), (5_500, 8_000), (9_500, 11_000))
    check_reading(book, [Cue(n, a, b, "Good now") for n, (a, b) in enumerate(spans)])
    assert codes(book) == ["gap", "overlap"]


def test_every_rule_names_what_is_published() -> None:
    assert all(rule.source and rule.code == code for code, rule in RULES.items())


@given(st.binary(max_size=300))
def test_no_bytes_stop_any_reader(data: bytes) -> None:
    book = Book(Path("x"))
    read_srt(book, data)
    chapter_files.read_ffmetadata(book, b";FFMETADATA1\n[CHAPTER]\n" + data)
    chapter_files.read_podcast_json(book, data)
    chapter_files.read_time_list(book, data)
