"""Takes in recordings: streamed to the disk, never held in memory, checked before anything is done with them."""

from __future__ import annotations

import shutil
import uuid
from pathlib import Path

from starlette.requests import ClientDisconnect, Request

from segmenter.containers import RECORDINGS
from segmenter.edits.journal import Journal
from segmenter.edits.kinds import ReplaceWords
from segmenter.errors import FolderError, MediaError, SegmenterError, TranscriptError
from segmenter.folder import WORK
from segmenter.hear.media import probe
from segmenter.hear.transcripts import read_transcript
from segmenter.review.jobs import Job, Queue
from segmenter.review.remembered import remembered
from segmenter.review.shelf import TRANSCRIPTS, Shelf

LARGEST = 64 * 1024**3
"""Bytes: a day of high quality video; anything larger is a mistake."""
SPARE = 512 * 1024**2
"""Bytes that stay free on the disk."""
LARGEST_TRANSCRIPT = 20 * 1024**2


async def take_upload(request: Request, shelf: Shelf) -> str:
    """Stream the body of a request into the desk's folder and return the name it is kept under until it is added.

    Raises
    ------
    MediaError
        If its name or size is not that of a recording, or it ended early.
    FolderError
        If the disk is full.
    """
    name = request.query_params.get("name", "")
    suffix = Path(name).suffix.lower()
    if suffix not in RECORDINGS | TRANSCRIPTS:
        raise MediaError(
            f"files that end in “{suffix or 'nothing'}” are no recordings",
            None,
            "Choose a video or sound file, such as mp4, mov or m4a",
        )
    largest = LARGEST if suffix in RECORDINGS else LARGEST_TRANSCRIPT
    promised = request.headers.get("content-length", "")
    size = int(promised) if promised.isascii() and promised.isdigit() and len(promised) < 16 else None
    if size is None:
        raise MediaError("the size of this file was not told", None, "Try again, or give its path instead")
    if size > largest:
        raise MediaError("this file is too large to be a class", None, "Choose the recording itself")
    incoming = shelf.own / "incoming"
    incoming.mkdir(parents=True, exist_ok=True)
    if shutil.disk_usage(incoming).free < size + SPARE:
        raise FolderError("there is not enough room on the disk for this file", None, "Make room and try again")
    target = incoming / f"{uuid.uuid4().hex}{suffix}"
    taken = 0
    try:
        with target.open("wb") as file:
            async for block in request.stream():
                taken += len(block)
                if taken > size:
                    break
                file.write(block)
    except ClientDisconnect:
        taken = -1
    if taken != size:
        target.unlink(missing_ok=True)
        raise MediaError("the file did not arrive whole", None, "Try again")
    return target.name


def add_upload(shelf: Shelf, queue: Queue, kept: str, name: str, transcript: tuple[str, str] | None) -> Job:
    """Make a lesson of files that were uploaded, and put it in the queue.

    Parameters
    ----------
    kept, name : str
        What `take_upload` returned, and what the file is called.
    transcript : tuple of str or None
        The same of a transcript.

    Raises
    ------
    SegmenterError
        If the recording or the transcript cannot be read; the files are thrown away.
    """
    recording = _arrived(shelf, kept)
    words = _arrived(shelf, transcript[0]) if transcript else None
    try:
        probe(recording)
        if words is not None:
            read_transcript(words)
    except SegmenterError as error:
        for file in (recording, words):
            if file is not None:
                file.unlink(missing_ok=True)
        raise type(error)(error.problem, name, error.advice) from error
    lesson = shelf.free_name(name)
    home = shelf.root / lesson / WORK / "source"
    home.mkdir(parents=True)
    moved = recording.replace(home / f"{lesson}{recording.suffix}")
    heard = words.replace(home / f"{lesson} transcript{words.suffix}") if words is not None else None
    return _queued(shelf, queue, lesson, moved, heard)


def add_path(shelf: Shelf, queue: Queue, path: str) -> Job:
    """Make a lesson of a recording that stays where it is, and put it in the queue.

    Raises
    ------
    SegmenterError
        If there is no such file, or it is no recording.
    """
    recording = Path(path.strip().strip('"')).expanduser()
    if not recording.is_absolute():
        raise MediaError("this is not a whole path", path, "Write it from the top, such as /home/me/class.mp4")
    if recording.suffix.lower() not in RECORDINGS:
        raise MediaError("this is no recording", recording.name, "Choose a video or sound file")
    if not recording.is_file():
        raise MediaError("there is no such file", recording, "Check the name and the folder")
    probe(recording)
    lesson = shelf.free_name(recording.name)
    (shelf.root / lesson / WORK).mkdir(parents=True)
    return _queued(shelf, queue, lesson, recording.resolve(), None)


def _queued(shelf: Shelf, queue: Queue, lesson: str, recording: Path, transcript: Path | None) -> Job:
    journal = Journal(shelf.root / lesson)
    for was, text in remembered(shelf.own):
        journal.append(ReplaceWords(at_ms=0, was=was, text=text, remembered=True))
    job = Job(uuid.uuid4().hex[:12], lesson, str(recording), str(transcript) if transcript else None, lesson)
    queue.add(job)
    return job


def _arrived(shelf: Shelf, kept: str) -> Path:
    incoming = shelf.own / "incoming"
    names = {file.name for file in incoming.iterdir()} if incoming.is_dir() else set()
    if kept not in names:
        raise TranscriptError("this file did not arrive", None, "Try again")
    return incoming / kept
