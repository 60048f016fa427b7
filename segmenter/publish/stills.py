"""One picture of each exercise, taken from its demonstration."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import av
import av.error
import numpy as np
from numpy.typing import NDArray

from segmenter.containers import GUARDS, open_recording
from segmenter.errors import ProgramError
from segmenter.files import whole_file
from segmenter.intervals import Interval
from segmenter.lesson import Chapter, Lesson
from segmenter.programs import run, url
from segmenter.times import seconds

FOLDER = "stills"
WIDTH = 480
"""Pixels: sharp on a tablet, about 30 kB a picture."""
LOOKED_AT = 8
"""Key frames of a demonstration that are compared."""
NEAR_MS = 1000
"""Around a good key frame, this long is looked through: in it a blink (0.1 to 0.4 s; from memory) is rare."""
_SMALL = 320

Grey = NDArray[np.float32]


@dataclass(frozen=True)
class Frame:
    """A frame, small and grey."""

    ms: int
    grey: Grey


def stills(recording: Path, lesson: Lesson, folder: Path) -> dict[str, str]:
    """Write a still of every exercise into ``folder/stills``.

    The frame is sharp and well lit beside the others of the demonstration, and looks like the
    moments just before and after it: a frame in which the presenter blinks, or moves so fast
    that it blurs, does not. A chapter's own `still_ms` goes before all of that.

    Parameters
    ----------
    recording : Path
        The recording.
    lesson : Lesson
        Its chapters.
    folder : Path
        The lesson folder.

    Returns
    -------
    dict
        Path from the lesson folder by chapter id. Empty without a moving picture; a chapter whose
        picture cannot be read has none.

    Raises
    ------
    MediaError
        If the recording cannot be opened.
    FolderError
        If the folder cannot be written.
    """
    if lesson.recording.video is None:
        return {}
    made: dict[str, str] = {}
    target = folder / FOLDER
    target.mkdir(parents=True, exist_ok=True)
    for number, chapter in enumerate(lesson.exercises(), 1):
        at = chapter.still_ms if chapter.still_ms is not None else best_moment(recording, shown_in(chapter))
        name = f"{number:02d}.jpg"
        if at is not None and write_still(recording, at, target / name):
            made[chapter.id] = f"{FOLDER}/{name}"
    for old in target.glob("[0-9][0-9].jpg"):
        if f"{FOLDER}/{old.name}" not in made.values():
            old.unlink()
    return made


def shown_in(chapter: Chapter) -> Interval:
    """Return where the exercise is done: its longest part that shows or counts, else all of it."""
    doing = [part.span for part in chapter.parts if part.kind in {"show", "count"}]
    return max(doing, key=lambda span: span[1] - span[0], default=chapter.span)


def best_moment(recording: Path, span: Interval) -> int | None:
    """Return the moment of the best frame in `span`, in milliseconds; None when there is no picture."""
    try:
        with open_recording(recording) as media:
            picture = media.streams.video[0]
            keys = list(_keys(media, picture, span))
            near = [frame for key in best(keys)[:2] for frame in around(media, picture, key.ms, span)]
    except (av.error.FFmpegError, IndexError):
        return None
    return moment_of(typical(near))


def moment_of(calmest: list[Frame]) -> int | None:
    """Return when the best of the calmer half of some frames was; None when there are none."""
    found = best(calmest[: max(1, len(calmest) // 2)])
    return found[0].ms if found else None


def _keys(media: Any, picture: Any, span: Interval) -> Iterator[Frame]:
    picture.codec_context.skip_frame = "NONKEY"
    start, end = span
    seen: set[int] = set()
    for step in range(LOOKED_AT):
        wanted = start + (end - start) * (step + 1) // (LOOKED_AT + 1)
        media.seek(int(wanted / 1000 / picture.time_base), stream=picture)
        for frame in media.decode(picture):
            # The key frame before a short demonstration shows something else: it only leads the way.
            if frame.pts not in seen:
                seen.add(frame.pts)
                yield look_at(frame)
            break
    picture.codec_context.skip_frame = "DEFAULT"


def around(media: Any, picture: Any, from_ms: int, span: Interval, long_ms: int = NEAR_MS) -> list[Frame]:
    """Return the frames of a while from `from_ms` on, as far as they lie in `span`; at least one."""
    start = max(span[0], min(from_ms, span[1] - long_ms))
    end = min(start + long_ms, span[1])
    found: list[Frame] = []
    media.seek(int(start / 1000 / picture.time_base), stream=picture)
    for frame in media.decode(picture):
        if _ms(frame) < start:
            continue
        if _ms(frame) > end and found:
            break
        found.append(look_at(frame))
    return found


def look_at(frame: Any) -> Frame:
    """Return what is compared of a decoded frame."""
    height = max(2, round(frame.height * _SMALL / frame.width / 2) * 2)
    grey = frame.reformat(width=_SMALL, height=height, format="gray").to_ndarray().astype(np.float32)
    return Frame(_ms(frame), grey)


def _ms(frame: Any) -> int:
    return round(float(frame.pts * frame.time_base) * 1000)


def sharpness(grey: Grey) -> float:
    """Return the variance of the Laplacian, the usual measure of focus (Pech-Pacheco et al. 2000; from memory)."""
    centre = grey[1:-1, 1:-1]
    around = grey[:-2, 1:-1] + grey[2:, 1:-1] + grey[1:-1, :-2] + grey[1:-1, 2:]
    return float(np.var(around - 4 * centre))


def lighting(grey: Grey) -> float:
    """Return 0 to 1: how far the picture is from too dark, too bright and flat."""
    middle = float(np.mean(grey)) / 255
    lost = float(np.mean((grey < 8) | (grey > 247)))
    return max(0.0, 1 - abs(middle - 0.5) * 1.6) * (1 - lost) * min(1.0, float(np.std(grey)) / 40)


def best(frames: list[Frame]) -> list[Frame]:
    """Return frames of one class, the sharpest and best lit first."""
    if not frames:
        return []
    sharp = np.array([sharpness(frame.grey) for frame in frames])
    light = np.array([lighting(frame.grey) for frame in frames])
    # Sharpness is compared within the class only: one camera, one room.
    score = np.sqrt(sharp / max(float(sharp.max()), 1e-6)) * (0.3 + 0.7 * light)
    return [frames[n] for n in np.argsort(-score, kind="stable")]


def typical(frames: list[Frame]) -> list[Frame]:
    """Return frames by how much they resemble the ones around them, most alike first."""
    if len(frames) < 3:
        return frames
    middle = (
        np.median(np.stack([frame.grey for frame in frames]), axis=0)
        if len({f.grey.shape for f in frames}) == 1
        else frames[0].grey
    )
    # A blink is small on the picture: the worst spot tells, not the mean.
    spots = [_worst_spot(np.abs(frame.grey - middle)) for frame in frames]
    return [frames[n] for n in np.argsort(spots, kind="stable")]


def _worst_spot(difference: Grey) -> float:
    rows, columns = difference.shape[0] // 8, difference.shape[1] // 8
    return float(difference[: rows * 8, : columns * 8].reshape(rows, 8, columns, 8).mean(axis=(1, 3)).max())


def write_still(recording: Path, at: int, target: Path) -> bool:
    """Write the frame at a moment as JPEG; False when it cannot be read."""
    try:
        with whole_file(target) as draft:
            shape = ["-frames:v", "1", "-vf", f"scale={WIDTH}:-2", "-q:v", "5", "-map_metadata", "-1", "-an"]
            guards = [part for key, value in GUARDS.items() for part in (f"-{key}", value)]
            run(
                [
                    *guards,
                    "-ss",
                    f"{seconds(at):.3f}",
                    "-i",
                    url(recording),
                    *shape,
                    "-f",
                    "image2",
                    "-y",
                    url(draft),
                ],
                recording,
            )
            if draft.stat().st_size == 0:
                raise ProgramError("no picture", recording)
    except ProgramError:
        return False
    return True
