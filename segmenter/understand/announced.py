"""Plain announcements: "Next we have heel raises", "Some news before you go", "That is all for today, goodbye".

The reader learned from speakers who seldom announce anything, and from long classes. What is said in so many
words counts beside it; it changes nothing where the reader is sure.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from segmenter.understand.evidence import Line
from segmenter.understand.reader import Rows
from segmenter.understand.reader_features import freshly_named

TURNS, ASKS, NEWS, LEAVES = 2.0, 2.0, 2.0, 4.0
"""Log odds of a start: a sentence turns to an exercise by name, asks a dose too, brings news, says goodbye."""
_NAMED, _TURN = 0.8, 0.4
_LAST = 6
"""Sentences at the end of a class among which a goodbye is one."""
_RECENT = 6
"""Sentences back to which news or a goodbye only goes on."""


def announcements(lines: Sequence[Line]) -> Rows:
    """Return what plain words add to the log odds of a start, shape (n,)."""
    added = np.zeros(len(lines), dtype=np.float32)
    fresh = freshly_named(lines)[:, 0] if lines else added
    last = dict.fromkeys(("closing", "news"), -len(lines) - _RECENT)
    for at, line in enumerate(lines):
        if fresh[at] >= _NAMED and line.cues.get("turn", 0.0) >= _TURN:
            added[at] = TURNS + ASKS * (line.class_ask or line.home_ask)
        if line.cues.get("news", 0.0) >= 1.4:
            added[at] += NEWS * (at - last["news"] > _RECENT)
            last["news"] = at
        if line.cues.get("closing", 0.0) >= 1.5 and at >= len(lines) - _LAST:
            added[at] += LEAVES * (at - last["closing"] > _RECENT)
            last["closing"] = at
    return added
