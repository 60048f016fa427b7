"""What a user may choose about a build, with every default in one place."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

Device = Literal["auto", "cpu", "cuda"]


@dataclass(frozen=True)
class BuildSettings:
    """Choices for one build.

    Parameters
    ----------
    speech_model : str
        ``base``, ``tiny``, a folder with weights, or the name of a larger model.
    language : str or None
        Two-letter code of the language spoken; None lets the recogniser decide and stops
        when it is not English, since the exercises are described in English.
    title : str or None
        Title of the lesson; None makes one from the file name.
    threads : int
        Threads for recognition; 0 uses up to four cores.
    catalogue : Path or None
        A clinic's own exercises, added to the catalogue.
    plan : Path or None
        The list of what the clinician meant to do, one exercise a line; used as a hint.
    improve_sound : bool
        Whether the recording in the lesson folder gets a better sound: brought to target, rumble taken off.
    page_language : str or None
        Two-letter code of the language of the lesson page's own words; None takes the one spoken
        in class where the page speaks it, else English.
    web : bool
        Make a copy for browsers where they would not play the recording.
    paper : str
        Size of the printed home sheet, ``a4`` or ``letter``.
    address : str or None
        Where the lesson page will be found on the web, for the codes on the home sheet; None leaves them out.
    device : str
        Where speech is recognised: ``cpu``, ``cuda`` (a graphics processor), or ``auto`` for the faster one.
    """

    speech_model: str = "base"
    language: str | None = None
    title: str | None = None
    threads: int = 0
    catalogue: Path | None = None
    plan: Path | None = None
    improve_sound: bool = False
    page_language: str | None = None
    web: bool = False
    paper: Literal["a4", "letter"] = "a4"
    address: str | None = None
    device: Device = "cpu"
