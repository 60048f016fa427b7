"""Everything that reads what somebody else wrote, as functions of bytes, and inputs near to good ones."""

# ruff: noqa: E501 - tables of odd values

from __future__ import annotations

import functools
import itertools
import tempfile
from collections.abc import Callable
from pathlib import Path

from hypothesis import strategies as st

from segmenter.edits.journal import Journal, entries_to_json, read_entries
from segmenter.edits.kinds import Retitle
from segmenter.errors import SegmenterError
from segmenter.hear.transcripts import read_transcript, transcript_words
from segmenter.inspect.check import check_path
from segmenter.lesson import lesson_from_json, to_json
from segmenter.times import ms_from_clock
from segmenter.understand.catalogue import Catalogue, load_catalogue
from segmenter.understand.dose import read_doses
from segmenter.understand.plan import read_plan
from tests.faults.breaking import TRANSCRIPT
from tests.lessons import rich_lesson, spoken

_PLACE = Path(tempfile.mkdtemp(prefix="fuzz-"))
_NUMBER = itertools.count()


@functools.cache
def _catalogue() -> Catalogue:
    return load_catalogue()


def _file(suffix: str, data: bytes) -> Path:
    path = _PLACE / f"input{suffix}"
    path.write_bytes(data)
    return path


def _transcript(data: bytes) -> None:
    read = read_transcript(_file(".txt", data))
    transcript_words(read, None)


def _checked(suffix: str) -> Callable[[bytes], None]:
    def act(data: bytes) -> None:
        check_path(_file(suffix, data))

    return act


def _plan(data: bytes) -> None:
    read_plan(_file(".txt", data), _catalogue())


def _own_catalogue(data: bytes) -> None:
    load_catalogue(_file(".yaml", data))


def _edits(data: bytes) -> None:
    path = _file(".json", data).replace(_PLACE / "edits.json")
    try:
        before = [entry.id for entry in read_entries(path)]
    except SegmenterError:
        assert path.read_bytes() == data, "bytes are gone"
        raise
    kept = Journal(_PLACE).mend()
    after = Journal(_PLACE).read()
    assert [entry.id for entry in after] == before
    assert path.read_bytes() == data or data in {copy.read_bytes() for copy in kept}, "bytes are gone"
    for copy in kept:
        copy.unlink()


def _lesson(data: bytes) -> None:
    lesson_from_json(data)


def _clock(data: bytes) -> None:
    ms_from_clock(data.decode("utf-8", "replace"))


def _dose(data: bytes) -> None:
    # A sentence of the length that people say; words are never longer than a recogniser makes them.
    words = data.decode("utf-8", "replace").split()[:60]
    if words:
        read_doses(spoken(" ".join(words), 0))


PARSERS: dict[str, Callable[[bytes], None]] = {
    "transcripts": _transcript,
    "captions: WebVTT": _checked(".vtt"),
    "captions: SRT": _checked(".srt"),
    "chapters: time list": _checked(".txt"),
    "chapters: JSON": _checked(".json"),
    "chapters: ffmetadata": _checked(".ffmeta"),
    "plan": _plan,
    "catalogue": _own_catalogue,
    "edits.json": _edits,
    "lesson.json": _lesson,
    "time stamps": _clock,
    "dose grammar": _dose,
}

_VTT = TRANSCRIPT.encode()
_JSON_WORDS = (
    b'{"segments": [{"start": 0.5, "end": 2.0, "text": "hold it", "words": [{"word": "hold", "start": 0.5}]}]}'
)
SEEDS: dict[str, list[bytes]] = {
    "transcripts": [_VTT, _VTT.replace(b".", b","), _JSON_WORDS, b"0:05 hold the ah\n0:10 and rest\n"],
    "captions: WebVTT": [_VTT, b"WEBVTT\n\nSTYLE\n::cue{}\n\n1\n00:01.000 --> 00:02.000 line:0\n<v A>a <b>b</b>\n"],
    "captions: SRT": [b"1\n00:00:01,000 --> 00:00:02,000\n<i>a</i>\n\n2\n00:00:03,000 --> 00:00:04,000\nb\n"],
    "chapters: time list": [b"0:00 Welcome\n1:05 Long ah\n1:00:10 Closing\n"],
    "chapters: JSON": [b'{"version": "1.2.0", "chapters": [{"startTime": 0, "title": "A", "endTime": 5.5}]}'],
    "chapters: ffmetadata": [
        b";FFMETADATA1\ntitle=A\n[CHAPTER]\nTIMEBASE=1/1000\nSTART=0\nEND=5000\ntitle=A\\=b\n"
    ],
    "plan": [
        b"Long ah, 3 x 5 s\n- Chin tuck 10 times\n1. Lip press; hold 5 seconds\n",
        b"exercise,dose\nLong ah,3\n",
    ],
    "catalogue": [
        b"- id: own-hum\n  name: Own hum\n  plain: hum\n  family: voice\n  held: voiced\n  sides: none\n  says: [own hum]\n"
        b'  usual: {text: "3 to 5 times", reps: [3, 5], source: "common practice, no source"}\n'
    ],
    "edits.json": [
        entries_to_json([Retitle(id=n, at_ms=n * 1000, title=f"Titel \u00e4 {n}") for n in range(1, 4)]).encode()
    ],
    "lesson.json": [to_json(rich_lesson()).encode()],
    "time stamps": [b"1:02:03.450", b"00:59", b"12,5", b"1h 2m"],
    "dose grammar": [
        b"three sets of ten holding each for five to ten seconds twice a day",
        b"in for four hold for seven out for eight and then rest for half a minute on each side",
    ],
}
_PIECES = [b"\0", b"\xff", b"-1", b"99999999999999999999", b"1e999", b"NaN", b"\n\n", b"[" * 40, b"{", b'"', b"-->", b":",
           b"&#x0;", b"<v>", b"\xe2\x80\xae", b"\\ud800", b"!!python/object:os.system", b"&a [*a]", b"null", b"0"]  # fmt: skip


def near(name: str) -> st.SearchStrategy[bytes]:
    """Inputs near to good ones: pieces cut out, doubled, put in; and anything at all."""
    change = st.tuples(st.integers(0, 10_000), st.integers(0, 40), st.sampled_from(_PIECES) | st.binary(max_size=6))

    def spoilt(seed: bytes, changes: list[tuple[int, int, bytes]]) -> bytes:
        for at, gone, piece in changes:
            at %= len(seed) + 1  # noqa: PLW2901
            seed = seed[:at] + piece + seed[at + gone :]
        return seed

    text = st.text(max_size=200).map(lambda given: given.encode("utf-8", "surrogatepass"))
    return (
        st.builds(spoilt, st.sampled_from(SEEDS[name]), st.lists(change, min_size=1, max_size=5))
        | st.binary(max_size=300)
        | text
    )


def fed(name: str, data: bytes) -> bool:
    """Give a parser something; True if it took it, False if it refused in plain words. Anything else is raised."""
    try:
        PARSERS[name](data)
    except SegmenterError as error:
        assert "Traceback" not in str(error)
        assert error.problem
        return False
    return True
