"""A second picture for exercises of two positions: left and right, open and closed, up and down."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Final

import av
import av.error
import numpy as np

from segmenter.containers import open_recording
from segmenter.intervals import Interval
from segmenter.lesson import Chapter, Lesson
from segmenter.publish.chapters import chapter_title
from segmenter.publish.stills import (
    FOLDER,
    LOOKED_AT,
    NEAR_MS,
    Frame,
    Grey,
    around,
    best,
    look_at,
    moment_of,
    shown_in,
    typical,
    write_still,
)

_TWO: Final = re.compile(r",| and | then | to (?:your |the )?(?:left|right)\b", re.IGNORECASE)
"""How titles name two movements; whether they look different, the pictures say."""
DIFFERENT: Final = 18.0
"""Grey levels, of 255, by which the tenth of the picture that differs most must differ (own choice)."""
GOOD_ENOUGH: Final = 0.5
"""Sharpness and light beside the best of the demonstration."""


def is_pair(chapter: Chapter) -> bool:
    """Whether an exercise has two positions: both sides were asked for or held, or its name has two movements."""
    sides = {hold.side for hold in chapter.shown.holds} | {ask.side for ask in chapter.asked}
    both = "both" in sides or {"left", "right"} <= sides
    return chapter.kind == "exercise" and (both or bool(_TWO.search(chapter_title(chapter))))


def second_stills(recording: Path, lesson: Lesson, folder: Path, firsts: dict[str, str]) -> dict[str, str]:
    """Write a second still beside the first where a pair of positions can be seen.

    Parameters
    ----------
    recording : Path
        The recording.
    lesson : Lesson
        Its chapters.
    folder : Path
        The lesson folder, with the first stills in it.
    firsts : dict
        Path from the folder by chapter id.

    Returns
    -------
    dict
        The same for the second stills; a chapter in which nothing looks different has none.

    Raises
    ------
    MediaError, FolderError
        As `segmenter.publish.stills.stills`.
    """
    made = {}
    for chapter in lesson.exercises():
        first = firsts.get(chapter.id)
        if first is None or not is_pair(chapter):
            continue
        at = other_moment(recording, places(chapter), folder / first)
        name = f"{FOLDER}/{Path(first).stem}b.jpg"
        if at is not None and write_still(recording, at, folder / name):
            made[chapter.id] = name
    return made


def places(chapter: Chapter) -> list[Interval]:
    """Return where the other position may be seen: in the holds of named sides, else where the exercise is done."""
    sided = [hold.span for hold in chapter.shown.holds if hold.side in {"left", "right"}]
    return sided or [shown_in(chapter)]


def other_moment(recording: Path, spans: list[Interval], first: Path) -> int | None:
    """Return the moment of a good frame that looks most unlike the picture `first`; None when none does."""
    try:
        with av.open(str(first)) as picture:
            shown = look_at(next(picture.decode(video=0))).grey
        with open_recording(recording) as media:
            stream = media.streams.video[0]
            found = [
                frame
                for start, end in spans
                for share in range(1, LOOKED_AT + 1)
                for frame in around(
                    media, stream, start + (end - start) * share // (LOOKED_AT + 1), (start, end), long_ms=0
                )
            ]
            good = best(found)[: max(1, round(len(found) * GOOD_ENOUGH))]
            other = max(good, key=lambda frame: unlike(frame.grey, shown), default=None)
            if other is None or unlike(other.grey, shown) < DIFFERENT:
                return None
            span = next(span for span in spans if span[0] <= other.ms <= span[1])
            near = around(media, stream, other.ms - NEAR_MS // 2, span)
    except (av.error.FFmpegError, IndexError, StopIteration):
        return None
    calm: list[Frame] = typical([frame for frame in near if unlike(frame.grey, shown) >= DIFFERENT])
    return moment_of(calm) if calm else other.ms


def unlike(one: Grey, other: Grey) -> float:
    """Return by how many grey levels two pictures differ where they differ most (a tenth of them)."""
    if one.shape != other.shape:
        return 0.0
    rows, columns = one.shape[0] // 8, one.shape[1] // 8
    apart = np.abs(one - other)[: rows * 8, : columns * 8].reshape(rows, 8, columns, 8).mean(axis=(1, 3))
    return float(np.sort(apart.ravel())[-max(1, apart.size // 10) :].mean())
