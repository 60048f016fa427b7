"""The recording's copies in a lesson folder, and the pictures: work for minutes, done only when it must be."""

from __future__ import annotations

import contextlib
import hashlib
import shutil
import tempfile
from pathlib import Path

from segmenter.errors import MediaError
from segmenter.folder import WORK
from segmenter.hear.media import sha256_of
from segmenter.lesson import Lesson
from segmenter.made import Made, keep_made
from segmenter.publish import caption_files
from segmenter.publish.chapters import ffmetadata
from segmenter.publish.improve import improved_sound
from segmenter.publish.pairs import is_pair, places, second_stills
from segmenter.publish.silence import name_spans, silenced_sound
from segmenter.publish.stills import FOLDER as STILLS
from segmenter.publish.stills import shown_in, stills
from segmenter.publish.streams import form_for
from segmenter.publish.video import embed, web_copy
from segmenter.publish.viewers import for_viewers
from segmenter.together import together


def write_media(lesson: Lesson, folder: Path, made: Made) -> Made:
    """Make the recording's copies and the pictures; return what is known of them, which is also kept.

    Where the original is gone, or another recording took its place, the copy in the folder is the source: its
    streams are the same.

    Raises
    ------
    MediaError
        If neither is there any more, or the source cannot be read.
    FolderError
        If the folder cannot be written.
    """
    source = _source(folder, made)
    if source is not None and made.recording is not None and source == Path(made.recording):
        original, made = source, _of_the_same(source, lesson, folder, made)
        source = _source(folder, made)
        if source is None:
            raise MediaError(
                "another recording lies where the one of this lesson was",
                original,
                "Put the first one back, or build a new lesson from this one",
            )
    if source is None:
        return made
    lesson = for_viewers(lesson)
    if name_spans(lesson) and made.copies and source == folder / made.copies[0]:
        source, made = _set_aside(source, folder, made)
    cues = caption_files.srt(lesson)
    pictures = _pictures_needed(lesson, made)
    with together(folder) as stage:
        copies = _copies(source, lesson, cues, folder, stage, made)
        found, seconds = made.pictures, made.second_pictures
        if pictures != made.picture_keys:
            found = stills(source, lesson, stage)
            seconds = second_stills(source, lesson, stage, found)
    new = made.model_copy(
        update={
            "copies": tuple(copies),
            "media": copies[-1],
            "media_key": _media_key(lesson, made),
            "pictures": found,
            "second_pictures": seconds,
            "picture_keys": pictures,
        }
    )
    keep_made(folder, new)
    for old in (folder / STILLS).glob("[0-9][0-9]*.jpg"):
        if f"{STILLS}/{old.name}" not in {*found.values(), *seconds.values()}:
            with contextlib.suppress(OSError):
                old.unlink()
    return new


def _set_aside(source: Path, folder: Path, made: Made) -> tuple[Path, Made]:
    """Keep the only copy there is before a name is silenced in it: that may be taken back."""
    kept = folder / WORK / "source" / source.name
    kept.parent.mkdir(exist_ok=True)
    shutil.copy2(source, kept)
    # What was improved once is not improved again.
    return kept, made.model_copy(update={"recording": str(kept), "improve_sound": False})


def _of_the_same(source: Path, lesson: Lesson, folder: Path, made: Made) -> Made:
    # What was set aside in the work folder is a copy, with another content than the original.
    if source.is_relative_to(folder / WORK) or lesson.recording.sha256 in {None, sha256_of(source)}:
        return made
    return made.model_copy(update={"recording": None})


def media_is_stale(lesson: Lesson, folder: Path, made: Made) -> bool:
    """Whether chapters, captions or pictures inside the recording's copy are no longer those of the lesson."""
    if _source(folder, made) is None:
        return False
    lesson = for_viewers(lesson)
    gone = made.media is None or not (folder / made.media).exists()
    return gone or made.media_key != _media_key(lesson, made) or made.picture_keys != _pictures_needed(lesson, made)


def _copies(source: Path, lesson: Lesson, cues: str, folder: Path, stage: Path, made: Made) -> list[str]:
    own = made.media is not None and (made.recording is None or not Path(made.recording).exists())
    stem = Path(made.copies[0]).stem if own and made.copies else Path(made.recording or source).stem
    suffix = form_for(source).suffix
    beside = folder / f"{stem}{suffix}"
    if not own and beside.exists() and beside.samefile(source):
        stem = f"{stem}-lesson"  # a person's own file is never written over
    sound = None
    if made.improve_sound and not own:
        content = lesson.recording.sha256 or sha256_of(source)
        sound = improved_sound(source, suffix, content, folder / WORK)
    spans = name_spans(lesson)
    with tempfile.TemporaryDirectory(dir=folder / WORK) as place:
        if spans:
            quiet = Path(place, f"quiet{'.webm' if suffix == '.webm' else '.m4a'}")
            silenced_sound(sound or source, spans, quiet)
            sound = quiet
        first = embed(source, lesson, cues, stage, stem, sound, alone=bool(spans))
    copy = web_copy(first, lesson, cues, stage, stem) if made.web else None
    return [first.name, *([copy.name] if copy is not None else [])]


def _source(folder: Path, made: Made) -> Path | None:
    if made.recording is not None and Path(made.recording).exists():
        return Path(made.recording)
    if made.copies and (folder / made.copies[0]).exists():
        return folder / made.copies[0]
    return None


def _media_key(lesson: Lesson, made: Made) -> str:
    parts = (
        ffmetadata(lesson),
        caption_files.srt(lesson),
        lesson.title,
        lesson.language,
        lesson.recording.sha256 or "",
    )
    names = f" {name_spans(lesson)}" if name_spans(lesson) else ""
    return _digest("\0".join((*parts, f"{made.improve_sound} {made.web}{names}")))


def _pictures_needed(lesson: Lesson, made: Made) -> dict[str, str]:
    if lesson.recording.video is None:
        return {}
    order = [
        (
            chapter.id,
            f"{number} {chapter.still_ms if chapter.still_ms is not None else shown_in(chapter)}"
            f" {places(chapter) if is_pair(chapter) else ''}",
        )
        for number, chapter in enumerate(lesson.exercises(), 1)
    ]
    return {key: _digest(text)[:12] for key, text in order}


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
