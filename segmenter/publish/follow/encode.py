"""ffmpeg at work: each piece in the same form, then all joined without touching the picture again.

Every piece has the same coding, since players of televisions stumble where it changes in the middle of a film; that
is why clips of the class are encoded too, and not copied. Sound stays uncompressed until the end: joined pieces
of compressed sound would each bring their own few milliseconds of silence, and lips would run away.
"""

from __future__ import annotations

import tempfile
from fractions import Fraction
from pathlib import Path

from PIL import Image

from segmenter.containers import GUARDS
from segmenter.files import whole_file
from segmenter.lesson import Lesson
from segmenter.programs import run, url
from segmenter.publish import caption_files
from segmenter.publish.chapters import ffmetadata, one_line
from segmenter.publish.follow.pictures import dimmed, pictures
from segmenter.publish.follow.plan import Clip, Insert
from segmenter.publish.follow.shape import VIDEO_CODE, Shape
from segmenter.publish.follow.tones import RATE, samples_at, write_tones
from segmenter.publish.languages import three_letters
from segmenter.publish.video import CAPTIONS_NAME, CHAPTER_TIMESCALE

_GUARD = [word for option, value in GUARDS.items() for word in (f"-{option}", value)]
MARGIN_S = 2.0
"""Read beyond a clip, so that its last frame is there whatever the distance of frames."""


def encode_clip(recording: Path, clip: Clip, at: int, shape: Shape, card: Image.Image | None, target: Path) -> None:
    """Write a piece of the class; `at` is its first frame in the film. `card` stands where there is no picture.

    Raises
    ------
    ProgramError, FolderError
        If ffmpeg fails, or the disk is full.
    """
    frames = clip.last - clip.first
    start, length = float(clip.first / shape.rate), float(frames / shape.rate) + MARGIN_S
    sound = f"[0:a:0]{_sound(_samples(at, frames, shape.rate), shape)}[a]"
    arguments = [*_GUARD, "-ss", f"{start:.6f}", "-t", f"{length:.6f}", "-i", url(recording)]
    with tempfile.TemporaryDirectory() as name:
        if shape.picture:
            steady = f"fps=fps={shape.rate}:start_time=0,{shape.filters}"
            graph = f"[0:V:0]{steady},tpad=stop_mode=clone:stop=-1,trim=end_frame={frames}[v]"
        else:
            still = Path(name, "card.png")
            (card or dimmed(None, shape.size)).save(still)
            arguments += ["-loop", "1", "-framerate", str(shape.rate), "-i", url(still)]
            graph = f"[1:v]{_rgb(shape)},trim=end_frame={frames}[v]"
        _piece(arguments, f"{graph};{sound}", shape, target, recording)


def encode_insert(
    insert: Insert, at: int, shape: Shape, behind: Image.Image | None, level: float, target: Path
) -> None:
    """Write what is put in; parameters and errors as `encode_clip`. `level` is the peak of its tones."""
    frames = insert.frames(shape.rate)
    with tempfile.TemporaryDirectory(dir=target.parent) as name:
        lines = ["ffconcat version 1.0"]
        for number, (picture, stays) in enumerate(pictures(insert, shape.size, behind, shape.rate)):
            file = f"{number:05d}.jpg"
            picture.save(Path(name, file), quality=95, subsampling=0)
            lines += [f"file {file}", f"duration {float(stays / shape.rate):.6f}"]
        lines.append(lines[-2])  # the list's last length counts only when another picture follows
        listed, sound = Path(name, "list.txt"), Path(name, "tones.wav")
        listed.write_text("\n".join(lines) + "\n", encoding="utf-8")
        samples = _samples(at, frames, shape.rate)
        write_tones(insert, shape.rate, level, shape.channels, sound, samples)
        graph = (
            f"[0:v]fps=fps={shape.rate}:start_time=0,{_rgb(shape)},tpad=stop_mode=clone:stop=-1,"
            f"trim=end_frame={frames}[v];[1:a]{_sound(samples, shape)}[a]"
        )
        _piece(["-f", "concat", "-i", url(listed), "-i", url(sound)], graph, shape, target, target)


def last_frame(recording: Path, frame: int, shape: Shape, target: Path) -> Image.Image | None:
    """Return a frame of the class in the form of the film; None when it cannot be read."""
    with tempfile.TemporaryDirectory(dir=target) as name:
        file = Path(name, "frame.png")
        at = float(frame / shape.rate)
        arguments = [*_GUARD, "-ss", f"{at:.6f}", "-i", url(recording), "-map", "0:V:0", "-frames:v", "1"]
        run([*arguments, "-vf", shape.filters, "-f", "image2", "-y", url(file)], recording)
        if not file.exists() or not file.stat().st_size:
            return None
        with Image.open(file) as read:
            return read.convert("RGB")


def join(pieces: list[Path], lesson: Lesson, target: Path) -> None:
    """Join the pieces; the picture is copied, the sound becomes AAC, chapters and captions go inside.

    Raises
    ------
    ProgramError, FolderError
        As `encode_clip`.
    """
    folder = pieces[0].parent
    listed, chapters, captions = (folder / name for name in ("list.txt", "chapters.txt", "captions.srt"))
    listed.write_text("ffconcat version 1.0\n" + "".join(f"file {p.name}\n" for p in pieces), encoding="utf-8")
    chapters.write_text(ffmetadata(lesson), encoding="utf-8", newline="\n")
    srt = caption_files.srt(lesson)
    captions.write_text(srt, encoding="utf-8", newline="\n")
    language = three_letters(lesson.language)
    arguments = ["-f", "concat", "-i", url(listed), "-f", "ffmetadata", "-i", url(chapters)]
    tracks = ["-map", "0:v", "-map", "0:a", "-c:v", "copy", "-c:a", "aac", "-b:a", "160k"]
    tracks += [
        "-map_metadata:g",
        "-1",
        "-map_metadata:s",
        "-1",
        "-metadata",
        f"title={one_line(lesson.title)}",
        "-map_chapters",
        "1",
    ]
    tracks += ["-metadata:s:a:0", f"language={language}"]
    if srt.strip():
        arguments += ["-f", "srt", "-i", url(captions)]
        tracks += ["-map", "2:s", "-c:s", "mov_text", "-disposition:s:0", "default"]
        tracks += ["-metadata:s:s:0", f"language={language}", "-metadata:s:s:0", f"title={CAPTIONS_NAME}"]
    with whole_file(target) as draft:
        form = ["-movflags", "+faststart", "-movie_timescale", str(CHAPTER_TIMESCALE), "-f", "mp4"]
        run([*arguments, *tracks, *form, "-y", url(draft)], target)


def _samples(at: int, frames: int, rate: Fraction) -> int:
    """Samples of a piece: reckoned from the start of the film, so that rounding never adds up."""
    return samples_at(at + frames, rate) - samples_at(at, rate)


def _sound(samples: int, shape: Shape) -> str:
    layout = "mono" if shape.channels == 1 else "stereo"
    form = f"aformat=sample_fmts=s16:channel_layouts={layout}"
    return f"aresample={RATE}:async=1:first_pts=0,{form},apad,atrim=end_sample={samples}"


def _rgb(shape: Shape) -> str:
    width, height = shape.size
    return f"scale={width}:{height}:out_color_matrix=bt709:out_range=tv,setsar=1,format=yuv420p"


def _piece(arguments: list[str], graph: str, shape: Shape, target: Path, where: Path) -> None:
    # A sound of its own at each key frame of the picture makes the film easy to search; two seconds is usual.
    keys = ["-g", str(round(2 * shape.rate))]
    with whole_file(target) as draft:
        code = [
            *VIDEO_CODE,
            *keys,
            "-r",
            str(shape.rate),
            "-c:a",
            "pcm_s16le",
            "-map_metadata",
            "-1",
            "-map_chapters",
            "-1",
        ]
        run(
            [
                *arguments,
                "-filter_complex",
                graph,
                "-map",
                "[v]",
                "-map",
                "[a]",
                *code,
                "-f",
                "mov",
                "-y",
                url(draft),
            ],
            where,
        )
