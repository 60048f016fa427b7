"""Stills: sharp, well lit, and no blink, in a film whose blinks and blurs are known."""

from __future__ import annotations

from pathlib import Path

import av
import numpy as np
import pytest

from segmenter.lesson import Chapter, Part, Recording, Video
from segmenter.publish.stills import best_moment, lighting, sharpness, shown_in, stills
from tests.lessons import bare

FPS = 25
BLINKS = [(start, start + 4) for start in range(3, 100, 21)]
"""Frames with closed eyes: 0.16 s each."""
BLURRED = range(50, 75)
DARK = range(0, 25)


def face(number: int) -> np.ndarray:
    """A drawn face over a patterned wall; eyes close, the picture blurs and darkens at known frames."""
    rows, columns = np.mgrid[0:180, 0:320]
    picture = 130 + 40 * np.sin(columns / 5) * np.sin(rows / 7)
    picture[(rows - 90) ** 2 + (columns - 160) ** 2 < 3600] = 190
    closed = any(start <= number < end for start, end in BLINKS)
    for eye in (135, 185):
        inside = (rows - 75) ** 2 * (40 if closed else 1) + (columns - eye) ** 2 < 110
        picture[inside] = 20
    if number in BLURRED:
        for _ in range(6):
            picture = (picture + np.roll(picture, 3, 0) + np.roll(picture, 3, 1) + np.roll(picture, -3, 1)) / 4
    if number in DARK:
        picture = picture * 0.15
    return np.repeat(picture.clip(0, 255).astype(np.uint8)[:, :, None], 3, 2)


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("film") / "face.mp4"
    with av.open(path, "w") as media:
        stream = media.add_stream("libx264", rate=FPS, options={"g": "12", "preset": "ultrafast", "crf": "12"})
        stream.width, stream.height, stream.pix_fmt = 320, 180, "yuv420p"
        for number in range(100):
            for packet in stream.encode(av.VideoFrame.from_ndarray(face(number), "rgb24")):
                media.mux(packet)
        for packet in stream.encode():
            media.mux(packet)
    return path


def test_still_is_sharp_light_and_eyes_are_open(film: Path) -> None:
    at = best_moment(film, (0, 4000))
    assert at is not None
    number = round(at * FPS / 1000)
    assert number not in BLURRED
    assert number not in DARK
    assert not any(start <= number < end for start, end in BLINKS)


def test_eyes_are_open_wherever_the_demonstration_lies(film: Path) -> None:
    chosen = [best_moment(film, (start, start + 800)) for start in range(1000, 3200, 150)]
    frames = [round(at * FPS / 1000) for at in chosen if at is not None]
    assert len(frames) == len(chosen)
    assert [n for n in frames if any(start <= n < end for start, end in BLINKS)] == []


def test_still_lies_in_the_demonstration(film: Path) -> None:
    assert 1400 <= (best_moment(film, (1400, 1500)) or 0) <= 1500
    chapter = Chapter(
        id="c", title="t", kind="exercise", start_ms=0, end_ms=4000,
        parts=(Part(kind="how", start_ms=0, end_ms=3000), Part(kind="show", start_ms=3000, end_ms=3500)),
    )  # fmt: skip
    assert shown_in(chapter) == (3000, 3500)
    assert shown_in(chapter.model_copy(update={"parts": ()})) == (0, 4000)


def test_measures_order_pictures_as_eyes_do() -> None:
    clear, blurred, dark = (face(n).mean(axis=2).astype(np.float32) for n in (30, 60, 10))
    assert sharpness(clear) > 2 * sharpness(blurred)
    assert lighting(clear) > 2 * lighting(dark)


def test_stills_are_written_and_a_person_may_choose(film: Path, tmp_path: Path) -> None:
    chapters = (
        Chapter(id="a", title="One", kind="exercise", start_ms=0, end_ms=2000, still_ms=40),
        Chapter(id="b", title="Talk", kind="talk", start_ms=2000, end_ms=3000),
        Chapter(id="c", title="Two", kind="exercise", start_ms=3000, end_ms=4000),
    )
    lesson = bare(chapters, seconds=4.0)
    seen = Recording(path=None, sha256=None, seconds=4.0, video=Video(width=320, height=180, fps=25.0))
    lesson = lesson.model_copy(update={"recording": seen})
    (tmp_path / "stills").mkdir()
    (tmp_path / "stills" / "09.jpg").write_bytes(b"of an earlier build")
    made = stills(film, lesson, tmp_path)
    assert made == {"a": "stills/01.jpg", "c": "stills/02.jpg"}
    assert sorted(p.name for p in (tmp_path / "stills").iterdir()) == ["01.jpg", "02.jpg"]
    light = {}
    for name in made.values():
        with av.open(tmp_path / name) as picture:
            frame = next(picture.decode(video=0))
            assert (frame.width, frame.height) == (480, 270)
            light[name] = float(frame.reformat(format="gray").to_ndarray().mean())
    assert light["stills/01.jpg"] < 0.4 * light["stills/02.jpg"]  # the dark frame, because a person chose it


def test_sound_alone_has_no_stills(film: Path, tmp_path: Path) -> None:
    assert stills(film, bare((), seconds=4.0), tmp_path) == {}
    assert not (tmp_path / "stills").exists()
