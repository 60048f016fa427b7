"""Who speaks: the presenter has most talk, remarks are others', and every doubt goes to the presenter."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import signal as dsp

from segmenter.hear import voices
from segmenter.hear.samples import RATE, Samples
from segmenter.hear.voiceprint import SIZE, Floats
from segmenter.hear.voices import tell_voices
from segmenter.lesson import Word
from tests.dialogues import Dialogue, dialogue, mixed
from tests.evaluation.voices import real_pieces

REAL = Path(__file__).parents[3] / "shared" / "data" / "real"
Waves = NDArray[np.float64]


class Room:
    """Turns of made-up prints: every speaker is a direction, every turn lies near one."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        self.rng = np.random.default_rng(5)
        self.turns: list[tuple[str, int]] = []
        self.samples = Samples.store(tmp_path / "none.raw", np.zeros(0, np.float32))
        monkeypatch.setattr(voices, "_prints", lambda samples, turns: self.prints())

    def say(self, who: str, ms: int = 2000, times: int = 1) -> Room:
        self.turns += [(who, ms)] * times
        return self

    def prints(self) -> Floats:
        rows = []
        for who, ms in self.turns:
            if ms < 400:
                rows.append(np.zeros(SIZE, np.float32))
                continue
            own = np.random.default_rng(sum(map(ord, who))).normal(0, 1, SIZE)
            common = np.random.default_rng(0).normal(0, 1, SIZE)
            # Likeness within a voice about 0.87, between two about 0.43.
            row = 0.75 * common + own + self.rng.normal(0, 0.45, SIZE)
            rows.append((row / np.linalg.norm(row)).astype(np.float32))
        return np.stack(rows)

    def told(self) -> tuple[str, dict[str, tuple[int | None, int | None]]]:
        words, at = [], 0
        for _, ms in self.turns:
            words.append(Word(text="word.", start_ms=at, end_ms=at + ms))
            at += ms + 400
        found = tell_voices(self.samples, words)
        letters = "".join((word.speaker or "?")[0] for word in found.words)
        return letters, {check.code: (check.start_ms, check.end_ms) for check in found.checks}


@pytest.fixture
def room(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Room:
    return Room(monkeypatch, tmp_path)


def test_one_voice_is_the_presenter(room: Room) -> None:
    assert room.say("anna", times=30).told() == ("p" * 30, {})


def test_remarks_are_told_with_their_times(room: Room) -> None:
    room.say("anna", times=10).say("bob", 1300).say("anna", times=10).say("cleo", 900).say("anna", times=5)
    letters, checks = room.told()
    assert letters == "p" * 10 + "o" + "p" * 10 + "o" + "p" * 5
    assert checks == {"voice-other": (24_000, 25_300)}


def test_a_turn_too_short_to_tell_is_the_presenters(room: Room) -> None:
    letters, _ = room.say("anna", times=10).say("bob", 350).say("anna", times=10).told()
    assert letters == "p" * 21


def test_a_short_turn_between_remarks_is_a_remark(room: Room) -> None:
    room.say("anna", times=10).say("bob").say("bob", 350).say("bob").say("anna", times=10)
    assert room.told()[0] == "p" * 10 + "ooo" + "p" * 10


def test_a_guest_who_speaks_long_stays_readable(room: Room) -> None:
    letters, checks = room.say("anna", times=30).say("bob", times=15).say("anna", times=5).told()
    assert letters == "p" * 30 + "?" * 15 + "p" * 5
    assert set(checks) == {"voice-guest"}


def test_without_a_voice_that_leads_all_is_read(room: Room) -> None:
    for who in "anna", "bob", "cleo", "david":
        room.say(who, times=6)
    letters, checks = room.told()
    assert set(letters) == {"?"}
    assert set(checks) == {"voices-unclear"}


def test_too_little_talk_is_all_the_presenters(room: Room) -> None:
    assert room.say("anna", times=3).say("bob").told() == ("pppp", {})


def test_no_words(tmp_path: Path) -> None:
    assert tell_voices(Samples.store(tmp_path / "a.raw", np.zeros(RATE, np.float32)), []).words == ()


def test_long_talk_without_stops_is_cut_into_turns() -> None:
    words = [Word(text="word", start_ms=at * 300, end_ms=at * 300 + 290) for at in range(100)]
    turns = voices._turns(words)
    assert max(turn.ms for turn in turns) <= voices.LONGEST_MS + 300
    assert [turn.first for turn in turns[1:]] == [turn.last for turn in turns[:-1]]


def heard(talk: Dialogue, folder: Path) -> tuple[list[str | None], list[str | None]]:
    found = tell_voices(Samples.store(folder / "a.raw", talk.sound.astype(np.float32)), talk.words)
    assert [word.text for word in found.words] == [word.text for word in talk.words]
    pairs = list(zip(talk.presenter, (word.speaker for word in found.words), strict=True))
    return [s for own, s in pairs if own], [s for own, s in pairs if not own]


@pytest.mark.skipif(not REAL.is_dir(), reason="the real recordings are not here")
@pytest.mark.parametrize("name", ["natural-1.wav", "natural-2.wav", "reading-1.mp3"])
def test_a_real_single_speaker_is_never_somebody_else(name: str, tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    own, _ = heard(dialogue([(True, piece) for piece in real_pieces(REAL / name)], rng), tmp_path)
    assert len(own) > 40
    assert "other" not in own


@pytest.mark.skipif(not REAL.is_dir(), reason="the real recordings are not here")
@pytest.mark.parametrize("far", [False, True], ids=["in the room", "over a call"])
def test_real_remarks_in_a_real_reading(far: bool, tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    remarks: list[Waves] = [piece[: RATE * 2] for piece in real_pieces(REAL / "natural-1.wav")][:4]
    if far:
        band = dsp.butter(4, [300, 3400], "band", fs=RATE, output="sos")
        remarks = [0.5 * dsp.sosfilt(band, remark) for remark in remarks]
    own, others = heard(dialogue(mixed(real_pieces(REAL / "reading-1.mp3"), remarks, rng, 0.5), rng), tmp_path)
    assert "other" not in own
    assert others.count("other") >= 0.6 * len(others)
