"""One file or one folder against every rule that concerns it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from segmenter.errors import FolderError, SegmenterError, TranscriptError
from segmenter.files import folder_error
from segmenter.inspect import agreement, chapter_files, srt
from segmenter.inspect.embedded import SUFFIXES, read_embedded
from segmenter.inspect.reading import check_reading
from segmenter.inspect.rules import RULES, Book, Cue, Finding, decoded
from segmenter.inspect.webvtt import read_webvtt
from segmenter.lesson import Lesson, lesson_from_json

_LARGEST = 50_000_000
"""Bytes; a larger text file holds no captions."""
_CAPTIONS = {".vtt", ".srt"}
_METADATA = {".ffmeta", ".ffmetadata"}
_CHAPTERS = {".json", ".txt"}
"""Forms that hold chapters among much else: in a folder only those named so are looked at."""
_UPLOADS = {"upload.txt", "upload-short.txt"}


def check_path(path: Path) -> tuple[list[Path], list[Finding]]:
    """Check a file, or every file with captions or chapters in a folder.

    In a lesson folder the files are held to its lesson too; what people can hardly read is told once there, of
    ``captions.vtt``. A file of the folder that cannot be read is a finding like any other.

    Returns
    -------
    files : list of Path
        What was looked at, in order of name.
    findings : list of Finding
        Every broken rule, in the order of files and lines.

    Raises
    ------
    TranscriptError
        If the file is of no kind that can be checked.
    FolderError, MediaError, LessonError
        If the one file named cannot be read, or nothing in the folder can be checked.
    """
    if not path.exists():
        raise TranscriptError("there is no such file or folder", path, "Check the name")
    if not path.is_dir():
        if not can_check(path) and path.suffix.lower() not in _CHAPTERS:
            raise TranscriptError(
                "this is no file with captions or chapters", path,
                "Give .vtt, .srt, .ffmeta, chapters as .json or .txt, a recording, or a folder with some",
            )  # fmt: skip
        return [path], _check_file(path, None)
    try:
        files = sorted(file for file in path.iterdir() if file.is_file() and can_check(file))
    except OSError as error:
        raise folder_error(error, path) from error
    if not files:
        raise FolderError("nothing in this folder can be checked", path, "Name one with captions or chapters in it")
    findings: list[Finding] = []
    lesson = _lesson_in(path, files, findings)
    for file in files:
        try:
            findings += _check_file(file, lesson)
        except SegmenterError as error:
            findings.append(Finding(file, RULES["unreadable"], error.problem))
    return files, findings


def _lesson_in(folder: Path, files: Sequence[Path], findings: list[Finding]) -> Lesson | None:
    file = folder / "lesson.json"
    if file not in files:
        return None
    try:
        return lesson_from_json(_read(file), str(file))
    except SegmenterError:
        return None  # told when its turn comes


def can_check(file: Path) -> bool:
    """Whether a file is of a kind that has rules here, by its name."""
    suffix, name = file.suffix.lower(), file.name.lower()
    if name.startswith("."):
        return False
    chapters = suffix in _CHAPTERS and "chapter" in name
    known = suffix in _CAPTIONS | _METADATA | SUFFIXES
    return known or chapters or name in {"lesson.json", *_UPLOADS}


def _check_file(file: Path, lesson: Lesson | None) -> list[Finding]:
    book = Book(file)
    suffix, name = file.suffix.lower(), file.name.lower()
    if suffix in SUFFIXES:
        _check_recording(book, lesson)
        return book.findings
    data = _read(file)
    if name == "lesson.json":
        agreement.check_lesson(book, lesson or lesson_from_json(data, str(file)))
    elif name in _UPLOADS:
        text = decoded(book, data)
        chapter_files.read_listed(book, text)
        if lesson is not None:
            agreement.check_upload(book, lesson, text)
    elif suffix == ".vtt":
        _check_webvtt(book, data, lesson)
    elif suffix == ".srt":
        cues = srt.read_srt(book, data)
        if lesson is not None and name == "captions.srt":
            agreement.check_captions_agree(book, lesson, cues, srt=True)
        else:
            check_reading(book, cues)
    else:
        _check_chapters(book, data, lesson)
    return sorted(book.findings, key=lambda finding: finding.line or 0)


def _check_recording(book: Book, lesson: Lesson | None) -> None:
    inside = read_embedded(book, book.file)
    stem = Path((lesson.recording.path if lesson else None) or book.file.name).stem
    if lesson is None or book.file.stem not in {stem, f"{stem}-lesson", f"{stem}-web"}:
        for track in inside.tracks:
            check_reading(book, track.cues, english=(track.language or "en").startswith("en"))
    elif inside.chapters or inside.tracks:
        # A folder may hold the original too, which has neither.
        agreement.check_chapters_agree(book, lesson, inside.chapters)
        ours = inside.tracks[0].cues if inside.tracks else ()
        agreement.check_captions_agree(book, lesson, ours, srt=True)


def _check_webvtt(book: Book, data: bytes, lesson: Lesson | None) -> None:
    track = read_webvtt(book, data)
    name = book.file.name.lower()
    if track.kind == "chapters" or (track.kind is None and "chapter" in name):
        chapter_files.check_chapter_cues(book, track.cues, data)
        if lesson is not None and name == "chapters.vtt":
            agreement.check_chapters_agree(book, lesson, track.cues)
        return
    check_reading(book, track.cues, english=(track.language or "en").lower().startswith("en"))
    if lesson is not None and name == "captions.vtt":
        agreement.check_captions_agree(book, lesson, track.cues, srt=False)


def _check_chapters(book: Book, data: bytes, lesson: Lesson | None) -> None:
    suffix = book.file.suffix.lower()
    cues: tuple[Cue, ...]
    if suffix in _METADATA:
        cues = chapter_files.read_ffmetadata(book, data)
    elif suffix == ".json":
        cues = chapter_files.read_podcast_json(book, data)
    else:
        cues = chapter_files.read_time_list(book, data)
    if lesson is not None and book.file.stem.lower() == "chapters":
        agreement.check_chapters_agree(book, lesson, cues, listing=suffix == ".txt")


def _read(file: Path) -> bytes:
    try:
        if file.stat().st_size > _LARGEST:
            raise TranscriptError("this file is too large to hold captions or chapters", file, "Check the name")
        return file.read_bytes()
    except OSError as error:
        raise TranscriptError(
            f"this file cannot be opened ({error.strerror or error})", file, "Check who may read it"
        ) from error
