"""Made classes for the film, and the film read back by PyAV."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
from numpy.typing import NDArray
from PIL import Image

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
from segmenter.publish.follow.film import Film
from segmenter.publish.follow.pictures import dimmed, draw_number, number_box
from segmenter.publish.follow.plan import Insert
from segmenter.publish.follow.settings import FollowSettings
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


def made_size(made: Film) -> tuple[int, int]:
    with av.open(str(made.path)) as media:
        return media.streams.video[0].width, media.streams.video[0].height


def numbers_right(made: Film, sampled: int) -> int:
    """Of `sampled` moments, how many show the number that stands in the plan, told by rendered digits."""
    rate, expected = made.plan.map.rate, {}
    for piece, stretch in zip(made.plan.pieces, made.plan.map.stretches, strict=True):
        if isinstance(piece, Insert):
            at = stretch.at
            for step, number, count in piece.tick_frames(rate):
                if step.kind in {"ready", "hold", "rest", "wait", "think"}:
                    expected[at + count // 2] = number
                at += count
    chosen = set(np.random.default_rng(8).choice(sorted(expected), sampled, replace=False).tolist())
    assert len(chosen) == sampled
    size = made_size(made)
    left, top, right, bottom = number_box(size)
    candidates = {}
    for number in range(1, 31):
        blank = dimmed(None, size)
        draw_number(blank, number, (255, 255, 255))
        candidates[number] = np.asarray(blank.convert("L"), dtype=float)[top:bottom, left:right] > 128
    hits = 0
    for number, (_, picture) in enumerate(frames(made.path)):
        if number in chosen:
            seen = np.asarray(Image.fromarray(picture).convert("L"), dtype=float)[top:bottom, left:right] > 128
            best = min(candidates, key=lambda n: int(np.sum(candidates[n] ^ seen)))
            hits += best == expected[number]
    return hits


def flash_and_click(made: Film) -> tuple[float, float]:
    """Seconds at which the white flash is seen and the loud click is heard."""
    flash = next(at for at, picture in frames(made.path) if picture.mean() > 200)
    wave, rate = sound(made.path)
    loud = np.abs(wave) > 0.5 * np.abs(wave).max()
    return flash, float(np.flatnonzero(loud)[0] / rate)
