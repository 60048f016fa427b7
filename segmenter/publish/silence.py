"""Names that a person took out are silenced in the lesson's copy of the recording, too."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from segmenter.edits.words import NAME
from segmenter.intervals import Interval, merge
from segmenter.lesson import Lesson
from segmenter.publish.improve import write_sound

AROUND_MS: Final = 120
"""Silenced beside a name where nobody speaks: times of words may be off by so much."""
INTO_MS: Final = 40
"""Silenced of a word that follows or goes before at once."""
FADE_S: Final = 0.02
"""Length of a fade, so that nothing clicks."""
_BLOCK: Final = 128
"""Samples between two steps of a fade: three milliseconds at most."""


def name_spans(lesson: Lesson) -> list[Interval]:
    """Return where names are spoken that were taken out, in milliseconds, with a little around them."""
    words = sorted(lesson.words, key=lambda word: word.start_ms)
    spans = []
    for at, word in enumerate(words):
        if NAME not in word.text:
            continue
        before = words[at - 1].end_ms if at else 0
        after = words[at + 1].start_ms if at + 1 < len(words) else word.end_ms + AROUND_MS
        start = min(word.start_ms - INTO_MS, max(word.start_ms - AROUND_MS, before))
        end = max(word.end_ms + INTO_MS, min(word.end_ms + AROUND_MS, after))
        spans.append((max(0, start), end))
    return merge(spans)


def silenced_sound(source: Path, spans: list[Interval], target: Path) -> None:
    """Write the first sound track of `source` with silence in `spans`; codec and errors as `write_sound`."""
    write_sound(source, silence(spans), target)


def silence(spans: list[Interval]) -> str:
    """Return the filter that brings the sound to nothing in `spans`, with a short fade beside each."""
    # Each factor is 1 away from its span and 0 in it (FFmpeg manual, "Expression Evaluation").
    factors = [
        f"clip(({start / 1000:.3f}-t)/{FADE_S},0,1)+clip((t-{end / 1000:.3f})/{FADE_S},0,1)" for start, end in spans
    ]
    whole = "*".join(f"({factor})" for factor in factors)
    return f"asetnsamples=n={_BLOCK}:p=0,volume=eval=frame:volume='{whole}'"
