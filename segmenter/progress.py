"""How a stage, and a build of several stages, says how far it is."""

from __future__ import annotations

from collections.abc import Callable

Report = Callable[[float, str], None]
"""Called with the share done (0 to 1) and what was found so far in a few words ("3 holds")."""


def unheard(share: float, found: str) -> None:
    """Report to nobody."""


Watch = Callable[[str, float, str], None]
"""Told the stage, the share of it that is done (0 to 1), and what was found so far."""

STAGES = {
    "read": "Reading the recording",
    "sound": "Measuring the sound",
    "words": "Writing down the words",
    "lesson": "Finding the exercises",
    "files": "Writing the lesson",
}
"""Every stage with the words a person sees for it, in order."""
FILM_STAGES = {"pieces": "Making the pieces", "join": "Putting them together"}
"""The same for the follow-along film."""


def unwatched(stage: str, share: float, found: str) -> None:
    """Watch nothing."""
