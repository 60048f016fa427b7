"""The stages of one build, in order: hear, understand, lay the edits over, publish.

Each finished stage is stored under a key made from the content of the recording, the
settings it depends on and its own version, so that the same command after a kill, or
after a small change, does only what is still to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from segmenter import __version__
from segmenter.edits import apply_edits, read_edits
from segmenter.errors import MediaError
from segmenter.files import write_whole
from segmenter.folder import claimed
from segmenter.hear.media import sha256_of
from segmenter.heard import Heard
from segmenter.hearing import hear
from segmenter.lesson import Lesson, MadeBy, to_json
from segmenter.progress import Watch, unwatched
from segmenter.publish import caption_files, captions
from segmenter.publish.base import publish
from segmenter.publish.handout import page_address, write_handouts
from segmenter.publish.improve import improved_sound
from segmenter.publish.page.page import render
from segmenter.publish.stills import stills
from segmenter.publish.streams import form_for
from segmenter.publish.video import embed, web_copy
from segmenter.settings import BuildSettings
from segmenter.times import counted
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.plan import read_plan
from segmenter.understand.timeline import Understood, understand


@dataclass(frozen=True)
class Built:
    """A finished build: the lesson, its folder, and the files written."""

    lesson: Lesson
    folder: Path
    files: tuple[Path, ...]


def build(
    recording: Path | None,
    folder: Path,
    settings: BuildSettings | None = None,
    *,
    transcript: Path | None = None,
    watch: Watch = unwatched,
) -> Built:
    """Turn a recording, a transcript, or both into a lesson folder.

    Parameters
    ----------
    recording : Path or None
        Anything ffmpeg reads that has sound; None when only a transcript exists.
    folder : Path
        A new folder, or an earlier lesson: then it is updated and a person's edits are kept.
    settings : BuildSettings or None
        Choices; None takes the defaults.
    transcript : Path or None
        Captions or a timed transcript to use instead of recognising the speech.
    watch : Watch
        Told how far the build is.

    Raises
    ------
    SegmenterError
        If something is wrong with the input, the weights or the folder. What was finished is kept.
    """
    settings = settings or BuildSettings()
    source = _source(recording, transcript)
    if settings.address is not None:
        page_address(settings.address)
    with claimed(folder) as work:
        # Whatever can be wrong with small files is found before the long work begins.
        edits = read_edits(folder / "edits.json")
        catalogue = load_catalogue(settings.catalogue)
        plan = read_plan(settings.plan, catalogue) if settings.plan else None
        heard = hear(recording, transcript, work, settings, watch)
        watch("lesson", 0.0, "")
        draft = _draft(heard, understand(heard, catalogue, plan), settings, source)
        lesson = _with_captions(apply_edits(draft, edits))
        watch("lesson", 1.0, _summary(lesson))
        write_whole(folder / "draft.json", to_json(draft))
        better = work if settings.improve_sound else None
        return Built(lesson, folder, tuple(_publish(lesson, recording, folder, watch, better, settings)))


def _source(recording: Path | None, transcript: Path | None) -> Path:
    given = [path for path in (recording, transcript) if path is not None]
    if not given:
        raise MediaError("there is nothing to build from", None, "Give a recording, a transcript, or both")
    for path in given:
        if not path.exists():
            raise MediaError("there is no such file", path, "Check the name and the folder")
    return given[0]


def _draft(heard: Heard, understood: Understood, settings: BuildSettings, source: Path) -> Lesson:
    return Lesson(
        title=settings.title or _title(source),
        language=heard.language,
        recording=heard.recording,
        chapters=understood.chapters,
        words=understood.words,
        checks=(*heard.checks, *understood.checks),
        made_by=MadeBy(
            segmenter=__version__, speech_model=heard.speech_model, settings={"language": settings.language}
        ),
    )


def _with_captions(lesson: Lesson) -> Lesson:
    cues, checks = captions.compose(lesson)
    return lesson.model_copy(update={"captions": cues, "checks": (*lesson.checks, *checks)})


def _publish(
    lesson: Lesson,
    recording: Path | None,
    folder: Path,
    watch: Watch,
    improve_in: Path | None,
    settings: BuildSettings,
) -> list[Path]:
    watch("files", 0.0, "")
    files = [folder / "draft.json"]
    media = None
    pictures: dict[str, str] = {}
    if recording is not None:
        sound = None
        if improve_in is not None:
            content = lesson.recording.sha256 or sha256_of(recording)
            sound = improved_sound(recording, form_for(recording).suffix, content, improve_in)
        cues = caption_files.srt(lesson)
        media = embed(recording, lesson, cues, folder, recording.stem, sound)
        files.append(media)
        copy = web_copy(media, lesson, cues, folder, recording.stem) if settings.web else None
        if copy is not None:
            media = copy
            files.append(copy)
        watch("files", 0.3, "")
        pictures = stills(recording, lesson, folder)
    watch("files", 0.5, "")
    files += publish(lesson, folder, pictures)
    files += write_handouts(lesson, folder, pictures, settings.paper, settings.address)
    name = media.name if media else None
    page = render(lesson, name, settings.page_language, pictures, sheets=True)
    write_whole(folder / "index.html", page)
    # Written last: a folder with this file is a finished lesson.
    write_whole(folder / "lesson.json", to_json(lesson))
    watch("files", 1.0, f"{len(files) + 2} files")
    return [*files, folder / "index.html", folder / "lesson.json"]


def _summary(lesson: Lesson) -> str:
    exercises = sum(chapter.kind == "exercise" for chapter in lesson.chapters)
    stops = sum(len(chapter.practice) for chapter in lesson.chapters)
    return f"{counted(exercises, 'exercise')}, {counted(stops, 'practice stop')}"


def _title(source: Path) -> str:
    words = source.stem.replace("-", " ").replace("_", " ").split()
    text = " ".join(words)
    return text[:1].upper() + text[1:] if text else "Class"
