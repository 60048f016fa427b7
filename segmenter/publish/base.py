"""The table of writers: one writer a file, a lesson in, text or bytes out.

To add a file to the lesson folder, write a function that takes a `Lesson` and returns
text (UTF-8) or bytes, and add one line to `WRITERS`. A writer neither measures nor
decides: what it needs and cannot find in the lesson belongs in an earlier stage.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from segmenter.errors import FolderError
from segmenter.files import folder_error, write_whole
from segmenter.lesson import Lesson
from segmenter.publish import caption_files, chapters
from segmenter.publish.checks import checks_html
from segmenter.publish.hold_traces import Traces
from segmenter.publish.sheet import sheet_csv
from segmenter.publish.sheet_book import sheet_xlsx
from segmenter.publish.timeline_picture import timeline_svg
from segmenter.publish.transcript import transcript_html
from segmenter.publish.transcript_text import transcript_text
from segmenter.publish.upload_text import upload_short, upload_text


@dataclass(frozen=True)
class Pictures:
    """What belongs to a lesson to look at: path of a still from the folder by chapter id, and pictures of holds."""

    stills: Mapping[str, str] = field(default_factory=dict)
    traces: Traces = field(default_factory=dict)


@dataclass(frozen=True)
class Writer:
    """A file of the lesson folder, and what makes its content."""

    file: str
    render: Callable[[Lesson], str | bytes]
    pictured: Callable[[Lesson, Pictures], str | bytes] | None = None
    """Takes the place of `render` where there are pictures."""

    def content(self, lesson: Lesson, pictures: Pictures) -> str | bytes:
        """What the file holds."""
        return self.render(lesson) if self.pictured is None else self.pictured(lesson, pictures)


WRITERS: dict[str, Writer] = {
    writer.file: writer
    for writer in (
        Writer("captions.vtt", caption_files.vtt),
        Writer("captions.srt", caption_files.srt),
        Writer("chapters.vtt", chapters.vtt),
        Writer("chapters.ffmeta", chapters.ffmetadata),
        Writer("chapters.json", chapters.podcast_json),
        Writer("chapters.txt", chapters.plain_list),
        Writer("timeline.svg", timeline_svg),
        Writer("sheet.csv", sheet_csv),
        Writer("sheet.xlsx", sheet_xlsx, lambda lesson, pictures: sheet_xlsx(lesson, pictures.traces)),
        Writer("upload.txt", upload_text),
        Writer("upload-short.txt", upload_short),
        Writer("transcript.html", transcript_html),
        Writer("transcript.txt", transcript_text),
        Writer("checks.html", checks_html, lambda lesson, each: checks_html(lesson, each.stills, each.traces)),
    )
}
"""Every writer by its file name."""


def publish(lesson: Lesson, folder: Path, pictures: Pictures | None = None) -> list[Path]:
    """Write every file of `WRITERS` into `folder`, each whole or not at all.

    All are rendered first, so that a lesson that cannot be written changes no file.

    Returns
    -------
    list of Path
        The files, in the order of the table.

    Raises
    ------
    FolderError
        If the folder cannot be made or written.
    """
    contents = {name: writer.content(lesson, pictures or Pictures()) for name, writer in WRITERS.items()}
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise FolderError("a file stands where the folder should be", folder, "Choose another folder") from error
    except OSError as error:
        raise folder_error(error, folder) from error
    paths = []
    for name, content in contents.items():
        write_whole(folder / name, content)
        paths.append(folder / name)
    return paths
