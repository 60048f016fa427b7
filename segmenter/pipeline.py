"""The stages of one build, in order: hear, understand, lay the edits over, publish.

Each finished stage is stored under a key made from the content of the recording, the
settings it depends on and its own version, so that the same command after a kill, or
after a small change, does only what is still to do.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from segmenter import __version__
from segmenter.copies import media_is_stale, write_media
from segmenter.edits.journal import Journal
from segmenter.errors import MediaError
from segmenter.files import write_whole
from segmenter.folder import claimed
from segmenter.hear.media import stamp_of, unchanged
from segmenter.heard import Heard
from segmenter.hearing import hear
from segmenter.lesson import Lesson, MadeBy, to_json
from segmenter.made import Made, read_made
from segmenter.progress import Watch, unwatched
from segmenter.publish.handout import page_address
from segmenter.publishing import OUTPUTS, finished, write_texts
from segmenter.settings import BuildSettings
from segmenter.times import counted
from segmenter.together import settle
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
        settle(folder)
        Journal(folder).mend()
        catalogue = load_catalogue(settings.catalogue)
        plan = read_plan(settings.plan, catalogue) if settings.plan else None
        stamp = stamp_of(recording) if recording else None
        heard = hear(recording, transcript, work, settings, watch)
        watch("lesson", 0.0, "")
        draft = _draft(heard, understand(heard, catalogue, plan), settings, source)
        # Edits made while the recording was listened to count too.
        lesson, _ = finished(draft, folder)
        watch("lesson", 1.0, _summary(lesson))
        made = _made(recording, folder, settings)
        if recording is not None and stamp is not None:
            unchanged(recording, stamp)
        return Built(lesson, folder, tuple(_publish(lesson, draft, recording, folder, watch, made)))


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


def _publish(
    lesson: Lesson, draft: Lesson, recording: Path | None, folder: Path, watch: Watch, made: Made
) -> list[Path]:
    watch("files", 0.0, "")
    write_whole(folder / "draft.json", to_json(draft))
    if recording is not None and media_is_stale(lesson, folder, made):
        made = write_media(lesson, folder, made)
    watch("files", 0.5, "")
    write_texts(lesson, folder, made)
    wanted = ("draft.json", *made.copies, *(name for name in OUTPUTS if name not in made.left_out))
    files = [folder / name for name in (*wanted, "index.html", "lesson.json")]
    watch("files", 1.0, f"{len(files)} files")
    return files


def _made(recording: Path | None, folder: Path, settings: BuildSettings) -> Made:
    """How this folder is made: as it was, with the choices of this build."""
    choices: dict[str, Any] = {
        "recording": str(recording.resolve()) if recording else None,
        "page_language": settings.page_language,
        "improve_sound": settings.improve_sound,
        "web": settings.web,
        "paper": settings.paper,
        "address": settings.address,
    }
    before = read_made(folder)
    if recording is None:
        choices |= {"media": None, "media_key": None, "copies": (), "pictures": {}, "picture_keys": {}}
        choices |= {"second_pictures": {}}
    return before.model_copy(update=choices)


def _summary(lesson: Lesson) -> str:
    exercises = sum(chapter.kind == "exercise" for chapter in lesson.chapters)
    stops = sum(len(chapter.practice) for chapter in lesson.chapters)
    return f"{counted(exercises, 'exercise')}, {counted(stops, 'practice stop')}"


def _title(source: Path) -> str:
    words = source.stem.replace("-", " ").replace("_", " ").split()
    text = " ".join(words)
    return text[:1].upper() + text[1:] if text else "Class"
