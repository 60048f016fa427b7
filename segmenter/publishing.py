"""From a finished lesson to the files of its folder: what changed is written, all of it at once.

The recording's copy and the pictures are work for minutes; they are made anew only when what goes into them
changed. Everything else is made in a moment and appears together.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from segmenter.cache import StageCache
from segmenter.copies import media_is_stale, write_media
from segmenter.edits.apply import Misfit, lay_over
from segmenter.edits.damage import damaged, told
from segmenter.edits.journal import FILE, Journal, active, read_edits, read_entries
from segmenter.edits.kinds import ENTRIES, BaseEdit, Edit
from segmenter.edits.telling import named
from segmenter.errors import FolderError
from segmenter.folder import WORK, claimed
from segmenter.heard import CURVE, Curve
from segmenter.lesson import Lesson, lesson_from_json, to_json
from segmenter.made import Made, is_known, keep_made, read_made
from segmenter.publish.base import WRITERS, Pictures
from segmenter.publish.caption_store import CaptionStore
from segmenter.publish.follow.film import NAME as FILM
from segmenter.publish.hand_on import FOLDER as FOR_VIEWERS
from segmenter.publish.hand_on import hand_on
from segmenter.publish.handout import HANDOUTS, handouts
from segmenter.publish.hold_traces import FOLDER as HOLDS
from segmenter.publish.hold_traces import hold_traces
from segmenter.publish.page.page import render
from segmenter.publish.upload_text import upload_text
from segmenter.publish.viewers import for_viewers
from segmenter.times import clock
from segmenter.together import settle, together

WHOLE = frozenset({"checks.html", "sheet.csv", "sheet.xlsx"})
"""Files for the clinician: they show hidden chapters too, and are not handed on to viewers."""
OUTPUTS = (*WRITERS, *HANDOUTS)
"""Files that a person may leave out."""


@dataclass(frozen=True)
class Published:
    """A published lesson.

    What was written, which edits have no place, whether media was worked on, and whether a follow-along film lies
    there that is from before the last change.
    """

    lesson: Lesson
    files: tuple[Path, ...]
    misfits: tuple[Misfit, ...]
    media_work: bool
    old_film: bool


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
    """Return the draft of a folder with its edits laid over and captions made; damaged edits become a check."""
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
        old_film = (folder / FILM).exists() and not _has_film(folder, to_json(lesson))
        return Published(lesson, tuple(dict.fromkeys(files)), misfits, worked, old_film)


def rewrite_texts(folder: Path) -> None:
    """Write the texts of a finished lesson again as they stand, when a film came to lie beside them.

    A folder whose making is not known, as of an earlier version, is left alone.

    Raises
    ------
    SegmenterError
        As `republish`.
    """
    if is_known(folder):
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
    film = FILM if _has_film(folder, to_json(lesson)) else None
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
    keep_made(folder, made)
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
    if _has_film(folder, (folder / "lesson.json").read_text("utf-8")):
        names.append(FILM)
    return [name for name in dict.fromkeys(names) if name not in WHOLE and (folder / name).is_file()]


def _has_film(folder: Path, lesson: str) -> bool:
    """Whether the follow-along film is that of `lesson`: made when the lesson was written as it is now."""
    film, kept = folder / FILM, folder / "lesson.json"
    if not film.exists() or not _same(kept, lesson):
        return False
    return film.stat().st_mtime_ns >= kept.stat().st_mtime_ns


def _same(path: Path, data: str | bytes) -> bool:
    try:
        return path.read_bytes() == _bytes(data)
    except OSError:
        return False


def _bytes(data: str | bytes) -> bytes:
    return data.encode() if isinstance(data, str) else data


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
