from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.heard import Sound, SoundKind
from segmenter.lesson import CountRun, Shown, Word
from segmenter.understand.counts import find_counts
from segmenter.understand.shown import shown
from tests.understand.speaking import spoken

TRUTH = Path(__file__).parents[2] / "examples" / "voice-and-swallow-class.truth.json"


def _sound(kind: SoundKind, start_ms: int, end_ms: int, **more: float | tuple[float, float]) -> Sound:
    return Sound.model_validate(
        {"kind": kind, "start_ms": start_ms, "end_ms": end_ms, "confidence": 1.0, "how": "test", **more}
    )


def _class(*pieces: str | Sound | int) -> tuple[list[Word], list[Sound], int]:
    """Words one after the other with sounds between; a number is a silence of so many milliseconds."""
    words: list[Word] = []
    sounds: list[Sound] = []
    at = 0
    for piece in pieces:
        if isinstance(piece, str):
            words += spoken(piece, at)
            at = words[-1].end_ms + 50
        elif isinstance(piece, int):
            sounds.append(_sound("silence", at, at + piece))
            at += piece
        else:
            length = piece.end_ms - piece.start_ms
            sounds.append(piece.model_copy(update={"start_ms": at, "end_ms": at + length}))
            at += length
    return words, sounds, at


def _done(*pieces: str | Sound | int, counts: bool = True) -> Shown:
    words, sounds, end = _class(*pieces)
    return shown(words, sounds, 0, end, find_counts(words) if counts else [])


def test_held_sounds_are_the_repetitions_and_keep_what_was_measured() -> None:
    long = _sound("hold", 0, 9_300, pitch_hz=120.0, pitch_spread_st=0.3, level_db=2.5)
    glide = _sound("glide", 0, 2_000, glide_hz=(110.0, 300.0))
    result = _done(
        "A long ah.", long, "Again.", _sound("hum", 0, 4_000), "And up.", glide, "Hiss.", _sound("hiss", 0, 3_000)
    )
    assert result.reps == 4
    assert [hold.how for hold in result.holds] == ["voiced"] * 4
    assert result.holds[0].seconds == 9.3
    assert (result.holds[0].pitch_hz, result.holds[0].pitch_spread_st, result.holds[0].level_db) == (
        120.0,
        0.3,
        2.5,
    )
    assert result.holds[2].glide_hz == (110.0, 300.0)


@pytest.mark.parametrize(
    "cue",
    [
        "And swallow.",
        "Squeeze.",
        "Press the tongue up, and hold.",
        "Tuck your chin and hold it.",
        "Now push.",
        "Swallow now.",
    ],
)
def test_a_silence_after_a_cue_is_a_silent_hold(cue: str) -> None:
    result = _done(cue, 3_200, "And relax.")
    assert [(hold.how, hold.seconds) for hold in result.holds] == [("silent", 3.2)]
    assert result.reps == 1


@pytest.mark.parametrize(
    "said",
    [
        "And relax.",
        "What do we call a baby sheep?",
        "Don't swallow yet.",
        "Think about it before you swallow.",
        "Have a look at this.",
    ],
)
def test_other_silences_are_no_holds(said: str) -> None:
    result = _done(said, 4_000, "So.")
    assert result.holds == ()
    assert result.reps is None


def test_a_short_silence_is_no_hold() -> None:
    assert _done("And swallow.", 1_500, "Good.").holds == ()


def test_a_silence_long_after_the_cue_is_no_hold() -> None:
    words = spoken("And swallow.")
    late = _sound("silence", words[-1].end_ms + 2_500, words[-1].end_ms + 6_000)
    assert shown(words, [late], 0, 10_000, []).holds == ()


def test_counted_seconds_are_holds_with_their_side() -> None:
    words = spoken("We go to the left, hold.")
    words += spoken("one two three four five", words[-1].end_ms + 500, step_ms=1000)
    words += spoken("Now over to the right.", words[-1].end_ms + 500)
    words += spoken("one two three four five", words[-1].end_ms + 500, step_ms=1000)
    result = shown(words, [], 0, words[-1].end_ms, find_counts(words))
    assert [(hold.how, hold.side, hold.seconds) for hold in result.holds] == [
        ("counted", "left", 4.95),
        ("counted", "right", 4.95),
    ]
    assert result.reps == 1
    assert len(result.counts) == 2


@pytest.mark.parametrize(
    ("said", "side"),
    [
        ("Turn to the left and hold.", "left"),
        ("The right hand, and squeeze.", "right"),
        ("Right, and squeeze.", None),
        ("All right, squeeze.", None),
        ("Squeeze right now.", None),
        ("And squeeze.", None),
    ],
)
def test_sides_are_sides_only_where_meant(said: str, side: str | None) -> None:
    assert _done(said, _sound("hold", 0, 3_000)).holds[0].side == side


def test_counted_repetitions_give_the_last_number() -> None:
    words = spoken("That's one, that's two, that's three, that's four.", step_ms=1500)
    assert shown(words, [], 0, words[-1].end_ms, find_counts(words)).reps == 4


def test_breaths_counted_in_and_out_are_rounds() -> None:
    words = spoken("In, two, three, out, two, three, four, in, two, three, out, two, three, four.", step_ms=1000)
    result = shown(words, [], 0, words[-1].end_ms, find_counts(words))
    assert result.reps == 2
    assert [run.kind for run in result.counts] == ["breath"] * 4
    assert result.holds == ()


def test_only_what_lies_in_the_stretch_counts() -> None:
    sounds = [_sound("hold", 0, 3_000), _sound("hold", 5_000, 8_000), _sound("hold", 9_900, 12_000)]
    run = CountRun(start_ms=11_000, end_ms=15_000, kind="seconds", numbers=(1, 2, 3))
    result = shown([], sounds, 4_000, 10_000, [run])
    assert [hold.start_ms for hold in result.holds] == [5_000]
    assert result.counts == ()


def test_the_made_up_class_did_what_its_script_says() -> None:
    truth = json.loads(TRUTH.read_text(encoding="utf-8"))
    words = [word for line in truth["sentences"] for word in _within(line["text"], line["start"], line["end"])]
    words += [
        word for run in truth["counts"] for n in run["numbers"] for word in _within(n["text"], n["start"], n["end"])
    ]
    words.sort(key=lambda word: word.start_ms)
    sounds = [
        _sound("hold", round(s["start"] * 1000), round(s["end"] * 1000), pitch_hz=s["pitch_hz"])
        for s in truth["sounds"]
    ]
    sounds += [_sound("silence", round(s["start"] * 1000), round(s["end"] * 1000)) for s in truth["silences"]]
    counts = find_counts(words)
    done = [
        shown(words, sounds, round(c["start"] * 1000), round(c["end"] * 1000), counts)
        for c in truth["chapters"]
        if c["kind"] == "exercise"
    ]
    assert [one.reps for one in done] == [1, 2, 5, 2, 2, None]
    assert [[hold.how for hold in one.holds] for one in done] == [
        ["counted"] * 2, ["voiced"] * 2, ["voiced"] * 5, ["silent"] * 2, [], [],
    ]  # fmt: skip


def _within(text: str, start: float, end: float) -> list[Word]:
    tokens = text.split()
    step = (end - start) / len(tokens) * 1000
    first = start * 1000
    return [
        Word(text=token, start_ms=round(first + i * step), end_ms=round(first + (i + 1) * step))
        for i, token in enumerate(tokens)
    ]


_KINDS = st.sampled_from(["hold", "hum", "glide", "hiss", "train", "silence", "breath"])
_TEXTS = st.sampled_from(["hold", "swallow", "left", "right", "and", "one", "two", "three", "Right,", "…"])


@settings(max_examples=80)
@given(
    st.lists(st.tuples(_KINDS, st.integers(0, 60_000), st.integers(0, 9_000)), max_size=12),
    st.lists(_TEXTS, max_size=30),
    st.integers(0, 20_000),
    st.integers(0, 60_000),
)
def test_any_facts_give_holds_in_order(
    heard: list[tuple[SoundKind, int, int]], texts: list[str], start: int, length: int
) -> None:
    words = [Word(text=text, start_ms=i * 900, end_ms=i * 900 + 400) for i, text in enumerate(texts)]
    sounds = [_sound(kind, at, at + long) for kind, at, long in heard]
    result = shown(words, sounds, start, start + length, find_counts(words))
    assert [h.start_ms for h in result.holds] == sorted(h.start_ms for h in result.holds)
    assert result.reps is None or result.reps > 0
    assert all(h.end_ms > start and h.start_ms < start + length for h in result.holds)
