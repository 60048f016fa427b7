"""``follow-along.mp4``: planned, made piece by piece so that a killed run goes on, and joined."""

from __future__ import annotations

import hashlib
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from PIL import Image

from segmenter.errors import FolderError, MediaError
from segmenter.files import write_whole
from segmenter.folder import claimed
from segmenter.lesson import Lesson, lesson_from_json
from segmenter.progress import Watch, unwatched
from segmenter.publish.follow.encode import encode_clip, encode_insert, join, last_frame
from segmenter.publish.follow.pictures import pictures
from segmenter.publish.follow.plan import Clip, FollowPlan, Insert, plan_film
from segmenter.publish.follow.settings import FollowSettings
from segmenter.publish.follow.shape import Shape, shape_for
from segmenter.publish.follow.steps import Step
from segmenter.publish.follow.tones import RATE, tone_level
from segmenter.publish.improve import loudness_behind
from segmenter.publish.streams import SUFFIXES
from segmenter.publish.upload_text import upload_text
from segmenter.publish.viewers import for_viewers
from segmenter.times import counted, spoken_length

NAME: Final = "follow-along.mp4"
VERSION: Final = 2
"""Raise it when a piece would look or sound otherwise, so that older pieces are not used."""
PICTURE_BYTES_S: Final = 350_000
"""Bytes a second that 720 lines need at most; talk before a still camera took a fifth of it (own measurement)."""
SOUND_BYTES_S: Final = 20_000
"""Bytes a second of AAC at 160 kbit/s."""


@dataclass(frozen=True)
class Film:
    """The finished film and what it was made of."""

    path: Path
    plan: FollowPlan
    reused: int
    """Pieces that an earlier, interrupted run had finished."""


def disk_need(plan: FollowPlan, shape: Shape) -> tuple[int, int]:
    """Return bytes needed while working, and bytes of the finished film, at most."""
    seconds = plan.map.duration_ms / 1000
    pixels = shape.size[0] * shape.size[1] / (1280 * 720)
    film = seconds * (PICTURE_BYTES_S * pixels + SOUND_BYTES_S)
    return round(2 * film + seconds * RATE * 2 * shape.channels), round(film)


def recording_of(folder: Path, lesson: Lesson) -> Path:
    """Return the recording that lies in a lesson folder.

    Raises
    ------
    MediaError
        If there is none.
    """
    stem = Path(lesson.recording.path or "").stem
    for name in (f"{stem}-lesson", stem):
        for suffix in SUFFIXES:
            if stem and (folder / f"{name}{suffix}").is_file():
                return folder / f"{name}{suffix}"
    raise MediaError(
        "there is no recording in this lesson folder", folder, "Build the lesson from a recording first"
    )


def follow_along(
    folder: Path,
    settings: FollowSettings | None = None,
    watch: Watch = unwatched,
    say: Callable[[str], None] = lambda _: None,
) -> Film:
    """Make the film in a lesson folder.

    Parameters
    ----------
    folder : Path
        A finished lesson with its recording.
    settings : FollowSettings or None
        Choices; None takes the defaults.
    watch : Watch
        Told how far it is (stages ``pieces`` and ``join``).
    say : callable
        Told in a sentence how long the film will be and what disk it needs, before work begins.

    Raises
    ------
    SegmenterError
        If the folder, the recording, a choice or the disk will not do. Finished pieces are kept.
    """
    settings = settings or FollowSettings()
    file = folder / "lesson.json"
    if not file.is_file():
        raise FolderError("this is no finished lesson folder", folder, "Build a lesson with segmenter build first")
    lesson = for_viewers(lesson_from_json(file.read_bytes(), str(file)))
    recording = recording_of(folder, lesson)
    shape = shape_for(recording, lesson)
    plan = plan_film(lesson, shape.rate, settings)
    _announce(plan, shape, folder, say)
    with claimed(folder) as work:
        place = work / "follow-along"
        place.mkdir(exist_ok=True)
        made, reused = _pieces(plan, recording, shape, place, watch)
        watch("join", 0.0, "")
        join(made, plan.lesson, folder / NAME)
        write_whole(folder / "upload.txt", upload_text(lesson, film=NAME))
        shutil.rmtree(place, ignore_errors=True)
        watch("join", 1.0, NAME)
    return Film(folder / NAME, plan, reused)


def _announce(plan: FollowPlan, shape: Shape, folder: Path, say: Callable[[str], None]) -> None:
    work, film = disk_need(plan, shape)
    stops = counted(plan.stops, "practice stop")
    waits = f", {plan.open_waits} of them an open wait because no time was said" if plan.open_waits else ""
    say(f"The film will last {spoken_length(plan.map.duration_ms)}, with {stops}{waits}.")
    say(f"It needs at most {_size(work)} of disk while it is made, and {_size(film)} in the end.")
    free = shutil.disk_usage(folder).free
    if free < work:
        raise FolderError(
            f"the film may need {_size(work)} of disk, and {_size(free)} are free",
            folder,
            "Make room, then try again",
        )


def _size(count: int) -> str:
    return f"{count / 1e9:.1f} GB" if count >= 1e9 else f"{max(1, round(count / 1e6))} MB"


def _pieces(plan: FollowPlan, recording: Path, shape: Shape, place: Path, watch: Watch) -> tuple[list[Path], int]:
    content = plan.lesson.recording.sha256 or str(recording.stat().st_size)
    # Of the file in the folder, whose sound may have been improved since the lesson was heard.
    level = tone_level(round(loudness_behind(recording, "anull"), 1), shape.channels)
    titles = {chapter.id: chapter.title for chapter in plan.lesson.chapters}
    wanted, reused = [], 0
    for piece, stretch in zip(plan.pieces, plan.map.stretches, strict=True):
        spec = repr((VERSION, content, recording.stat().st_size, shape, level, stretch, piece))
        wanted.append(place / f"{hashlib.sha256(spec.encode()).hexdigest()[:24]}.mov")
    for old in place.iterdir():
        if old not in wanted and old.is_file():
            old.unlink()
    for number, (piece, stretch, target) in enumerate(zip(plan.pieces, plan.map.stretches, wanted, strict=True)):
        watch("pieces", stretch.at / plan.map.frames, f"piece {number + 1} of {len(wanted)}")
        if target.is_file():
            reused += 1
        elif isinstance(piece, Clip):
            card = None if shape.picture else title_card(titles.get(piece.chapter, ""), shape)
            encode_clip(recording, piece, stretch.at, shape, card, target)
        else:
            behind = None
            if shape.picture and piece.behind is not None:
                behind = last_frame(recording, piece.behind, shape, place)
            encode_insert(piece, stretch.at, shape, behind, level, target)
    watch("pieces", 1.0, counted(len(wanted), "piece"))
    return wanted, reused


def title_card(title: str, shape: Shape) -> Image.Image:
    """The plain picture of a class that has none."""
    insert = Insert((Step("card", "", 1),), title, None, None)
    return next(pictures(insert, shape.size, None, shape.rate))[0]
