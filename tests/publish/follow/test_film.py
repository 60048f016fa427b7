"""The film itself, read back by PyAV: numbers on the screen, lips and voice, tones, chapters, captions."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import av
import numpy as np
import pyloudnorm
import pytest
from numpy.typing import NDArray
from PIL import Image

from segmenter.errors import FolderError, MediaError
from segmenter.lesson import (
    Ask,
    Audio,
    Caption,
    Chapter,
    Lesson,
    Passage,
    Practice,
    QuizItem,
    Recording,
    Video,
    to_json,
)
from segmenter.programs import run, url
from segmenter.publish.follow.encode import encode_insert
from segmenter.publish.follow.film import NAME, Film, disk_need, follow_along
from segmenter.publish.follow.pictures import dimmed, draw_number, number_box
from segmenter.publish.follow.plan import Insert
from segmenter.publish.follow.settings import FollowSettings
from segmenter.publish.follow.shape import film_rate, shape_for
from tests.lessons import bare

SECONDS, FLASH_S = 25, 23.6
LUFS = -23.0
SETTINGS = FollowSettings(wait_s=11, think_s=6, rest_s=3)


def make_class(path: Path, rate: str = "25", picture: bool = True) -> None:
    """A steady hum; near the end a white flash and a loud click at once."""
    hum = f"sine=f=300:d={SECONDS}:r=44100,volume=0.8"
    click = f"sine=f=2000:d={SECONDS}:r=44100,volume=8:enable='between(t,{FLASH_S},{FLASH_S + 0.1})'"
    only = f"volume=0:enable='not(between(t,{FLASH_S},{FLASH_S + 0.1}))'"
    sound = f"{hum}[h];{click},{only}[c];[h][c]amix=normalize=0"
    inputs, code = ["-f", "lavfi", "-i", sound], ["-c:a", "aac", "-b:a", "160k"]
    if picture:
        flash = f"drawbox=color=white:t=fill:enable='between(t,{FLASH_S - 0.001},{FLASH_S + 0.2})'"
        grey = f"color=c=0x606060:s=320x180:r={rate}:d={SECONDS},{flash}"
        inputs = ["-f", "lavfi", "-i", grey, *inputs]
        code += ["-c:v", "libx264", "-preset", "ultrafast", "-pix_fmt", "yuv420p"]
    run([*inputs, *code, "-y", url(path)], path)


def lesson_for(name: str, *, picture: bool = True, fps: float = 25.0) -> Lesson:
    def stop(ms: int, ask: Ask | None) -> Practice:
        return Practice(at_ms=ms, resume_ms=ms + 480, asked=ask)

    ask = Ask(where="home", start_ms=8_000, end_ms=9_000, reps=(2, 2), hold_s=(11, 11))
    quiz = QuizItem(
        clue=Passage(start_ms=20_500, end_ms=21_500, text="Which sea is salty?"),
        answer=Passage(start_ms=22_000, end_ms=22_400, text="All."),
        think_s=0.5,
    )
    chapters = (
        Chapter(id="a", title="Hello", kind="opening", start_ms=0, end_ms=5_000),
        Chapter(
            id="b", title="Steady ah", kind="exercise", family="voice", start_ms=5_000, end_ms=20_000,
            practice=(stop(10_000, ask), stop(16_000, None)),
        ),
        Chapter(id="c", title="Seas", kind="quiz", family="thinking", start_ms=20_000, end_ms=25_000, quiz=(quiz,)),
    )  # fmt: skip
    captions = (
        Caption(start_ms=1_000, end_ms=3_000, text="Hello"),
        Caption(start_ms=17_000, end_ms=19_000, text="And on we go"),
        Caption(start_ms=23_600, end_ms=24_500, text="Click"),
    )
    sound = Audio(rate=44_100, channels=1, loudness_lufs=LUFS, true_peak_dbtp=-3, snr_db=None)
    video = Video(width=320, height=180, fps=fps) if picture else None
    recording = Recording(path=name, sha256="0" * 64, seconds=SECONDS, video=video, audio=sound)
    return bare(chapters, seconds=SECONDS).model_copy(update={"captions": captions, "recording": recording})


def folder_with(folder: Path, suffix: str = ".mp4", rate: str = "25", fps: float = 25.0) -> Path:
    folder.mkdir()
    picture = suffix == ".mp4"
    make_class(folder / f"class{suffix}", rate, picture)
    lesson = lesson_for(f"class{suffix}", picture=picture, fps=fps)
    (folder / "lesson.json").write_text(to_json(lesson), encoding="utf-8")
    return folder


@pytest.fixture(scope="module", params=["30000/1001"])
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Film:
    fps = float(Fraction(request.param))
    folder = folder_with(tmp_path_factory.mktemp("film") / "lesson", rate=request.param, fps=fps)
    return follow_along(folder, SETTINGS)


def frames(path: Path) -> Iterator[tuple[float, NDArray[np.uint8]]]:
    with av.open(str(path)) as media:
        for frame in media.decode(video=0):
            assert frame.time is not None
            yield frame.time, np.asarray(frame.to_ndarray(format="rgb24"), dtype=np.uint8)


def sound(path: Path) -> tuple[NDArray[np.float64], int]:
    with av.open(str(path)) as media:
        stream = media.streams.audio[0]
        blocks = [(frame.time or 0.0, frame.to_ndarray().mean(axis=0)) for frame in media.decode(stream)]
        rate = stream.codec_context.sample_rate
    whole = np.zeros(round(blocks[-1][0] * rate) + len(blocks[-1][1]))
    for at, block in blocks:
        start = round(at * rate)
        whole[max(0, start) : start + len(block)] = block[max(0, -start) :]
    return whole, rate


def test_every_frame_stands_on_the_grid(made: Film) -> None:
    times = [at for at, _ in frames(made.path)]
    assert len(times) == made.plan.map.frames
    rate = made.plan.map.rate
    assert times == pytest.approx([float(n / rate) for n in range(len(times))], abs=1e-4)


def test_the_right_number_stands_on_the_screen(made: Film) -> None:
    rate, expected = made.plan.map.rate, {}
    for piece, stretch in zip(made.plan.pieces, made.plan.map.stretches, strict=True):
        if isinstance(piece, Insert):
            at = stretch.at
            for step, number, count in piece.tick_frames(rate):
                if step.kind in {"ready", "hold", "rest", "wait", "think"}:
                    expected[at + count // 2] = number
                at += count
    chosen = set(np.random.default_rng(8).choice(sorted(expected), 20, replace=False).tolist())
    size = made_size(made)
    left, top, right, bottom = number_box(size)
    candidates = {}
    for number in range(1, 31):
        blank = dimmed(None, size)
        draw_number(blank, number, (255, 255, 255))
        candidates[number] = np.asarray(blank.convert("L"), dtype=float)[top:bottom, left:right] > 128
    for number, (_, picture) in enumerate(frames(made.path)):
        if number in chosen:
            seen = np.asarray(Image.fromarray(picture).convert("L"), dtype=float)[top:bottom, left:right] > 128
            best = min(candidates, key=lambda n: int(np.sum(candidates[n] ^ seen)))
            assert best == expected[number], number
    assert len(chosen) == 20


def made_size(made: Film) -> tuple[int, int]:
    with av.open(str(made.path)) as media:
        return media.streams.video[0].width, media.streams.video[0].height


def test_lips_and_voice_stay_together_to_the_end(made: Film) -> None:
    flash = next(at for at, picture in frames(made.path) if picture.mean() > 200)
    wave, rate = sound(made.path)
    loud = np.abs(wave) > 0.5 * np.abs(wave).max()
    assert abs(flash - np.flatnonzero(loud)[0] / rate) < 0.040
    assert abs(flash * 1000 - made.plan.map.film_ms(round(FLASH_S * 1000))) <= 1000 / 24


def test_tones_are_as_loud_as_the_class(made: Film) -> None:
    wave, rate = sound(made.path)
    meter = pyloudnorm.Meter(rate)  # ITU-R BS.1770-4
    speech = meter.integrated_loudness(wave[: 5 * rate])
    at = made.plan.map
    practice = next(s for p, s in zip(made.plan.pieces, at.stretches, strict=True) if isinstance(p, Insert))
    start = round((at.ms(practice.at) / 1000 + 5) * rate)  # after five seconds to get ready, the first hold
    assert abs(meter.integrated_loudness(wave[start : start + round(0.6 * rate)]) - speech) <= 3
    quiet = wave[start + rate : start + 9 * rate]
    assert np.abs(quiet).max() < 0.001


def test_chapters_and_captions_are_those_of_the_map(made: Film) -> None:
    media: Any
    with av.open(str(made.path)) as media:
        chapters = [
            (
                c["metadata"]["title"],
                round(c["start"] * c["time_base"] * 1000),
                round(c["end"] * c["time_base"] * 1000),
            )
            for c in media.chapters()
        ]
        wanted = [(c.title, c.start_ms, c.end_ms) for c in made.plan.lesson.chapters]
        assert [name for name, _, _ in chapters] == [name for name, _, _ in wanted]
        for (_, *found), (_, *expected) in zip(chapters, wanted, strict=True):
            assert found == pytest.approx(expected, abs=1)
        assert media.streams.subtitles[0].language == "eng"
        cues = [
            (round(float(packet.pts * packet.time_base) * 1000), bytes(packet)[2:].decode())
            for packet in media.demux(subtitles=0)
            if packet.pts is not None and packet.size > 2
        ]
    moved = [(c.start_ms, c.text) for c in made.plan.lesson.captions]
    assert [text for _, text in cues] == [text for _, text in moved]
    assert [at for at, _ in cues] == pytest.approx([at for at, _ in moved], abs=1)
    assert {text: at for at, text in moved}["Click"] == made.plan.map.film_ms(23_600)


def test_nothing_is_left_behind(made: Film) -> None:
    assert not (made.path.parent / ".work").exists()
    assert {p.name for p in made.path.parent.iterdir()} == {"class.mp4", "lesson.json", "upload.txt", NAME}


def test_the_upload_text_tells_of_it(made: Film) -> None:
    assert f"put in: {NAME}." in (made.path.parent / "upload.txt").read_text(encoding="utf-8")


def test_a_killed_run_goes_on(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = folder_with(tmp_path / "lesson")
    real, done = encode_insert, list[int]()

    def dies(*arguments: Any) -> None:
        if done:
            raise KeyboardInterrupt
        done.append(1)
        real(*arguments)

    monkeypatch.setattr("segmenter.publish.follow.film.encode_insert", dies)
    with pytest.raises(KeyboardInterrupt):
        follow_along(folder, SETTINGS)
    assert not (folder / NAME).exists()
    monkeypatch.setattr("segmenter.publish.follow.film.encode_insert", real)
    film = follow_along(folder, SETTINGS)
    assert film.reused == 4  # hello, before the stop, the stop, after it
    assert film.path.is_file()


def test_a_class_without_a_picture_gets_cards(tmp_path: Path) -> None:
    folder = folder_with(tmp_path / "lesson", ".m4a")
    film = follow_along(folder, FollowSettings(only=("2",), wait_s=10, cards=True))
    pictures = [(at, picture) for at, picture in frames(film.path)]
    assert len(pictures) == film.plan.map.frames
    assert pictures[-200][1].max() > 150  # words on it
    assert all(after[0] > before[0] for before, after in pairwise(pictures))


def test_disk_need_is_said_first_and_a_full_disk_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = folder_with(tmp_path / "lesson")
    told: list[str] = []

    class Full:
        free = 1_000

    monkeypatch.setattr("segmenter.publish.follow.film.shutil.disk_usage", lambda _: Full)
    with pytest.raises(FolderError, match="Make room"):
        follow_along(folder, SETTINGS, say=told.append)
    assert "2 practice stops, 1 of them an open wait" in told[0]
    assert "of disk" in told[1]
    assert not (folder / NAME).exists()


def test_the_need_is_not_less_than_what_was_used(made: Film) -> None:
    shape = shape_for(made.path.parent / "class.mp4", lesson_for("class.mp4"))
    assert disk_need(made.plan, shape)[1] >= made.path.stat().st_size


def test_a_folder_without_a_lesson_or_recording_is_told(tmp_path: Path) -> None:
    with pytest.raises(FolderError, match="no finished lesson"):
        follow_along(tmp_path)
    (tmp_path / "lesson.json").write_text(to_json(bare((), seconds=25)), encoding="utf-8")
    with pytest.raises(MediaError, match="no recording"):
        follow_along(tmp_path)


def test_rates() -> None:
    assert film_rate(59.94) == Fraction(30000, 1001)
    assert film_rate(29.3) == 30
