"""The recording with chapters and a caption track inside, streams copied."""

from __future__ import annotations

import tempfile
from dataclasses import replace
from pathlib import Path

from segmenter.containers import GUARDS
from segmenter.files import whole_file
from segmenter.lesson import Lesson
from segmenter.programs import run, url
from segmenter.publish.chapters import ffmetadata, one_line
from segmenter.publish.languages import quicktime, three_letters
from segmenter.publish.streams import Form, Streams, form_for, streams_of, web_form
from segmenter.publish.viewers import withheld

CAPTIONS_NAME = "Captions"
"""What players show in their menu of tracks."""
CHAPTER_TIMESCALE = 1000
"""Milliseconds: left to itself, ffmpeg's muxer takes a finer scale, in which a chapter above 89 s has no room."""


def embed(
    source: Path,
    lesson: Lesson,
    captions_srt: str,
    folder: Path,
    stem: str,
    sound: Path | None = None,
    *,
    alone: bool = False,
) -> Path:
    """Copy the recording into `folder` with chapters and a caption track, and return the new file.

    Picture and sound stay as they are, with their turn, colours, languages and flags; caption tracks in
    other languages too, unless something is kept from viewers. Other tags of the original (place, device,
    names) are left behind: a class is health data.

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
    alone : bool
        Whether `sound` takes the place of all sound tracks.

    Raises
    ------
    MediaError
        If the recording cannot be read.
    ProgramError, FolderError
        If ffmpeg fails, or the folder cannot be written.
    """
    streams = streams_of(source)
    form = form_for(source, streams)
    if alone:
        streams = replace(streams, audio=streams.audio[:1])
    target = folder / f"{stem}{form.suffix}"
    if target.exists() and target.samefile(source):
        target = folder / f"{stem}-lesson{form.suffix}"
    _write(source, target, lesson, captions_srt, streams, form, sound)
    return target


def web_copy(source: Path, lesson: Lesson, captions_srt: str, folder: Path, stem: str) -> Path | None:
    """Write ``STEM-web.mp4`` for browsers where they would not play the recording, else nothing.

    Only what browsers cannot play is encoded anew: the picture as H.264, 8 bit, 4:2:0, standard range, turned
    upright; the sound as AAC. Parameters and errors as `embed`.

    Returns
    -------
    Path or None
        The copy; None when the recording plays as it is.
    """
    streams = streams_of(source)
    form = web_form(source, streams)
    if form is None:
        return None
    target = folder / f"{stem}-web.mp4"
    _write(source, target, lesson, captions_srt, streams, form)
    return target


def _write(
    source: Path, target: Path, lesson: Lesson, srt: str, streams: Streams, form: Form, sound: Path | None = None
) -> None:
    with tempfile.TemporaryDirectory() as name, whole_file(target) as draft:
        chapters, captions = Path(name, "chapters.txt"), Path(name, "captions.srt")
        chapters.write_text(ffmetadata(lesson), encoding="utf-8", newline="\n")
        captions.write_text(srt, encoding="utf-8", newline="\n")
        # An input that only lends its chapters has no stream to hang a graph on: hence a plain list.
        arguments = [word for option, value in GUARDS.items() for word in (f"-{option}", value)]
        arguments += ["-i", url(source), "-f", "ffmetadata", "-i", url(chapters)]
        if srt.strip():
            arguments += ["-f", "srt", "-i", url(captions)]
        pictures = [word for picture in streams.video for word in ("-map", f"0:{picture.index}")]
        if sound is not None:
            arguments += ["-i", url(sound)]
            arguments += [*pictures, "-map", f"{3 if srt.strip() else 2}:a"]
            arguments += ["-map", "0:a", "-map", "-0:a:0"] if len(streams.audio) > 1 else []
        else:
            arguments += [*pictures, "-map", "0:a"]
        arguments += _tracks(lesson, streams, form, captioned=bool(srt.strip()))
        arguments += [] if sound is None else ["-c:a:0", "copy"]
        arguments += ["-metadata", f"title={one_line(lesson.title)}", "-map_chapters", "1"]
        if form.muxer in {"mp4", "mov"}:
            # The index first, so that a player starts before all has been read (ISO/IEC 14496-12). Chapters take
            # the movie's unit, which ffmpeg 9 makes so small for several tracks that 32 bits hold 45 seconds.
            arguments += ["-movflags", "+faststart", "-movie_timescale", str(CHAPTER_TIMESCALE)]
        run([*arguments, "-f", form.muxer, "-y", url(draft)], source)


def _tracks(lesson: Lesson, streams: Streams, form: Form, *, captioned: bool) -> list[str]:
    language = three_letters(lesson.language)
    mark = quicktime if form.muxer == "mov" else str
    arguments = ["-map_metadata:g", "-1", "-map_metadata:s", "-1"]
    arguments += ["-c:v", form.picture, "-c:a", form.sound]
    arguments += list(form.options)
    for at, audio in enumerate(streams.audio):
        # The first track is what was heard; what another one speaks is not known unless it says so.
        spoken = audio.language or ("und" if at else language)
        arguments += [f"-metadata:s:a:{at}", f"language={mark(spoken)}"]
        if audio.title:
            arguments += [f"-metadata:s:a:{at}", f"title={one_line(audio.title)}"]
    kept = [s for s in streams.subtitles if s.codec in form.keeps and s.language not in {None, language}]
    if withheld(lesson):
        kept = []  # nobody has looked whether they say what viewers are not to read
    if captioned:
        arguments += ["-map", "2:s", "-c:s:0", form.captions, "-disposition:s:0", "default"]
        arguments += ["-metadata:s:s:0", f"language={mark(language)}", "-metadata:s:s:0", f"title={CAPTIONS_NAME}"]
        arguments += ["-metadata:s:s:0", f"handler_name={CAPTIONS_NAME}"]
    for at, track in enumerate(kept, int(captioned)):
        arguments += ["-map", f"0:{track.index}", f"-c:s:{at}", "copy", f"-disposition:s:{at}", "0"]
        arguments += [f"-metadata:s:s:{at}", f"language={mark(track.language or 'und')}"]
    return arguments
