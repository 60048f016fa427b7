"""A second still: only for pairs, only where another position is to be seen."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest

from segmenter.lesson import Ask, Chapter, Hold, Part, Recording, Shown, Video
from segmenter.publish.handout import handouts
from segmenter.publish.pairs import is_pair, second_stills
from segmenter.publish.stills import stills
from tests.lessons import bare
from tests.publish.test_handout import tags

FPS = 25


def head(number: int) -> np.ndarray:
    """A bright head over a patterned wall: on the left for two seconds, then on the right."""
    rows, columns = np.mgrid[0:180, 0:320]
    picture = 110 + 40 * np.sin(columns / 5) * np.sin(rows / 7)
    middle = 90 if number < 50 else 230
    picture[(rows - 90) ** 2 + (columns - middle) ** 2 < 3600] = 210
    return np.repeat(picture.clip(0, 255).astype(np.uint8)[:, :, None], 3, 2)


@pytest.fixture(scope="module")
def film(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("film") / "head.mp4"
    with av.open(path, "w") as media:
        stream = media.add_stream("libx264", rate=FPS, options={"g": "12", "preset": "ultrafast", "crf": "12"})
        stream.width, stream.height, stream.pix_fmt = 320, 180, "yuv420p"
        for number in range(100):
            for packet in stream.encode(av.VideoFrame.from_ndarray(head(number), "rgb24")):
                media.mux(packet)
        for packet in stream.encode():
            media.mux(packet)
    return path


def turning(title: str = "Turn your head", span: tuple[int, int] = (0, 4_000), **more: Any) -> Chapter:
    part = Part(kind="show", start_ms=span[0], end_ms=span[1])
    return Chapter(id="a", title=title, kind="exercise", start_ms=0, end_ms=4_000, parts=(part,), **more)


def made(film: Path, chapter: Chapter, folder: Path) -> tuple[dict[str, str], dict[str, str]]:
    seen = Recording(path=None, sha256=None, seconds=4.0, video=Video(width=320, height=180, fps=25.0))
    lesson = bare((chapter,), seconds=4.0).model_copy(update={"recording": seen})
    first = stills(film, lesson, folder)
    return first, second_stills(film, lesson, folder, first)


def side_of(path: Path) -> str:
    with av.open(path) as picture:
        grey = next(picture.decode(video=0)).reformat(format="gray").to_ndarray()
    middle = grey.shape[1] // 2
    return "left" if grey[:, :middle].mean() > grey[:, middle:].mean() else "right"


def hold(start_ms: int, side: Any) -> Hold:
    return Hold(start_ms=start_ms, end_ms=start_ms + 1_200, seconds=1.2, how="silent", side=side)


BOTH = (Ask(where="class", start_ms=0, end_ms=1, side="both"),)


@pytest.mark.parametrize(
    "chapter",
    [
        turning("Look left, look right"),
        turning(asked=BOTH),
        turning(span=(0, 1_500), shown=Shown(holds=(hold(300, "left"), hold(2_500, "right")))),
    ],
)
def test_a_pair_shows_both_positions(film: Path, chapter: Chapter, tmp_path: Path) -> None:
    first, second = made(film, chapter, tmp_path)
    assert second == {"a": "stills/01b.jpg"}
    assert {side_of(tmp_path / path["a"]) for path in (first, second)} == {"left", "right"}


def test_where_nothing_moves_there_is_one(film: Path, tmp_path: Path) -> None:
    assert made(film, turning("Look left, look right", (0, 1_900)), tmp_path)[1] == {}


def test_one_position_is_no_pair(film: Path, tmp_path: Path) -> None:
    assert made(film, turning(), tmp_path)[1] == {}
    assert not is_pair(turning(shown=Shown(holds=(hold(0, "left"), hold(2_000, "left")))))
    assert not is_pair(turning("Lips and tongue").model_copy(update={"kind": "talk"}))


def test_both_stand_on_the_home_sheet(film: Path, tmp_path: Path) -> None:
    chapter = turning(asked=BOTH)
    first, second = made(film, chapter, tmp_path)
    sheets = handouts(bare((chapter,), seconds=4.0), tmp_path, first, second=second)
    for pdf in sheets.values():
        assert [alt for name, alt in tags(pdf) if name == "/Figure"] == [
            "Picture from the class: Turn your head",
            "Picture from the class, the other position: Turn your head",
        ]
