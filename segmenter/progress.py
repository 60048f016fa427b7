"""How a stage says how far it is."""

from __future__ import annotations

from collections.abc import Callable

Report = Callable[[float, str], None]
"""Called with the share done (0 to 1) and what was found so far in a few words ("3 holds")."""


def unheard(share: float, found: str) -> None:
    """Report to nobody."""
