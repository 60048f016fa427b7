"""A new lesson out of chapters of others: chosen, laid end to end, moved by one time map, with credits.

::

    January   ────[ah]──────[siren]────        sources keep their files
    April     ──[tuck]────────                 and their edits count
    new       [ah][tuck][siren]                one time map for words, doses, stops and picture
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from segmenter import __version__
from segmenter.errors import SettingError
from segmenter.files import write_whole
from segmenter.folder import claimed
from segmenter.hear.media import probe, sha256_of
from segmenter.lesson import Chapter, Check, Lesson, MadeBy, Recording, Word, to_json
from segmenter.library.joining import join_pieces
from segmenter.library.moving import moved
from segmenter.library.pieces import WHOLE_MS, Piece, Source, lay_out
from segmenter.made import Made, read_made
from segmenter.progress import Watch, unwatched
from segmenter.publish.chapters import one_line
from segmenter.publish.follow.film import recording_of
from segmenter.publish.follow.shape import Shape, shape_for
from segmenter.publishing import Published, republish
from segmenter.times import counted


@dataclass(frozen=True)
class Composed:
    """The new lesson as it was published, and the pieces it was made of."""

    published: Published
    pieces: tuple[Piece, ...]


def lesson_of(title: str, pieces: Sequence[Piece]) -> Lesson:
    """Return the new lesson: chapters, words and open checks of the pieces, moved by their time maps.

    Raises
    ------
    SettingError
        If there are no pieces, or they speak different languages.
    """
    if not pieces:
        raise SettingError("nothing was chosen", None, "Name at least one lesson")
    languages = sorted({piece.source.lesson.language for piece in pieces})
    if len(languages) > 1:
        raise SettingError(
            f"these lessons speak different languages ({', '.join(languages)})",
            None,
            "Choose lessons of one language",
        )
    chapters, words, checks = list[Chapter](), list[Word](), list[Check]()
    for number, piece in enumerate(pieces, 1):
        lesson, own = piece.source.lesson, piece.chapter
        where, by = piece.span, piece.later_ms
        # A frame may end a little before or after its chapter does.
        whole = {"id": f"p{number}", "credit": piece.source.credit, "start_ms": where[0], "end_ms": where[1]}
        chapters.append(moved(own, by, where).model_copy(update=whole))
        words += [moved(word, by, where) for word in lesson.words_in(*own.span)]
        open_checks = (c for c in lesson.checks if c.level != "note" and c.start_ms is not None)
        checks += [moved(c, by, where) for c in open_checks if own.start_ms <= (c.start_ms or 0) < own.end_ms]
    credits = list(dict.fromkeys(piece.source.credit for piece in pieces))
    return Lesson(
        title=title,
        language=languages[0],
        recording=Recording(path=None, sha256=None, seconds=chapters[-1].end_ms / 1000),
        chapters=tuple(chapters),
        words=tuple(words),
        checks=tuple(checks),
        made_by=MadeBy(segmenter=__version__, speech_model=None, settings={"taken_from": credits}),
    )


def compose(
    title: str,
    chosen: Sequence[tuple[Source, Sequence[Chapter]]],
    folder: Path,
    *,
    video: bool = False,
    watch: Watch = unwatched,
) -> Composed:
    """Make a lesson folder of chapters of other lessons. The sources are only read.

    Parameters
    ----------
    title : str
        Of the new lesson.
    chosen : sequence
        Sources, each with its chapters in the order wanted; see `take`.
    folder : Path
        A new folder, or one that was composed before: then a person's edits are kept where they still fit.
    video : bool
        Whether to make one recording of the pieces as well. Without it the lesson has its text and timers.
    watch : Watch
        Told how far the recording is.

    Raises
    ------
    SegmenterError
        If a choice, a source's recording, or the folder will not do.
    """
    for source, _ in chosen:
        if source.folder.resolve() == folder.resolve():
            raise SettingError("a lesson cannot be made of itself", folder, "Choose another folder with -o")
    shapes = _shapes(chosen) if video else {}
    rate = next(iter(shapes.values())).rate if shapes else WHOLE_MS
    pieces = lay_out(chosen, rate)
    lesson = lesson_of(title, pieces)
    made = read_made(folder)
    with claimed(folder) as work:
        joined = work / "composed" / f"{_file_name(title)}.mp4"
        if video:
            joined.parent.mkdir(exist_ok=True)
            join_pieces(pieces, shapes, lesson, joined, watch)
            facts = probe(joined)
            recording = Recording(
                path=joined.name, sha256=sha256_of(joined), seconds=lesson.recording.seconds, video=facts.video
            )
            lesson = lesson.model_copy(update={"recording": recording})
        write_whole(folder / "draft.json", to_json(lesson))
    made = made.model_copy(update={"recording": str(joined) if video else None})
    if not video:
        made = Made(left_out=made.left_out, paper=made.paper, hand_on=made.hand_on)
    published = republish(folder, made)
    if video:
        joined.unlink()
        joined.parent.rmdir()
    return Composed(published, pieces)


def _shapes(chosen: Sequence[tuple[Source, Sequence[Chapter]]]) -> dict[Path, Shape]:
    """The form of each source's picture and sound, brought to one size, rate and number of channels."""
    own = {s.folder: (recording_of(s.folder, s.lesson), s.lesson) for s, _ in chosen}
    shapes = {folder: shape_for(recording, lesson) for folder, (recording, lesson) in own.items()}
    moving = [shape for shape in shapes.values() if shape.picture] or list(shapes.values())
    size = max(shape.size for shape in moving)
    rate = max(shape.rate for shape in moving)
    channels = max(shape.channels for shape in shapes.values())
    fitted = {folder: shape_for(recording, lesson, size) for folder, (recording, lesson) in own.items()}
    return {folder: replace(shape, rate=rate, channels=channels) for folder, shape in fitted.items()}


def _file_name(title: str) -> str:
    name = re.sub(r"[^\w-]+", "-", one_line(title)).strip("-")[:60].lower()
    return name or "lesson"


def told(composed: Composed) -> str:
    """Say in a sentence what was made."""
    sources = len({piece.source.folder for piece in composed.pieces})
    return f"{counted(len(composed.pieces), 'chapter')} of {counted(sources, 'lesson')}"
