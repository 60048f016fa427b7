"""What captions are held to: every number with the published text it comes from.

DCMP is the Captioning Key of the Described and Captioned Media Program, BBC the BBC Subtitle
Guidelines, Ofcom its guidance on access services.
"""

from __future__ import annotations

from typing import Final

AIM_WPM: Final = 160
"""Words a minute that cues are laid out for: adult special-interest media (DCMP, presentation rate)."""
CEILING_WPM: Final = 180
"""Words a minute above which a cue is reported: the upper end for recorded programmes (Ofcom, 160 to 180).

It stays there though some voices are faster, and their cues with them, since no word is cut: viewers are older,
had little trouble up to about 170 (Jensema 1998), and weaker readers understand less of faster text (Burnham 2008).
Above 200 is judged hard for many (Ofcom, quoted by BBC R&D 2015); 235 is for near-verbatim film alone (DCMP).
"""
LINE: Final = 37
"""Characters a line (BBC, about 68 % of a 16:9 picture; from memory)."""
LINES: Final = 2
"""Lines a cue (DCMP, placement; BBC 3.3)."""
SHORTEST_MS: Final = 1_330
"""Least time on screen: about 40 frames (DCMP, from memory). Counted numbers: `WORD_MS`."""
WORD_MS: Final = 300
"""Least time a word (BBC 4.1, from memory): the floor for a number that is shown on its beat."""
LONGEST_MS: Final = 6_000
"""Longest time on screen (DCMP, from memory)."""
BLINK_MS: Final = 1_000
"""A shorter gap between cues looks jerky: none, or at least this (BBC 4.5, from memory)."""
LATE_OFF_MS: Final = 1_500
"""A cue leaves the screen this long after its last word at the latest (BBC 5.2)."""
EARLY_ON_MS: Final = 150
"""A cue comes this long before or after its first word at most (own limit, stricter than BBC 5.2)."""


def words_a_minute(text: str, length_ms: int) -> float:
    """Reading speed of a cue; descriptions of sounds count as words, dashes do not (DCMP, presentation rate).

    >>> words_a_minute("- Breathe in,\\nand out.", 2_000)
    120.0
    """
    return count_words(text) * 60_000 / max(1, length_ms)


def count_words(text: str) -> int:
    """Count what has to be read: pieces with a letter or a figure in them."""
    return sum(any(letter.isalnum() for letter in piece) for piece in text.split())
