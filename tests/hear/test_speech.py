"""Transcription loses no speech, goes on where it stood, and holds against outside references."""

import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from segmenter.hear.replay import Replay, Tones
from segmenter.hear.samples import RATE, Samples
from segmenter.hear.speech import NoJournal, Recognised, RecognisedWord, transcribe
from segmenter.heard import Sound, Speech

REAL = Path(__file__).parents[3] / "shared" / "data" / "real"


class Kept:
    def __init__(self) -> None:
        self.entries: dict[str, str] = {}

    def get(self, key: str) -> str | None:
        return self.entries.get(key)

    def put(self, key: str, value: str) -> None:
        self.entries[key] = value


class Stops(Tones):
    def recognise(self, signal: np.ndarray, language: str | None, prompt: str | None = None) -> Recognised:
        if len(self.calls) == 2:
            raise KeyboardInterrupt
        return super().recognise(signal, language, prompt)


def bursts(folder: Path, gaps_ms: list[int]) -> tuple[Samples, list[Speech]]:
    """One second of a tone after each gap; burst n has 200 + 20 n Hz."""
    at, speech, sound = 0, [], []
    for n, gap in enumerate(gaps_ms):
        sound += [np.zeros(gap * RATE // 1000), 0.2 * np.sin(2 * np.pi * (200 + 20 * n) * np.arange(RATE) / RATE)]
        speech.append(Speech(start_ms=at + gap, end_ms=at + gap + 1000))
        at += gap + 1000
    return Samples.store(folder / "sound", np.concatenate(sound).astype(np.float32)), speech


@given(st.lists(st.integers(400, 9000), min_size=1, max_size=40))
@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_every_word_comes_back_where_it_was(tmp_path: Path, gaps_ms: list[int]) -> None:
    samples, speech = bursts(tmp_path, gaps_ms)
    spoken = transcribe(samples, [], speech, Tones(), language="en", journal=NoJournal())
    assert [word.text for word in spoken.words] == [f"w{n}" for n in range(len(gaps_ms))]
    for word, stretch in zip(spoken.words, speech, strict=True):
        assert abs(word.start_ms - stretch.start_ms) <= 40
    assert spoken.checks == ()


def test_a_stopped_run_goes_on_with_the_unfinished_windows(tmp_path: Path) -> None:
    samples, speech = bursts(tmp_path, [900] * 60)
    whole = Tones()
    expected = transcribe(samples, [], speech, whole, language="en", journal=NoJournal())
    journal = Kept()
    with pytest.raises(KeyboardInterrupt):
        transcribe(samples, [], speech, Stops(), language="en", journal=journal)
    assert len(journal.entries) == 2
    rest = Tones()
    assert transcribe(samples, [], speech, rest, language="en", journal=journal) == expected
    assert len(rest.calls) == len(whole.calls) - 2
    other = Tones("another model")
    transcribe(samples, [], speech, other, language="en", journal=journal)
    assert len(other.calls) == len(whole.calls)


def test_speech_without_words_is_tried_again_then_shown(tmp_path: Path) -> None:
    samples, speech = bursts(tmp_path, [900, 900, 900])
    deaf = Replay([])
    spoken = transcribe(samples, [], speech, deaf, language="en", journal=NoJournal())
    assert len(deaf.calls) == 4
    assert [check.code for check in spoken.checks] == ["speech-not-in-words"] * 3
    assert [(c.start_ms, c.end_ms) for c in spoken.checks] == [stretch.span for stretch in speech]


def test_a_held_sound_is_not_heard(tmp_path: Path) -> None:
    samples, speech = bursts(tmp_path, [900, 900, 900])
    hold = Sound(kind="hold", start_ms=speech[1].start_ms, end_ms=speech[1].end_ms, confidence=0.9, how="given")
    spoken = transcribe(samples, [hold], speech, Tones(), language="en", journal=NoJournal())
    assert [word.text for word in spoken.words] == ["w0", "w2"]
    assert spoken.checks == ()


@pytest.mark.parametrize("window_end_s", [0.7, 1.1, 1.6])
def test_a_word_is_not_stretched_over_a_held_sound(window_end_s: float, tmp_path: Path) -> None:
    """A word of 0.4 s, a held sound of 13 s right after it, and the next word."""
    spans = [(1000, 1400, 0.05), (1400, 14_400, 0.5), (14_900, 15_900, 0.05)]
    sound = np.random.default_rng(1).normal(0, 0.0003, 17 * RATE)
    for start, end, loud in spans:
        places = np.arange(start * RATE // 1000, end * RATE // 1000)
        sound[places] += loud * np.sin(2 * np.pi * 220 * places / RATE)
    samples = Samples.store(tmp_path / "sound", sound.astype(np.float32))
    speech = [Speech(start_ms=start, end_ms=end) for start, end, loud in spans if loud < 0.5]
    hold = Sound(kind="hold", start_ms=1400, end_ms=14_400, confidence=0.9, how="given")
    answers = Replay([said(("aah", 0.3, window_end_s), ("rest", window_end_s, 2.6))])
    aah, rest = transcribe(samples, [hold], speech, answers, language="en", journal=NoJournal()).words
    assert [aah.start_ms, aah.end_ms] == pytest.approx([1000, 1400], abs=20)
    assert [rest.start_ms, rest.end_ms] == pytest.approx([14_900, 15_900], abs=20)


def short_bursts(folder: Path, likely: float) -> tuple[Samples, list[Speech]]:
    """A sentence, a short word, and another sentence, each apart from the other by nearly half a second."""
    spans = [(500, 2500), (2950, 3250), (3700, 5700)]
    sound = np.zeros(6 * RATE, np.float32)
    for n, (start, end) in enumerate(spans):
        places = np.arange(start * RATE // 1000, end * RATE // 1000)
        sound[places] = 0.2 * np.sin(2 * np.pi * (200 + 20 * n) * places / RATE)
    speech = [Speech(start_ms=start, end_ms=end, confidence=likely) for start, end in spans]
    return Samples.store(folder / "sound", sound), speech


def said(*words: tuple[str, float, float]) -> Recognised:
    return Recognised(tuple(RecognisedWord(f" {text}", start, end, 0.9) for text, start, end in words), "en", 1.0)


SENTENCES = said(("one", 0.3, 2.3), ("three", 3.5, 5.5))


def test_a_short_word_that_was_passed_over_is_heard_again(tmp_path: Path) -> None:
    samples, speech = short_bursts(tmp_path, 0.9)
    answers = Replay([SENTENCES, said(("two", 0.3, 0.6))])
    spoken = transcribe(samples, [], speech, answers, language="en", journal=NoJournal())
    assert [word.text for word in spoken.words] == ["one", "two", "three"]
    assert spoken.words[1].start_ms == pytest.approx(2950, abs=20)
    assert spoken.words[1].end_ms == pytest.approx(3250, abs=20)
    assert spoken.checks == ()


@pytest.mark.parametrize(("likely", "checks"), [(0.9, 1), (0.4, 0)])
def test_a_short_word_that_stays_unheard_is_shown_where_it_is_likely(
    likely: float, checks: int, tmp_path: Path
) -> None:
    samples, speech = short_bursts(tmp_path, likely)
    spoken = transcribe(samples, [], speech, Replay([SENTENCES]), language="en", journal=NoJournal())
    assert [(check.code, check.start_ms) for check in spoken.checks] == [("speech-not-in-words", 2950)] * checks


def test_a_short_word_that_was_timed_beside_its_place_is_not_said_twice(tmp_path: Path) -> None:
    samples, speech = short_bursts(tmp_path, 0.9)
    answers = Replay([said(("two", 0.3, 2.3), ("three", 3.5, 5.5)), said(("Two.", 0.3, 0.6))])
    spoken = transcribe(samples, [], speech, answers, language="en", journal=NoJournal())
    assert [word.text for word in spoken.words] == ["two", "three"]


def looping(seconds: float) -> Recognised:
    step = seconds / 60
    return Recognised(
        tuple(RecognisedWord(" thank you"[6 * (i % 2) :], i * step, (i + 1) * step, 0.9) for i in range(60)),
        "en",
        1.0,
    )


def test_a_loop_is_heard_again_in_small_pieces(tmp_path: Path) -> None:
    samples, speech = bursts(tmp_path, [900, 900])
    one = Recognised((RecognisedWord(" hello", 0.3, 1.2, 0.9),), "en", 1.0)
    spoken = transcribe(samples, [], speech, Replay([looping(4), one, one]), language="en", journal=NoJournal())
    assert [word.text for word in spoken.words] == ["hello", "hello"]
    stuck = Replay([looping(4), looping(1), one])
    spoken = transcribe(samples, [], speech, stuck, language="en", journal=NoJournal())
    assert "words-repeated" in [check.code for check in spoken.checks]
    assert len(spoken.words) <= 4


def test_language_is_the_weightiest_one(tmp_path: Path) -> None:
    samples, speech = bursts(tmp_path, [900] * 60)
    answers = [Recognised((), "de", 0.9), Recognised((), "en", 0.3), Recognised((), "de", 0.9)]
    assert transcribe(samples, [], speech, Replay(answers), language=None, journal=NoJournal()).language == "de"
    assert transcribe(samples, [], [], Replay([]), language=None, journal=NoJournal()).language == "und"


def test_replay_reads_back_what_it_saved(tmp_path: Path) -> None:
    Replay([looping(3)]).save(tmp_path / "saved.json")
    assert Replay.load(tmp_path / "saved.json").recognise(np.zeros(16, np.float32), None) == looping(3)


def hand_checked(file: Path) -> list[tuple[str, float]]:
    """Words and starts of the first tier of a short-format Praat TextGrid."""
    lines = [line.strip().strip('"') for line in file.read_text().splitlines()]
    first = lines.index("words") + 3
    rows = [lines[first + 1 + 3 * i : first + 4 + 3 * i] for i in range(int(lines[first]))]
    return [(row[2], float(row[0])) for row in rows if row[2]]


@pytest.mark.model
def test_a_doubtful_window_is_heard_alike_whatever_came_before() -> None:
    """Words drawn at random are the same ones in a fresh run and in one that goes on."""
    from segmenter.hear.recogniser import _engine
    from segmenter.resources import speech_weights

    rng = np.random.default_rng(2)
    rumble = (rng.standard_normal(RATE * 4) * 0.1).astype(np.float32)

    def drawn() -> str:
        engine = _engine(speech_weights("tiny"), 1, "cpu")
        segments, _ = engine.transcribe(
            rumble,
            language="en",
            temperature=(1.0,),
            log_prob_threshold=None,
            compression_ratio_threshold=None,
            no_speech_threshold=None,
            without_timestamps=True,
        )
        return "".join(segment.text for segment in segments)

    first = drawn()
    assert first
    assert [drawn() for _ in range(3)] == [first] * 3


@pytest.mark.model
@pytest.mark.slow
def test_real_speech_against_its_text_and_hand_checked_times(tmp_path: Path) -> None:
    """Transcript and word times: Montreal Forced Aligner test data (MIT); word error by jiwer."""
    import difflib

    import jiwer
    from faster_whisper.audio import decode_audio

    from segmenter.hear.speech import WhisperRecogniser
    from segmenter.resources import speech_weights

    clip = REAL / "natural-1.wav"
    if not clip.exists():
        pytest.skip("no folder of real recordings here")
    signal = decode_audio(str(clip))
    samples = Samples.store(tmp_path / "sound", signal)
    recogniser = WhisperRecogniser(speech_weights("base"), "base", 1)
    grid = hand_checked(clip.with_suffix(".TextGrid"))
    everything = [Speech(start_ms=1000, end_ms=samples.duration_ms)]
    spoken = transcribe(samples, [], everything, recogniser, language="en", journal=NoJournal())
    plain = recogniser.recognise(signal, "en")

    def bare(text: str) -> str:
        return " ".join(re.sub(r"[^\w' ]", " ", text.lower()).split())

    truth = bare(clip.with_suffix(".txt").read_text())
    ours = jiwer.wer(truth, bare(" ".join(word.text for word in spoken.words)))
    theirs = jiwer.wer(truth, bare("".join(word.text for word in plain.words)))
    assert ours <= theirs + 0.04  # two words of 59: a phrase said twice may be heard once
    words = [bare(word.text) for word in spoken.words]
    matched = difflib.SequenceMatcher(None, [bare(text) for text, _ in grid], words, autojunk=False)
    off = [
        abs(spoken.words[block.b + i].start_ms / 1000 - grid[block.a + i][1])
        for block in matched.get_matching_blocks()
        for i in range(block.size)
    ]
    assert len(off) > 0.75 * len(grid)
    assert float(np.median(off)) <= 0.1
