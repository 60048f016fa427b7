"""What a person may choose about the film, with every default in one place."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

Pace = Literal["gentle", "usual", "quick"]
PACES: Final[dict[Pace, float]] = {"gentle": 1.5, "usual": 1.0, "quick": 0.7}
"""How long rests and waits are beside the usual. What was asked for in class is never made shorter."""


@dataclass(frozen=True)
class FollowSettings:
    """Choices for one film.

    Parameters
    ----------
    pace : str
        ``gentle``, ``usual`` or ``quick``: how long rests and waits are. Holds stay as asked.
    reps : int or None
        At most so many repetitions at each stop; never more than was asked for.
    only : tuple of str
        Chapters to take, by number (from 1) or id; empty takes all.
    wait_s : int
        Seconds of open wait where no time can be known from what was asked.
    rest_s : int
        Seconds of rest between holds where none was said.
    think_s : int
        Seconds to think before a quiz answer.
    cards : bool
        A card with title and cautions before each exercise, and one at the end.
    cut_opening : bool
        Leave out what comes before the first exercise.
    """

    pace: Pace = "usual"
    reps: int | None = None
    only: tuple[str, ...] = ()
    wait_s: int = 60
    rest_s: int = 5
    think_s: int = 10
    cards: bool = False
    cut_opening: bool = False
