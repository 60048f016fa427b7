"""The form of the film: size, frames a second, colours. One form for every piece, so that they can be joined."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from typing import Final

from segmenter.containers import open_recording
from segmenter.lesson import Lesson
from segmenter.publish.streams import STANDARD_RANGE, streams_of

USUAL_RATES: Final = (
    Fraction(24000, 1001), Fraction(24), Fraction(25), Fraction(30000, 1001), Fraction(30),
)  # fmt: skip
SIZES: Final = ((426, 240), (854, 480), (1280, 720))
"""Widths and heights of a film, 16 to 9."""
PLAIN_RATE: Final = Fraction(25)
"""Frames a second where there is no picture to keep up with."""
_UNKNOWN: Final = 2
"""Matrix coefficients that are not marked (ITU-T H.273, table 4)."""
VIDEO_CODE: Final = (
    "-c:v", "libx264", "-preset", "veryfast", "-crf", "22", "-profile:v", "high", "-pix_fmt", "yuv420p",
    "-colorspace", "bt709", "-color_primaries", "bt709", "-color_trc", "bt709", "-color_range", "tv",
)  # fmt: skip


@dataclass(frozen=True)
class Shape:
    """The form of every piece.

    Parameters
    ----------
    size : (int, int)
        Pixels; always 16 to 9, since that is what a television is.
    rate : Fraction
        Frames a second, the same throughout.
    channels : int
        Of the sound, one or two.
    picture : bool
        Whether the recording has a moving picture.
    filters : str
        What brings a frame of the recording into this form.
    """

    size: tuple[int, int]
    rate: Fraction
    channels: int
    picture: bool
    filters: str


def shape_for(recording: Path, lesson: Lesson, size: tuple[int, int] | None = None) -> Shape:
    """Choose the form from the recording: at most 720 lines and 30 frames a second; `size` if that is given.

    Raises
    ------
    MediaError
        If it cannot be read.
    """
    channels = min(2, max(1, lesson.recording.audio.channels if lesson.recording.audio else 2))
    video = lesson.recording.video
    if video is None:
        return Shape(size or SIZES[-1], PLAIN_RATE, channels, False, "")
    # No larger than the recording, in the nearest usual size: more pixels would show nothing more.
    size = size or next((usual for usual in SIZES if usual[1] >= video.height), SIZES[-1])
    return Shape(size, film_rate(video.fps), channels, True, _filters(recording, size))


def film_rate(fps: float | None) -> Fraction:
    """Frames a second of the film: that of the class where it is a usual one, half of a doubled one, else 25 or 30.

    >>> film_rate(29.97), film_rate(50.0), film_rate(17.3), film_rate(None)
    (Fraction(30000, 1001), Fraction(25, 1), Fraction(25, 1), Fraction(25, 1))
    """
    if fps is None:
        return PLAIN_RATE
    wanted = fps / 2 if fps > 45 else fps
    nearest = min(USUAL_RATES, key=lambda rate: abs(float(rate) - wanted))
    if abs(float(nearest) - wanted) < 0.02:
        return nearest
    return Fraction(30) if wanted > 27.5 else PLAIN_RATE


def _filters(recording: Path, size: tuple[int, int]) -> str:
    width, height = size
    fit = f"scale=w={width}:h={height}:force_original_aspect_ratio=decrease:force_divisible_by=2"
    pad = f"pad={width}:{height}:(ow-iw)/2:(oh-ih)/2:color=0x1d1b18,setsar=1,format=yuv420p"
    if any(stream.hdr for stream in streams_of(recording).video):
        return f"{STANDARD_RANGE},{fit},{pad}"
    with open_recording(recording) as media:
        context = media.streams.video[0].codec_context
        matrix, lines = getattr(context, "colorspace", _UNKNOWN), context.height
    # Unmarked pictures are taken for BT.601 up to 576 lines and for BT.709 above, as players do (common practice).
    come = ":in_color_matrix=" + ("bt709" if lines > 576 else "bt601") if int(matrix) == _UNKNOWN else ""
    return f"{fit}{come}:out_color_matrix=bt709:out_range=tv,{pad}"
