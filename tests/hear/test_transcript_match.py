"""Where words are laid in a block, and whether a transcript belongs to a recording: on classes with known truth."""

from __future__ import annotations

import random
import re
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.hear.transcript_layout import lay
from segmenter.hear.transcript_text import spoken_ms, tokens
from segmenter.hear.transcripts import Cue, Transcript, check_match, transcript_words
from segmenter.heard import Speech
from segmenter.intervals import merge
from segmenter.lesson import Word

REAL = Path(__file__).parents[3] / "shared" / "data" / "real"
SAID = re.findall(
    r"\S+", "Sit tall. Breathe in slowly through your nose, now hold it there. Let go and feel the shoulders drop."
)


def _class(seed: int, minutes: int, rest_s: float) -> list[Word]:
    """A made-up class: runs of sentences in a voice of uneven rate, with time to practise between them."""
    rng = random.Random(seed)
    words: list[Word] = []
    at = rng.uniform(1_000, 6_000)
    while at < minutes * 60_000:
        rate = rng.uniform(0.8, 1.3)
        for _ in range(rng.randrange(8, 70)):
            text = rng.choice(SAID)
            end = at + spoken_ms(text) * rate * rng.uniform(0.7, 1.4)
            words.append(Word(text=text, start_ms=round(at), end_ms=round(end)))
            at = end + (rng.uniform(350, 900) if text.endswith(".") else rng.uniform(0, 60))
        at += rng.expovariate(1 / (1_000 * rest_s))
    return words


def _speech(words: list[Word]) -> tuple[Speech, ...]:
    spans = merge((word.span for word in words), gap=300)
    return tuple(Speech(start_ms=start, end_ms=end) for start, end in spans)


def _blocks(words: list[Word], size_ms: int, *, late_ms: int = 0) -> Transcript:
    cues: list[list[Word]] = []
    for word in words:
        if not cues or word.start_ms - cues[-1][0].start_ms >= size_ms:
            cues.append([])
        cues[-1].append(word)
    captions = size_ms < 10_000
    return Transcript(
        tuple(
            Cue(
                cue[0].start_ms + late_ms if captions else cue[0].start_ms // 1000 * 1000,
                cue[-1].end_ms + late_ms if captions else None,
                " ".join(word.text for word in cue),
            )
            for cue in cues
        ),
        "text",
    )


def _codes(transcript: Transcript, speech: tuple[Speech, ...], duration_ms: int) -> list[str]:
    laid = transcript_words(transcript, duration_ms, speech)
    return [check.code for check in check_match(laid.words, speech, duration_ms)]


@pytest.mark.parametrize("size_ms", [4_000, 30_000, 60_000])
@pytest.mark.parametrize("rest_s", [1, 8, 20])
def test_the_own_transcript_belongs(size_ms: int, rest_s: float) -> None:
    for seed in range(4):
        words = _class(seed, 8, rest_s)
        assert _codes(_blocks(words, size_ms, late_ms=600), _speech(words), words[-1].end_ms + 2_000) == []


@pytest.mark.parametrize(("size_ms", "least"), [(4_000, 8), (30_000, 7), (60_000, 5)])
def test_the_transcript_of_another_class_is_told(size_ms: int, least: int) -> None:
    """Words laid into speech all lie in speech, so blocks give the mistake away only by how much has to be said."""
    told = 0
    for seed in range(8):
        words, others = _class(seed, 10, 15), _class(100 + seed, 10, 15)
        codes = _codes(_blocks(others, size_ms), _speech(words), words[-1].end_ms)
        told += "transcript-does-not-match" in codes
    assert told >= least


def test_a_moved_transcript_is_told_with_its_shift() -> None:
    words = _class(3, 8, 12)
    late = [w.model_copy(update={"start_ms": w.start_ms + 31_000, "end_ms": w.end_ms + 31_000}) for w in words]
    (check,) = check_match(late, _speech(words), words[-1].end_ms)
    assert (check.code, check.level) == ("transcript-does-not-match", "look")
    assert "31 seconds earlier" in check.message


def test_a_transcript_that_stops_early_leaves_a_gap() -> None:
    words = _class(5, 8, 8)
    half = words[: len(words) // 2]
    checks = check_match(half, _speech(words), words[-1].end_ms)
    assert [check.code for check in checks] == ["transcript-gap"]
    assert checks[0].start_ms == half[-1].end_ms
    assert checks[0].end_ms == words[-1].end_ms


def test_words_where_nobody_speaks_are_told() -> None:
    speech = (Speech(start_ms=0, end_ms=30_000),)
    words = [Word(text="hum", start_ms=at, end_ms=at + 300) for at in range(60_000, 90_000, 400)]
    assert [check.code for check in check_match(words, speech, 100_000)] == ["transcript-does-not-match"]


def test_without_words_or_speech_nothing_is_said() -> None:
    words = _class(1, 2, 5)
    assert check_match([], _speech(words), 120_000) == ()
    assert check_match(words, (), 120_000) == ()


@pytest.mark.parametrize("size_ms", [30_000, 60_000, 600_000])
def test_sentences_start_after_pauses(size_ms: int) -> None:
    words = _class(7, 6, 6)
    speech = _speech(words)
    laid = transcript_words(_blocks(words, size_ms), words[-1].end_ms, speech)
    firsts = [
        n for n, (a, b) in enumerate(pairwise(words), 1) if a.text.endswith(".") and b.start_ms - a.end_ms > 300
    ]
    off = sorted(abs(laid.words[n].start_ms - words[n].start_ms) for n in firsts)
    assert len(off) > 40
    assert off[len(off) * 6 // 10] < 700
    every = [abs(a.start_ms - b.start_ms) for a, b in zip(laid.words, words, strict=True)]
    assert sum(error <= laid.word_error_ms for error in every) >= 0.85 * len(every)
    unheard = transcript_words(_blocks(words, size_ms), words[-1].end_ms)
    blind = [abs(a.start_ms - b.start_ms) for a, b in zip(unheard.words, words, strict=True)]
    assert sorted(every)[len(every) // 2] < 0.5 * sorted(blind)[len(blind) // 2]


@pytest.mark.parametrize("name", ["natural-1", "natural-2"])
def test_real_speech_stays_near_its_hand_checked_times(name: str) -> None:
    """Word times of the Montreal Forced Aligner's test recordings (MIT), which have no signs between sentences."""
    path = REAL / f"{name}.TextGrid"
    if not path.exists():
        pytest.skip("the real recordings are not here")
    tier = path.read_text(encoding="utf-8").split('"IntervalTier"')[1]
    marks = re.findall(r'([\d.]+)\n([\d.]+)\n"([^"\n]*)"', tier)
    words = [
        Word(text=text, start_ms=round(float(start) * 1000), end_ms=round(float(end) * 1000))
        for start, end, text in marks
        if text.strip()
    ]
    assert len(words) > 50
    block = Transcript((Cue(0, None, " ".join(word.text for word in words)),), "text")
    laid = transcript_words(block, words[-1].end_ms + 1_000, _speech(words))
    off = sorted(abs(a.start_ms - b.start_ms) for a, b in zip(laid.words, words, strict=True))
    assert off[len(off) // 2] < laid.word_error_ms


@given(
    words=st.lists(st.sampled_from(SAID), min_size=1, max_size=60),
    block=st.tuples(st.integers(0, 9_000), st.integers(0, 60_000)).map(lambda pair: (pair[0], sum(pair))),
    edges=st.lists(st.integers(0, 80_000), max_size=12, unique=True).map(sorted),
)
def test_words_stay_in_order_and_in_their_block(words: list[str], block: tuple[int, int], edges: list[int]) -> None:
    speech = list(zip(edges[::2], edges[1::2], strict=False))
    laid, error = lay(words, block, speech)
    assert [word.text for word in laid] == words
    assert error > 0
    assert block[0] <= laid[0].start_ms
    assert laid[-1].end_ms <= block[1] + 1
    assert all(a.end_ms <= b.start_ms + 1 for a, b in pairwise(laid))


def test_ten_minutes_in_one_block_lose_no_word() -> None:
    words = _class(9, 10, 2)
    laid = transcript_words(_blocks(words, 10**7), words[-1].end_ms, _speech(words))
    assert [word.text for word in laid.words] == [token for word in words for token in tokens(word.text)]
