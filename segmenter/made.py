"""How a lesson folder was made, kept in its work folder, so that it can be made again."""

from __future__ import annotations

from pathlib import Path

from pydantic import Field

from segmenter.files import write_whole
from segmenter.folder import WORK
from segmenter.lesson import Frozen, to_json
from segmenter.publish.follow.film import NAME as FILM
from segmenter.publish.handout import Paper
from segmenter.publish.streams import SUFFIXES

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


def keep_made(folder: Path, made: Made) -> None:
    """Keep how a folder was made.

    Raises
    ------
    FolderError
        If it cannot be written.
    """
    write_whole(folder / WORK / _NOTE, to_json(made))


def is_known(folder: Path) -> bool:
    """Whether it is known how a folder was made."""
    return (folder / WORK / _NOTE).exists()
