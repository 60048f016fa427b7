"""WindowDiff, and the lexical baseline it is given beside.

Source: Pevzner and Hearst (2002), Computational Linguistics 28, 19-36 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

_SMALL_WORDS = """
    a an and are as at be but by do for from had has have he her his i if in is it its let me my not now of on
    or our she so that the them then there they this to up us was we were what when which will with you your
"""


def windowdiff(reference: Sequence[bool], other: Sequence[bool], window: int | None = None) -> float:
    """Return the share of windows in which two segmentations have another number of boundaries.

    Parameters
    ----------
    reference, other : sequence of bool
        Whether a boundary follows each unit (sentence); both of one length.
    window : int or None
        Units a window is wide; half the mean segment of the reference where None.

    Returns
    -------
    float
        0 (the same) to 1.

    Raises
    ------
    ValueError
        If the lengths differ, or are shorter than the window.
    """
    if len(reference) != len(other):
        raise ValueError(f"segmentations of {len(reference)} and {len(other)} units cannot be compared")
    window = window or max(1, round(len(reference) / (2 * max(1, sum(reference)))))
    places = len(reference) - window + 1
    if places < 1:
        raise ValueError(f"{len(reference)} units are fewer than the window of {window}")
    wrong = sum(sum(reference[at : at + window]) != sum(other[at : at + window]) for at in range(places))
    return wrong / places


def text_tiling(sentences: Sequence[str]) -> list[bool]:
    """Return where the published TextTiling algorithm (nltk, its own settings) parts sentences."""
    from nltk.tokenize.texttiling import TextTilingTokenizer

    try:
        tiles = TextTilingTokenizer(stopwords=_SMALL_WORDS.split()).tokenize(
            "\n\n" + "\n\n".join(sentences) + "\n\n"
        )
    except ValueError:  # too short for it
        tiles = ["\n\n".join(sentences)]
    follows: list[bool] = []
    for tile in tiles:
        held = sum(bool(part.strip()) for part in tile.split("\n\n"))
        follows += [False] * (held - 1) + [True] if held else []
    follows = [*follows, *[False] * len(sentences)][: len(sentences)]
    follows[-1] = False
    return follows
