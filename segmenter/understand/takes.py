"""Written classes as they were heard when a synthetic voice spoke them: what recognisers make of the same words."""

from __future__ import annotations

import gzip
from pathlib import Path

from segmenter.files import write_whole
from segmenter.heard import Heard
from segmenter.lesson import Frozen
from segmenter.understand.layout import Truth, truth_of
from segmenter.understand.scripts import Script


class Take(Frozen):
    """What was heard of a class, and where each item of its script lies in the sound (as `truth_of` takes it)."""

    heard: Heard
    spans: tuple[tuple[int, ...], ...]

    def truth(self, script: Script) -> Truth:
        """Return the truth about this take of `script`."""
        return truth_of(script, self.spans, self.heard.end_ms)


def take_file(folder: Path, script: Script) -> Path:
    """Return the file in which the take of `script` is kept."""
    return folder / f"{script.name}.json.gz"


def keep_take(path: Path, take: Take) -> None:
    """Write a take; the same take gives the same bytes."""
    write_whole(path, gzip.compress(take.model_dump_json(exclude_defaults=True).encode(), mtime=0))


def read_take(path: Path) -> Take:
    """Read what `keep_take` wrote."""
    return Take.model_validate_json(gzip.decompress(path.read_bytes()))
