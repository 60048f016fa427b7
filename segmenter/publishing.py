"""From a finished lesson to the files of its folder: what changed is written, all of it at once.

The recording's copy and the pictures are work for minutes; they are made anew only when what goes into them
changed. Everything else is made in a moment and appears together.
"""

from __future__ import annotations

import contextlib
import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import Field

from segmenter.cache import StageCache
from segmenter.edits.apply import Misfit, lay_over
from segmenter.edits.damage import damaged, told
from segmenter.edits.journal import FILE, Journal, active, read_edits, read_entries
from segmenter.edits.kinds import ENTRIES, BaseEdit, Edit
from segmenter.edits.telling import named
from segmenter.errors import FolderError, MediaError
from segmenter.files import write_whole
from segmenter.folder import WORK, claimed
from segmenter.hear.media import sha256_of
from segmenter.heard import CURVE, Curve
from segmenter.lesson import Frozen, Lesson, lesson_from_json, to_json
from segmenter.publish import caption_files
from segmenter.publish.base import WRITERS, Pictures
from segmenter.publish.caption_store import CaptionStore
from segmenter.publish.chapters import ffmetadata
from segmenter.publish.follow.film import NAME as FILM
from segmenter.publish.hand_on import FOLDER as FOR_VIEWERS
from segmenter.publish.hand_on import hand_on
from segmenter.publish.handout import HANDOUTS, Paper, handouts
from segmenter.publish.hold_traces import FOLDER as HOLDS
from segmenter.publish.hold_traces import hold_traces
from segmenter.publish.improve import improved_sound
from segmenter.publish.page.page import render
from segmenter.publish.pairs import is_pair, places, second_stills
from segmenter.publish.stills import FOLDER as STILLS
from segmenter.publish.stills import shown_in, stills
from segmenter.publish.streams import SUFFIXES, form_for
from segmenter.publish.upload_text import upload_text
from segmenter.publish.video import embed, web_copy
from segmenter.publish.viewers import for_viewers
from segmenter.times import clock
from segmenter.together import settle, together

WHOLE = frozenset({"checks.html", "sheet.csv", "sheet.xlsx"})
"""Files for the clinician: they show hidden chapters too, and are not handed on to viewers."""
OUTPUTS = (*WRITERS, *HANDOUTS)
"""Files that a person may leave out."""
_NOTE = "published.json"


class Made(Frozen):
    """How a folder was made, so that it can be made again; kept in its work folder.

    Parameters
    ----------
    recording : str or None
        Where the original lies; it may be gone.
    page_language, improve_sound, web, paper, address
        As in `segmenter.settings.BuildSettings`.
    left_out : tuple of str
        Files that are not wanted.
    media, media_key : str or None
        The recording's copy that the page plays, and what went into it.
    copies : tuple of str
        All copies of the recording.
    pictures, second_pictures : dict
        Path of a picture by chapter id, and of a second one for pairs; `picture_keys` what each was taken from.
    hand_on : bool
        Whether what viewers may have is put into a folder of its own as well.
    published : str or None
        The draft and the number of records when a person last published; see `mark_of`.
    """

    recording: str | None = None
    page_language: str | None = None
    improve_sound: bool = False
    web: bool = False
    paper: Paper = "a4"
    address: str | None = None
    left_out: tuple[str, ...] = ()
    media: str | None = None
    media_key: str | None = None
    copies: tuple[str, ...] = ()
    pictures: dict[str, str] = Field(default_factory=dict)
    second_pictures: dict[str, str] = Field(default_factory=dict)
    picture_keys: dict[str, str] = Field(default_factory=dict)
    hand_on: bool = False
    published: str | None = None


@dataclass(frozen=True)
class Published:
    """A published lesson: what was written, which edits have no place, and whether media was worked on."""

    lesson: Lesson
    files: tuple[Path, ...]
    misfits: tuple[Misfit, ...]
    media_work: bool


def read_made(folder: Path) -> Made:
    """Return how a folder was made; defaults where nothing is known, as in folders of an earlier version.

    Where the note is damaged, the recording that lies in the folder is found again.
    """
    try:
        made = Made.model_validate_json((folder / WORK / _NOTE).read_bytes())
    except OSError:
        return Made()
    except ValueError:
        made = Made()
    if made.model_fields_set:
        return made
    found = sorted(p.name for p in folder.iterdir() if p.suffix in SUFFIXES and p.name != FILM)
    return Made(media=found[0], copies=tuple(found[:1])) if found else Made()


def read_draft(folder: Path) -> Lesson:
    """Read the machine's draft of a lesson folder.

    Raises
    ------
    FolderError
        If there is none.
    LessonError
        If it cannot be read.
    """
    try:
        return lesson_from_json((folder / "draft.json").read_bytes(), str(folder / "draft.json"))
    except FileNotFoundError as error:
        raise FolderError(
            "this folder holds no draft of a lesson", folder, "Build the lesson first: segmenter build RECORDING"
        ) from error


def read_curve(folder: Path) -> Curve | None:
    """Return pitch and level of the recording as the build kept them; None where they were not kept."""
    kept = StageCache(folder / WORK).latest(CURVE)
    try:
        curve = Curve.model_validate_json(kept) if kept is not None else None
        if curve is not None:
            curve.within(0, 0)  # values that cannot be unpacked are as good as none
    except ValueError:
        return None
    return curve


def mark_of(folder: Path) -> str | None:
    """Return a short name of the content of a folder's draft, to tell one draft from the next."""
    try:
        return hashlib.sha256((folder / "draft.json").read_bytes()).hexdigest()[:16]
    except OSError:
        return None


def finished(draft: Lesson, folder: Path) -> tuple[Lesson, tuple[Misfit, ...]]:
    """Return the draft of a folder with its edits laid over and captions made."""
    return lay_over(told(draft, folder), read_edits(folder / FILE), CaptionStore(folder / WORK))


def republish(folder: Path, made: Made | None = None, *, media: bool = True) -> Published:
    """Lay the edits over the draft again and write what changed.

    Parameters
    ----------
    folder : Path
        A lesson folder.
    made : Made or None
        Other choices than last time.
    media : bool
        Whether to bring the recording's copy and the pictures up to date as well; they follow the texts.

    Raises
    ------
    SegmenterError
        If the folder holds no draft, its files cannot be read, or it cannot be written.
    """
    draft = read_draft(folder)
    with claimed(folder):
        settle(folder)
        Journal(folder).mend()
        lesson, misfits = finished(draft, folder)
        state = f"{mark_of(folder)}:{len(read_entries(folder / FILE))}"
        made = (made or read_made(folder)).model_copy(update={"published": state})
        files = write_texts(lesson, folder, made)
        worked = False
        if media and media_is_stale(lesson, folder, made):
            write_media(lesson, folder, made)
            files = [*files, *write_texts(lesson, folder, read_made(folder))]
            worked = True
        return Published(lesson, tuple(dict.fromkeys(files)), misfits, worked)


def rewrite_texts(folder: Path) -> None:
    """Write the texts of a finished lesson again as they stand, when a film came to lie beside them.

    A folder whose making is not known, as of an earlier version, is left alone.

    Raises
    ------
    SegmenterError
        As `republish`.
    """
    if (folder / WORK / _NOTE).exists():
        with claimed(folder):
            settle(folder)
            file = folder / "lesson.json"
            write_texts(lesson_from_json(file.read_bytes(), str(file)), folder, read_made(folder))


def write_texts(lesson: Lesson, folder: Path, made: Made) -> list[Path]:
    """Write every file but copies of the recording and stills; return those, but for drawings, that changed."""
    for_them = for_viewers(lesson)
    pictures = {key: path for key, path in made.pictures.items() if (folder / path).exists()}
    traces = hold_traces(lesson, read_curve(folder))
    seen = Pictures(pictures, traces)
    contents: dict[str, str | bytes] = {
        name: writer.content(lesson if name in WHOLE else for_them, seen)
        for name, writer in WRITERS.items()
        if name not in made.left_out
    }
    media = made.media if made.media and (folder / made.media).exists() else None
    film = FILM if (folder / FILM).exists() else None
    if "upload.txt" in contents:
        contents["upload.txt"] = upload_text(for_them, film=film)
    second = {key: path for key, path in made.second_pictures.items() if (folder / path).exists()}
    sheets = handouts(for_them, folder, pictures, made.paper, made.address, second)
    contents |= {name: pdf for name, pdf in sheets.items() if name not in made.left_out}
    contents["index.html"] = render(
        for_them, media, made.page_language, pictures, sheets=not set(sheets) & set(made.left_out), film=film
    )
    contents |= {trace.name: trace.svg for trace in traces.values()}
    contents["lesson.json"] = to_json(lesson)
    changed = {name: data for name, data in contents.items() if not _same(folder / name, data)}
    unwanted = [name for name in OUTPUTS if name in made.left_out and (folder / name).exists()]
    drawn = (f"{HOLDS}/{old.name}" for old in (folder / HOLDS).glob("[0-9][0-9]-[0-9][0-9]*.svg"))
    unwanted += [name for name in drawn if name not in contents]
    write_whole(folder / WORK / _NOTE, to_json(made))
    if changed or unwanted:
        with together(folder, remove=unwanted) as stage:
            for name, data in changed.items():
                (stage / name).parent.mkdir(exist_ok=True)
                (stage / name).write_bytes(_bytes(data))
    if made.hand_on or (folder / FOR_VIEWERS).exists():
        # Nothing is handed on while the recording's copy still holds other words than the texts, or while
        # changes may be missing that took a name out.
        ready = made.hand_on and not damaged(folder) and not media_is_stale(lesson, folder, made)
        hand_on(folder, viewer_files(folder, made) if ready else [])
    return [folder / name for name in changed if Path(name).parent.name != HOLDS]


def viewer_files(folder: Path, made: Made) -> list[str]:
    """Names of a folder's files that viewers may have. A film from before the last change is none of them."""
    names = ["index.html", *OUTPUTS, *made.copies, *made.pictures.values(), *made.second_pictures.values()]
    film, lesson = folder / FILM, folder / "lesson.json"
    if film.exists() and film.stat().st_mtime_ns >= lesson.stat().st_mtime_ns:
        names.append(FILM)
    return [name for name in dict.fromkeys(names) if name not in WHOLE and (folder / name).is_file()]


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
        original, made = source, _of_the_same(source, lesson, made)
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
    write_whole(folder / WORK / _NOTE, to_json(new))
    for old in (folder / STILLS).glob("[0-9][0-9]*.jpg"):
        if f"{STILLS}/{old.name}" not in {*found.values(), *seconds.values()}:
            with contextlib.suppress(OSError):
                old.unlink()
    return new


def _of_the_same(source: Path, lesson: Lesson, made: Made) -> Made:
    if lesson.recording.sha256 in {None, sha256_of(source)}:
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
    own = bool(made.copies) and source == folder / made.copies[0]
    stem = Path(made.copies[0]).stem if own else Path(made.recording or source).stem
    suffix = form_for(source).suffix
    beside = folder / f"{stem}{suffix}"
    if not own and beside.exists() and beside.samefile(source):
        stem = f"{stem}-lesson"  # a person's own file is never written over
    sound = None
    if made.improve_sound and not own:
        content = lesson.recording.sha256 or sha256_of(source)
        sound = improved_sound(source, suffix, content, folder / WORK)
    first = embed(source, lesson, cues, stage, stem, sound)
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
    return _digest("\0".join((*parts, f"{made.improve_sound} {made.web}")))


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


def _same(path: Path, data: str | bytes) -> bool:
    try:
        return path.read_bytes() == _bytes(data)
    except OSError:
        return False


def _bytes(data: str | bytes) -> bytes:
    return data.encode() if isinstance(data, str) else data


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


@dataclass(frozen=True)
class Change:
    """One change by a person, with what became of it: it counts, was taken back, or has no place."""

    entry: Edit
    state: str

    def facts(self) -> dict[str, Any]:
        """Plain values, for scripts."""
        row = ENTRIES.dump_python([self.entry], mode="json", by_alias=True, exclude_none=True)[0]
        return {**row, "state": self.state}

    def text(self) -> str:
        """One line: when it was made, where, what, and what became of it."""
        made = (self.entry.made or "").replace("T", " ")[:19]
        kept = " (remembered)" if self.entry.remembered else ""
        state = "" if self.state == "counts" else f" [{self.state}]"
        return f"{made:19}  {clock(self.entry.at_ms):>7}  {named(self.entry)}{kept}{state}"


def changes_of(folder: Path) -> list[Change]:
    """Return what people changed, in order, without what they amended at once.

    Raises
    ------
    SegmenterError
        As `republish`.
    """
    entries = read_entries(folder / FILE)
    edits = {edit.id: edit for edit in active(entries)}
    _, misfits = finished(read_draft(folder), folder)
    without = {misfit.edit.id: misfit.why for misfit in misfits}
    amended = {entry.amends for entry in entries if isinstance(entry, BaseEdit)}
    rows = []
    for entry in entries:
        if not isinstance(entry, BaseEdit) or entry.id in amended:
            continue
        state = "taken back" if entry.id not in edits else "counts"
        if entry.id in without:
            state = f"no longer fits: {without[entry.id]}"
        rows.append(Change(edits.get(entry.id, entry), state))
    return rows
