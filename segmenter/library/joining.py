"""One recording out of pieces of several: the same coding throughout, chapters and captions inside."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from segmenter.errors import FolderError
from segmenter.lesson import Lesson
from segmenter.library.pieces import Piece
from segmenter.progress import Watch
from segmenter.publish.chapters import chapter_title
from segmenter.publish.follow.encode import encode_clip, join
from segmenter.publish.follow.film import recording_of, title_card
from segmenter.publish.follow.plan import Clip
from segmenter.publish.follow.shape import Shape
from segmenter.times import counted

BYTES_S = 400_000
"""Bytes a second that pieces need at most while they are made, sound uncompressed."""


def join_pieces(
    pieces: Sequence[Piece], shapes: Mapping[Path, Shape], lesson: Lesson, target: Path, watch: Watch
) -> None:
    """Write the recording. Sources without a picture get a plain card with the exercise's name.

    Raises
    ------
    SegmenterError
        If a recording is missing or cannot be read, or the disk is full.
    """
    need = round(2 * lesson.recording.seconds * BYTES_S)
    if shutil.disk_usage(target.parent).free < need:
        raise FolderError(
            f"the recording may need {need / 1e6:.0f} MB of disk", target.parent, "Make room, then try again"
        )
    with tempfile.TemporaryDirectory(dir=target.parent) as name:
        made: list[Path] = []
        for number, piece in enumerate(pieces):
            watch("pieces", number / len(pieces), f"piece {number + 1} of {len(pieces)}")
            shape = shapes[piece.source.folder]
            recording = recording_of(piece.source.folder, piece.source.lesson)
            card = None if shape.picture else title_card(chapter_title(piece.chapter), shape)
            made.append(Path(name, f"{number:04d}.mov"))
            encode_clip(recording, Clip(piece.first, piece.last, piece.chapter.id), piece.at, shape, card, made[-1])
        watch("pieces", 1.0, counted(len(pieces), "piece"))
        watch("join", 0.0, "")
        join(made, lesson, target)
        watch("join", 1.0, target.name)
