"""The recording with chapters and a caption track inside, streams copied."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass
from pathlib import Path

import av.stream

from segmenter.containers import GUARDS, open_recording
from segmenter.errors import MediaError
from segmenter.files import whole_file
from segmenter.lesson import Lesson
from segmenter.programs import run, url
from segmenter.publish.chapters import ffmetadata, one_line

# What players of each container can be trusted with; ffmpeg itself would write more.
_IN_MP4 = {"h264", "hevc", "av1", "vp9", "mpeg4", "aac", "mp3", "ac3", "eac3", "alac", "opus"}
_IN_M4A = {"aac", "alac", "mp3", "ac3", "eac3"}
_IN_WEBM = {"vp8", "vp9", "av1", "vorbis", "opus"}

_DECODERS = {"libdav1d": "av1", "libopus": "opus", "libvorbis": "vorbis", "mp3float": "mp3"}
"""Decoders whose name is not that of their codec."""

# ISO 639-1 to 639-2/T, which is what MP4 and Matroska tracks are marked with.
_THREE = {
    "ar": "ara", "bg": "bul", "ca": "cat", "cs": "ces", "cy": "cym", "da": "dan", "de": "deu", "el": "ell",
    "en": "eng", "es": "spa", "et": "est", "eu": "eus", "fa": "fas", "fi": "fin", "fr": "fra", "ga": "gle",
    "he": "heb", "hi": "hin", "hr": "hrv", "hu": "hun", "id": "ind", "is": "isl", "it": "ita", "ja": "jpn",
    "ko": "kor", "lt": "lit", "lv": "lav", "nb": "nob", "nl": "nld", "nn": "nno", "no": "nor", "pl": "pol",
    "pt": "por", "ro": "ron", "ru": "rus", "sk": "slk", "sl": "slv", "sr": "srp", "sv": "swe", "ta": "tam",
    "th": "tha", "tr": "tur", "uk": "ukr", "ur": "urd", "vi": "vie", "zh": "zho",
}  # fmt: skip


@dataclass(frozen=True)
class Form:
    """How a recording is wrapped: file suffix, ffmpeg's muxer, caption codec, and the codec of the sound."""

    suffix: str
    muxer: str
    captions: str
    sound: str = "copy"


def form_for(source: Path) -> Form:
    """Choose the container that holds the streams of `source` as they are.

    MP4 family stays MP4, or QuickTime when a codec is at home only there; WebM stays WebM;
    Matroska stays Matroska; sound alone becomes m4a, encoded anew only when it cannot be in one.

    Raises
    ------
    MediaError
        If it is no recording that can be read.
    """
    with open_recording(source) as media:
        if not media.streams.audio:
            raise MediaError("this recording has no sound", source, "Choose one with an audio track")
        name = media.format.name
        pictures = [s for s in media.streams.video if not s.disposition & av.stream.Disposition.attached_pic]
        codecs = {s.codec_context.name for s in (*pictures, *media.streams.audio)}
    codecs = {_DECODERS.get(c, c) for c in codecs}
    if "matroska" in name:
        if source.suffix.lower() in {".webm", ".weba"} and codecs <= _IN_WEBM:
            return Form(".webm", "webm", "webvtt")
        return Form(".mkv", "matroska", "srt")
    if pictures:
        if codecs <= _IN_MP4:
            return Form(".mp4", "mp4", "mov_text")
        # QuickTime files stay what they are; Matroska takes whatever else there is.
        return Form(".mov", "mov", "mov_text") if "mov" in name else Form(".mkv", "matroska", "srt")
    return Form(".m4a", "mp4", "mov_text", "copy" if codecs <= _IN_M4A else "aac")


def embed(
    source: Path, lesson: Lesson, captions_srt: str, folder: Path, stem: str, sound: Path | None = None
) -> Path:
    """Copy the recording into `folder` with chapters and a caption track, and return the new file.

    Tags of the original (place, device, names) are left behind: a class is health data.

    Parameters
    ----------
    source : Path
        The recording; never written to, even when it lies in `folder` under the same name.
    lesson : Lesson
        Gives title, language and chapters.
    captions_srt : str
        Captions as SRT; none are put in when there is no cue.
    folder : Path
        An existing folder.
    stem : str
        File name without suffix; ``-lesson`` is added where the original already has that name.
    sound : Path or None
        A file whose sound takes the place of the recording's first sound track; it is copied as it is.

    Raises
    ------
    MediaError
        If the recording cannot be read.
    ProgramError, FolderError
        If ffmpeg fails, or the folder cannot be written.
    """
    form = form_for(source)
    target = folder / f"{stem}{form.suffix}"
    if target.exists() and target.samefile(source):
        target = folder / f"{stem}-lesson{form.suffix}"
    with tempfile.TemporaryDirectory() as name, whole_file(target) as draft:
        chapters, captions = Path(name, "chapters.txt"), Path(name, "captions.srt")
        chapters.write_text(ffmetadata(lesson), encoding="utf-8", newline="\n")
        captions.write_text(captions_srt, encoding="utf-8", newline="\n")
        shown = captions if captions_srt.strip() else None
        run(_arguments(source, draft, lesson, form, chapters=chapters, captions=shown, sound=sound), source)
    return target


def _arguments(
    source: Path,
    draft: Path,
    lesson: Lesson,
    form: Form,
    *,
    chapters: Path,
    captions: Path | None,
    sound: Path | None,
) -> list[str]:
    language = _THREE.get(lesson.language.split("-")[0].lower(), "und")
    # An input that only lends its chapters has no stream to hang a graph on: hence a plain list.
    arguments = [word for name, value in GUARDS.items() for word in (f"-{name}", value)]
    arguments += ["-i", url(source), "-f", "ffmetadata", "-i", url(chapters)]
    if captions is not None:
        arguments += ["-f", "srt", "-i", url(captions)]
    if sound is not None:
        arguments += ["-i", url(sound)]
        place = 2 if captions is None else 3
        arguments += ["-map", "0:V?", "-map", f"{place}:a", "-map", "0:a", "-map", "-0:a:0"]
    else:
        arguments += ["-map", "0:V?", "-map", "0:a"]
    if captions is not None:
        arguments += ["-map", "2:s", "-c:s", form.captions, "-disposition:s:0", "default"]
        arguments += ["-metadata:s:s:0", f"language={language}"]
    arguments += [
        "-map_metadata:g",
        "-1",
        "-map_metadata:s",
        "-1",
        "-map_chapters",
        "1",
        "-metadata",
        f"title={one_line(lesson.title)}",
    ]
    arguments += ["-metadata:s:a", f"language={language}", "-c:v", "copy", "-c:a", form.sound]
    if sound is not None:
        arguments += ["-c:a:0", "copy"]
    if form.sound == "aac":
        arguments += ["-b:a", "160k"]
    if form.muxer in {"mp4", "mov"}:
        arguments += ["-movflags", "+faststart"]
    return [*arguments, "-f", form.muxer, "-y", url(draft)]
