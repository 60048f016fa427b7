"""Captions, recognisers' JSON and timed text, read as people really have them.

Outside checks: webvtt-py and pysubs2 read the same cues; the cases marked WPT are this project's own data after the
kinds of faults that web-platform-tests, webvtt/parsing/file-parsing, holds (3-Clause BSD Licence, from memory).
"""

from __future__ import annotations

import json
import random
from itertools import pairwise
from pathlib import Path

import pysubs2
import pytest
from hypothesis import given
from hypothesis import strategies as st
from webvtt import WebVTT

from segmenter.errors import TranscriptError
from segmenter.hear.transcripts import (
    Transcript,
    TranscriptWords,
    check_match,
    read_transcript,
    transcript_words,
)
from segmenter.heard import Speech
from segmenter.lesson import Check
from segmenter.times import stamp

VTT = """WEBVTT - a made-up class
Kind: captions
Language: en

STYLE
::cue { color: black }

NOTE this is not
spoken

first
00:01.000 --> 00:04.000 align:start position:10%
<v Ann>Sit <i>tall</i> &amp; breathe in.</v>

00:00:05.500 --> 00:00:09.000
Hold it &lt;gently&gt;.
Two lines.

01:00:00.000 --> 01:00:02.000
Well done.
"""
SRT = """1
00:00:01,000 --> 00:00:04,000
{\\an8}Sit <b>tall</b> and breathe in.

2
00:00:05,500 --> 00:00:09,000
Hold it gently.
Two lines.
"""


def _read(folder: Path, content: str | bytes, name: str = "class.txt") -> Transcript:
    path = folder / name
    path.write_bytes(content.encode() if isinstance(content, str) else content)
    return read_transcript(path)


def _spans(transcript: Transcript) -> list[tuple[int, int | None, str]]:
    return [(cue.start_ms, cue.end_ms, cue.text) for cue in transcript.cues]


def _codes(checks: tuple[Check, ...]) -> list[str]:
    return [check.code for check in checks]


def _talk(*spans: tuple[int, int]) -> tuple[Speech, ...]:
    return tuple(Speech(start_ms=start, end_ms=end) for start, end in spans)


def test_webvtt_is_read(tmp_path: Path) -> None:
    read = _read(tmp_path, VTT)
    assert (read.kind, read.language, read.notes) == ("webvtt", "en", ())
    assert _spans(read) == [
        (1_000, 4_000, "Sit tall & breathe in."),
        (5_500, 9_000, "Hold it <gently>. Two lines."),
        (3_600_000, 3_602_000, "Well done."),
    ]


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_line_endings_are_equal(tmp_path: Path, ending: str) -> None:
    """W3C WebVTT, "WebVTT file structure": CRLF, LF and lone CR each end a line."""
    assert _spans(_read(tmp_path, VTT.replace("\n", ending).encode())) == _spans(_read(tmp_path, VTT))
    assert _spans(_read(tmp_path, SRT.replace("\n", ending).encode())) == _spans(_read(tmp_path, SRT))


@pytest.mark.parametrize(("text", "kind"), [(VTT, "vtt"), (SRT, "srt")])
def test_reference_readers_see_the_same_times(tmp_path: Path, text: str, kind: str) -> None:
    ours = [(cue.start_ms, cue.end_ms) for cue in _read(tmp_path, text).cues]
    assert ours == [(event.start, event.end) for event in pysubs2.SSAFile.from_string(text, format_=kind)]
    if kind == "vtt":
        captions = WebVTT.from_string(text).captions
        assert ours == [(round(c.start_in_seconds * 1000) // 1000 * 1000 + c.start_time.milliseconds,
                         c.end_in_seconds * 1000 + c.end_time.milliseconds) for c in captions]  # fmt: skip


@st.composite
def _classes(draw: st.DrawFn) -> list[tuple[int, int, str]]:
    words = st.lists(st.sampled_from(["hum", "sit", "hold", "slowly", "ten"]), min_size=1, max_size=9)
    cues, at = [], 0
    for _ in range(draw(st.integers(1, 8))):
        at += draw(st.integers(0, 5_000))
        end = at + draw(st.integers(1, 40_000))
        cues.append((at, end, " ".join(draw(words))))
        at = end
    return cues


@given(cues=_classes())
def test_what_a_reference_library_writes_is_read_exactly(
    cues: list[tuple[int, int, str]], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """The writer is pysubs2, an outside library, for both formats."""
    file = pysubs2.SSAFile()
    file.events = [pysubs2.SSAEvent(start, end, text) for start, end, text in cues]
    folder = tmp_path_factory.mktemp("written")
    for kind in ("srt", "vtt"):
        assert _spans(_read(folder, file.to_string(kind))) == [*cues]


# WPT: kinds of faults a file may have; expected: start times read, and how many notes say so.
WPT = {
    "no empty line after the header": ("WEBVTT\n00:01.000 --> 00:02.000\na\n", [1_000], 0),
    "no blanks round the arrow": ("WEBVTT\n\n00:01.000-->00:02.000\na\n", [1_000], 0),
    "hours of many digits": ("WEBVTT\n\n0:00:01.000 --> 000:00:02.000\na\n", [1_000], 0),
    "a comma for the full stop": ("WEBVTT\n\n00:01,000 --> 00:02,000\na\n", [1_000], 0),
    "an arrow where an id should be": ("WEBVTT\n\n-->\n00:01.000 --> 00:02.000\na\n", [1_000], 1),
    "seconds above 59": ("WEBVTT\n\n00:61.000 --> 01:02.000\na\n\n01:03.000 --> 01:04.000\nb\n", [63_000], 1),
    "end before start": ("WEBVTT\n\n00:05.000 --> 00:02.000\na\n", [5_000], 1),
    "no end": ("WEBVTT\n\n00:05.000 -->\na\n\n00:09.000 --> 00:10.000\nb\n", [5_000, 9_000], 1),
    "no empty line between cues": (
        "WEBVTT\n\n00:01.000 --> 00:02.000\na\n00:03.000 --> 00:04.000\nb\n", [1_000, 3_000], 0,
    ),
    "a note after the cues": ("WEBVTT\n\n00:01.000 --> 00:02.000\na\n\nNOTE b\nc\n", [1_000], 0),
    "settings that are none": ("WEBVTT\n\n00:01.000 --> 00:02.000 foo:bar align\na\n", [1_000], 0),
    "a byte order mark": ("\ufeffWEBVTT\n\n00:01.000 --> 00:02.000\na\n", [1_000], 0),
    "a cue without text": ("WEBVTT\n\n00:01.000 --> 00:02.000\n\n00:03.000 --> 00:04.000\nb\n", [3_000], 0),
    "a zero character": ("WEBVTT\n\n00:01.000 --> 00:02.000\na\0b\n", [1_000], 0),
}  # fmt: skip


@pytest.mark.parametrize("case", WPT)
def test_faulty_webvtt_is_read_as_far_as_it_goes(tmp_path: Path, case: str) -> None:
    text, starts, notes = WPT[case]
    read = _read(tmp_path, text)
    assert read.kind == "webvtt"
    assert [cue.start_ms for cue in read.cues] == starts
    assert _codes(read.notes) == ["transcript-cues"] * notes


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("00:00:01,000 --> 00:00:02,000\nno number\n", ["no number"]),
        ("1\n00:00:01,000 --> 00:00:02,000\na\n\nb after an empty line\n\n2\n00:00:03,000 --> 00:00:04,000\nc",
         ["a b after an empty line", "c"]),
        ("1\n00:00:01,000 --> 00:00:02,000\na\n2\n00:00:03,000 --> 00:00:04,000\nc", ["a", "c"]),
        ("1\n00:00:01,000 --> 00:00:02,000\n5\n\n2\n00:00:03,000 --> 00:00:04,000\n4", ["5", "4"]),
        ("1\n00:00:01.5 --> 00:00:02.5\na\n", ["a"]),
    ],
)  # fmt: skip
def test_odd_srt_loses_no_speech(tmp_path: Path, text: str, expected: list[str]) -> None:
    assert [cue.text for cue in _read(tmp_path, text).cues] == expected


def test_a_bad_caption_is_told_with_its_line(tmp_path: Path) -> None:
    read = _read(tmp_path, SRT.replace("00:00:05,500", "soon"))
    assert [cue.start_ms for cue in read.cues] == [1_000]
    assert "line 6" in read.notes[0].message
    assert read.notes[0].level == "look"


def test_times_inside_captions_time_the_words(tmp_path: Path) -> None:
    """W3C WebVTT, "WebVTT cue timestamp": what follows one starts at it."""
    text = "WEBVTT\n\n00:01.000 --> 00:05.000\nBreathe <00:02.000>in <00:03.500><c>and hold</c>\n"
    laid = transcript_words(_read(tmp_path, text), None)
    assert [(w.text, w.start_ms) for w in laid.words] == [
        ("Breathe", 1_000), ("in", 2_000), ("and", 3_500), ("hold", 4_250),
    ]  # fmt: skip


def test_captions_that_roll_up_are_said_once(tmp_path: Path) -> None:
    lines = ["sit tall now", "breathe in", "hold it there", "and let go", "once more"]
    shown = [f"{a}\n{b}" for a, b in zip(["", *lines], lines, strict=False)]
    text = "WEBVTT\n\n" + "\n\n".join(
        f"{stamp(2_000 * n)} --> {stamp(2_000 * n + 2_000)}\n{lines.strip()}" for n, lines in enumerate(shown)
    )
    assert [cue.text for cue in _read(tmp_path, text).cues] == lines
    between = [(n, stamp(2_000 * n + 1_990)) for n in range(len(lines))]
    for n, at in between:  # the same again, the last line standing alone for a moment before the next comes
        text += f"\n\n{at} --> {stamp(2_000 * n + 2_000)}\n{lines[n]}"
    blocks = sorted(text.split("\n\n")[1:])
    assert [cue.text for cue in _read(tmp_path, "WEBVTT\n\n" + "\n\n".join(blocks)).cues] == lines


def test_a_phrase_said_twice_stays_twice(tmp_path: Path) -> None:
    said = ["And relax.", "And relax.", "Shoulders down.", "Look ahead.", "Good."]
    text = "\n\n".join(
        f"{n}\n{stamp(2_000 * n, ',')} --> {stamp(2_000 * n + 2_000, ',')}\n{line}" for n, line in enumerate(said)
    )
    assert [cue.text for cue in _read(tmp_path, text).cues] == said


def test_recogniser_json_keeps_words_and_probabilities(tmp_path: Path) -> None:
    segment = {"start": 1.0, "end": 3.0, "text": " Hold it.",
               "words": [{"word": " Hold", "start": 1.1, "end": 1.5, "probability": 0.9},
                         {"text": "it.", "start": 1.6, "end": 2.0}]}  # fmt: skip
    for data in ({"language": "en", "segments": [segment]}, [segment]):
        read = _read(tmp_path, json.dumps(data), "class.json")
        laid = transcript_words(read, 5_000)
        assert read.kind == "json"
        assert [(w.text, w.start_ms, w.end_ms, w.probability) for w in laid.words] == [
            ("Hold", 1_100, 1_500, 0.9), ("it.", 1_600, 2_000, None),
        ]  # fmt: skip
        assert laid.word_error_ms <= 200


def test_json_words_without_times_stand_between_their_neighbours(tmp_path: Path) -> None:
    words = [{"word": "for", "start": 1, "end": 2}, {"word": "10"}, {"word": "seconds", "start": 3, "end": 4}]
    read = _read(tmp_path, json.dumps([{"start": 1, "end": 4, "text": "for 10 seconds", "words": words}]))
    assert [(w.text, w.start_ms) for w in transcript_words(read, None).words] == [
        ("for", 1_000), ("10", 2_000), ("seconds", 3_000),
    ]  # fmt: skip


def test_json_loses_no_speech_that_stands_in_one_place_only(tmp_path: Path) -> None:
    word = {"word": "Hold", "start": 1, "end": 2}
    data = [
        {"start": 1, "end": 4, "text": "Hold it there", "words": [word]},
        {"start": 5, "end": 6, "text": "", "words": [word | {"start": 5, "end": 6}]},
        {"word": "Rest.", "start": 7, "end": 8, "probability": 0.5},
    ]
    laid = transcript_words(_read(tmp_path, json.dumps(data)), None)
    assert [w.text for w in laid.words] == ["Hold", "it", "there", "Hold", "Rest."]
    assert laid.words[-1].probability == 0.5


def test_json_segments_without_times_are_told(tmp_path: Path) -> None:
    read = _read(tmp_path, '[{"text": "lost"}, {"start": 1, "end": NaN, "text": "kept \\ud800"}, 7]')
    assert [cue.text.split()[0] for cue in read.cues] == ["kept"]
    assert _codes(read.notes) == ["transcript-cues"]
    transcript_words(read, None).words[0].text.encode()


@pytest.mark.parametrize(
    ("text", "starts"),
    [
        ("[0:00] Sit tall.\n[1:02] Hum now.\n[1:02:03] Rest.", [0, 62_000, 3_723_000]),
        ("00:00:05 Sit tall.\n\n00:01:02 Hum now.", [5_000, 62_000]),
        ("(5s) Sit tall.\n(62s) Hum now.", [5_000, 62_000]),
        ("1:02\nHum now.\nAnd on.\n\n1:40\nRest.", [62_000, 100_000]),
        ("0:05 - Sit tall.\n1:02 – Hum now.", [5_000, 62_000]),
        ("[00:05.250] Sit tall.\n[01:02.500] Hum now.", [5_250, 62_500]),
        ("Ann 0:05\nSit tall.\nBen 1:02\nHum now.", [5_000, 62_000]),
        ("Speaker 1 (0:05): Sit tall.\nSpeaker 2 (1:02): Hum now.", [5_000, 62_000]),
        ("00:00:05:12 Sit tall.\n00:01:02:00 Hum now.", [5_000, 62_000]),
        ("[0:05] Sit tall. [1:02] Hum now.", [5_000, 62_000]),
        ("[0:05]Sit tall.\n[1:02]Hum now.", [5_000, 62_000]),
        ("- 0:05 Sit tall.\n- 1:02 Hum now.", [5_000, 62_000]),
    ],
)
def test_stamps_are_read_as_people_write_them(tmp_path: Path, text: str, starts: list[int]) -> None:
    read = _read(tmp_path, text)
    assert read.kind == "text"
    assert [cue.start_ms for cue in read.cues] == starts
    said = " ".join(cue.text for cue in read.cues)
    assert not any(char in said for char in "0123456789[]()")
    assert all(cue.text.startswith(("Sit", "Hum", "Rest")) for cue in read.cues)


def test_a_range_of_times_gives_the_end(tmp_path: Path) -> None:
    read = _read(tmp_path, "[0:05 - 0:20] Sit tall.\n[1:02 - 1:30] Hum now.")
    assert [(cue.start_ms, cue.end_ms) for cue in read.cues] == [(5_000, 20_000), (62_000, 90_000)]


def test_times_and_lengths_that_are_spoken_stay_words(tmp_path: Path) -> None:
    text = "[0:00] We meet again at\n10:30 tomorrow. Hold for\n(10s) and rest.\n[0:40] We meet at 9:15.\n"
    assert [cue.text for cue in _read(tmp_path, text).cues] == [
        "We meet again at 10:30 tomorrow. Hold for (10s) and rest.", "We meet at 9:15.",
    ]  # fmt: skip


def test_text_before_the_first_stamp_is_told(tmp_path: Path) -> None:
    read = _read(tmp_path, "Tuesday class\n[0:00] Sit tall.")
    assert [cue.text for cue in read.cues] == ["Sit tall."]
    assert "Tuesday class" in read.notes[0].message


def test_names_of_speakers_are_no_words(tmp_path: Path) -> None:
    text = (
        "[0:00] Ann: Sit tall.\n[0:09] Remember: breathe.\n[0:20] ANN: Humming: lips closed.\n[0:40] >> Ben: Fine."
    )
    assert [cue.text for cue in _read(tmp_path, text).cues] == [
        "Sit tall.", "Remember: breathe.", "Humming: lips closed.", "Fine.",
    ]  # fmt: skip


def test_notes_on_sounds_are_no_words(tmp_path: Path) -> None:
    text = "[0:00] [soft music] Sit tall (laughs). ♪\n[0:09] Say [ah] and hold (both hands)."
    assert [cue.text for cue in _read(tmp_path, text).cues] == ["Sit tall .", "Say [ah] and hold (both hands)."]


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"])
def test_other_encodings_are_read_and_told(tmp_path: Path, encoding: str) -> None:
    text = "[0:00] Café pause, s’il vous plaît.\n[0:30] Encore une fois, très lentement."
    read = _read(tmp_path, text.encode(encoding))
    assert read.cues[0].text.startswith("Café pause, s’il")
    assert _codes(read.notes) == ["transcript-encoding"]
    assert read.notes[0].level == "note"


def test_stamps_that_go_backwards_are_sorted_and_told(tmp_path: Path) -> None:
    read = _read(tmp_path, "[0:00] One.\n[2:00] Three.\n[1:00] Two.\n")
    assert [cue.text for cue in read.cues] == ["One.", "Two.", "Three."]
    assert [(check.code, check.level, check.start_ms) for check in read.notes] == [
        ("transcript-order", "look", 60_000)
    ]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty"),
        (b" \r\n\t", "empty"),
        (b"Just a talk without any times.", "no text with times"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0", "no text"),
        (bytes(random.Random(1).randrange(256) for _ in range(4_000)), "no text"),
        (b"PK\x03\x04 packed", "plain text"),
        (b"%PDF-1.7", "plain text"),
        (b'{"segments": [{"start": 1, "te', "damaged at line 1"),
        (b'{"text": "no times"}', "no list of segments"),
        (b"WEBVTT\n", "no text with times"),
        (b"[0:00] [music]", "no text with times"),
    ],
)
def test_what_cannot_be_used_says_why_and_what_to_do(tmp_path: Path, content: bytes, said: str) -> None:
    with pytest.raises(TranscriptError, match=said) as caught:
        _read(tmp_path, content)
    assert caught.value.where == tmp_path / "class.txt"
    assert caught.value.advice


def test_a_missing_file_or_a_folder_is_told(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.vtt"):
        with pytest.raises(TranscriptError, match="cannot be read"):
            read_transcript(path)


def _fits(laid: TranscriptWords) -> None:
    assert all(0 <= w.start_ms <= w.end_ms <= laid.duration_ms for w in laid.words)
    assert all(a.end_ms <= b.start_ms for a, b in pairwise(laid.words))


def test_words_are_laid_only_into_speech(tmp_path: Path) -> None:
    read = _read(
        tmp_path, "[0:00] Sit tall and breathe in slowly. Then hold your breath. Now let go.\n[0:40] Rest."
    )
    speech = _talk((2_000, 6_000), (20_000, 23_000), (41_000, 43_000))
    laid = transcript_words(read, 45_000, speech)
    _fits(laid)
    assert all(any(s.start_ms <= w.start_ms and w.end_ms <= s.end_ms for s in speech) for w in laid.words
               if not any(w.start_ms < s.end_ms < w.end_ms for s in speech))  # fmt: skip
    assert laid.words[0].start_ms == 2_000
    assert laid.words[-1].start_ms == 41_000
    assert all(w.probability is None for w in laid.words)


def test_without_sound_the_time_is_less_sure(tmp_path: Path) -> None:
    read = _read(tmp_path, "[0:00] " + "Sit tall and breathe. " * 6 + "\n[0:40] Rest.")
    heard = transcript_words(read, 60_000, _talk((1_000, 12_000), (20_000, 26_000), (41_000, 43_000)))
    alone = transcript_words(read, None)
    assert 300 <= heard.word_error_ms < alone.word_error_ms
    _fits(alone)


def test_a_transcript_longer_than_the_recording_is_told(tmp_path: Path) -> None:
    laid = transcript_words(_read(tmp_path, "[0:00] Sit tall.\n[1:00] Hum now, please."), 30_000)
    assert [w.text for w in laid.words] == ["Sit", "tall."]
    assert _codes(laid.checks) == ["transcript-too-long"]
    assert "3 words" in laid.checks[0].message


def test_overlapping_captions_are_said_one_after_another(tmp_path: Path) -> None:
    text = "WEBVTT\n\n00:01.000 --> 00:09.000\nbreathe in now\n\n00:02.000 --> 00:05.000\nand hold\n"
    laid = transcript_words(_read(tmp_path, text), None)
    assert [w.text for w in laid.words] == ["breathe", "in", "now", "and", "hold"]
    _fits(laid)


_piece = st.sampled_from(
    ["WEBVTT", "\n", "\n\n", "-->", "00:01.000 --> 00:02.000", "1:02", "[", "]", "(62s)", "<v A>", "{",
     '[{"start": 1, "end": 2, "text": "a b", "words": [{"word": "a", "start": 5, "end": 1}]}]', "\0", "99:99",
    '"start": 1e9', "Ann: ",     "999:59:59.999 --> 1:2", "hum", " ", "٣:٠٠", "[0:05 - 0:01]", "²:²²", "0:5 s"]
)  # fmt: skip


_content = st.lists(_piece | st.text(max_size=8), max_size=25).map("".join) | st.binary(max_size=200)


_edges = st.lists(st.integers(0, 200_000), max_size=8)


@given(content=_content, duration=st.none() | st.integers(0, 200_000), edges=_edges)
def test_any_file_is_read_or_refused_in_words(
    content: str | bytes, duration: int | None, edges: list[int], tmp_path_factory: pytest.TempPathFactory
) -> None:
    try:
        read = _read(tmp_path_factory.getbasetemp(), content if isinstance(content, bytes) else content.encode())
    except TranscriptError:
        return
    edges = sorted(edges)
    speech = _talk(*zip(edges[::2], edges[1::2], strict=False))
    laid = transcript_words(read, duration, speech)
    _fits(laid)
    assert laid.duration_ms == (laid.duration_ms if duration is None else duration)
    assert laid.word_error_ms > 0
    check_match(laid.words, speech, laid.duration_ms)


def test_no_word_is_lost_or_made(tmp_path: Path) -> None:
    """Common words of a class, laid in every way, come back as they were."""
    said = ["sit", "tall", "and", "breathe", "in", "slowly", "through", "the", "nose"]
    read = _read(tmp_path, "[0:10] " + " ".join(said))
    for speech in ((), _talk((0, 5_000)), _talk((11_000, 11_400)), _talk((11_000, 30_000), (31_000, 32_000))):
        assert [w.text for w in transcript_words(read, 40_000, speech).words] == said
