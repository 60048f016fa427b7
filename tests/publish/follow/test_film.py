"""The film itself, read back by PyAV: numbers on the screen, lips and voice, tones, chapters, captions."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import pairwise
from pathlib import Path
from typing import Any

import av
import numpy as np
import pyloudnorm
import pytest

from segmenter.errors import FolderError, MediaError
from segmenter.lesson import (
    Lesson,
    lesson_from_json,
    to_json,
)
from segmenter.programs import run
from segmenter.publish.follow import film
from segmenter.publish.follow.encode import encode_insert
from segmenter.publish.follow.film import NAME, Film, disk_need, follow_along
from segmenter.publish.follow.plan import Clip, FollowPlan, Insert
from segmenter.publish.follow.settings import FollowSettings
from segmenter.publish.follow.shape import film_rate, shape_for
from tests.lessons import bare
from tests.publish.follow.reading import (
    FLASH_S,
    SETTINGS,
    flash_and_click,
    folder_with,
    frames,
    lesson_for,
    numbers_right,
    sound,
)


@pytest.fixture(scope="module", params=["30000/1001"])
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Film:
    fps = float(Fraction(request.param))
    folder = folder_with(tmp_path_factory.mktemp("film") / "lesson", rate=request.param, fps=fps)
    return follow_along(folder, SETTINGS)


def test_every_frame_stands_on_the_grid(made: Film) -> None:
    times = [at for at, _ in frames(made.path)]
    assert len(times) == made.plan.map.frames
    rate = made.plan.map.rate
    assert times == pytest.approx([float(n / rate) for n in range(len(times))], abs=1e-4)


def test_the_right_number_stands_on_the_screen(made: Film) -> None:
    assert numbers_right(made, 20) == 20


def test_lips_and_voice_stay_together_to_the_end(made: Film) -> None:
    flash, click = flash_and_click(made)
    assert abs(flash - click) < 0.040
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


def test_hidden_chapters_are_not_in_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = folder_with(tmp_path / "lesson")
    lesson = lesson_from_json((folder / "lesson.json").read_bytes())
    first, *rest = lesson.chapters
    hidden = lesson.model_copy(update={"chapters": (first.model_copy(update={"hidden": True}), *rest)})
    (folder / "lesson.json").write_text(to_json(hidden), encoding="utf-8")
    plans: list[FollowPlan] = []

    def join(pieces: object, shown: Lesson, target: Path) -> None:
        target.write_bytes(b"film")

    def pieces(plan: FollowPlan, *_: object) -> tuple[list[Path], int]:
        plans.append(plan)
        return [], 0

    monkeypatch.setattr(film, "_pieces", pieces)
    monkeypatch.setattr(film, "join", join)
    follow_along(folder, SETTINGS)
    assert [chapter.id for chapter in plans[0].lesson.chapters] == [chapter.id for chapter in rest]
    assert {piece.chapter for piece in plans[0].pieces if isinstance(piece, Clip)} == {"b", "c"}
    assert first.title not in (folder / "upload.txt").read_text(encoding="utf-8")


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


def test_a_class_without_a_picture_gets_cards(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = folder_with(tmp_path / "lesson", ".m4a")
    done: list[str] = []

    def counted(arguments: list[str], where: Path) -> Any:
        done.append(" ".join(arguments))
        return run(arguments, where)

    monkeypatch.setattr("segmenter.publish.follow.encode.run", counted)
    film = follow_along(folder, FollowSettings(only=("2",), wait_s=10, cards=True))
    pictures = [(at, picture) for at, picture in frames(film.path)]
    assert len(pictures) == film.plan.map.frames
    assert pictures[-200][1].max() > 150  # words on it
    assert all(after[0] > before[0] for before, after in pairwise(pictures))
    # Every frame is encoded once, and joining copies the picture.
    coded = [line for line in done if "libx264" in line]
    assert sum(int(re.findall(r"trim=end_frame=(\d+)", line)[0]) for line in coded) == film.plan.map.frames
    assert [("-c:v copy" in line) for line in done if line not in coded] == [True]


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
