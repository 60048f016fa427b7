"""What is already done, so that a killed run goes on where it stood.

Everything lies in the lesson folder's ``.work``: nothing about a class is kept anywhere
else. A result is found again only under the same key, which its stage makes from the
content of the recording, the settings and the stage's own version.
"""

from __future__ import annotations

import contextlib
import json
import os
from pathlib import Path
from typing import TypeVar

from pydantic import ValidationError

from segmenter.files import folder_error, write_whole
from segmenter.lesson import Frozen

_Part = TypeVar("_Part", bound=Frozen)


class StageCache:
    """Finished stages, one file each; only the latest key of a stage is kept."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def path(self, stage: str, key: str, suffix: str) -> Path:
        """Where the result of `stage` under `key` lies; older results of the stage are removed."""
        wanted = self.folder / f"{stage}-{key[:24]}{suffix}"
        for old in self.folder.glob(f"{stage}-*{suffix}"):
            if old != wanted:
                with contextlib.suppress(OSError):
                    old.unlink()
        return wanted

    def get(self, stage: str, key: str) -> str | None:
        """Return the text stored for `stage` under `key`, None when there is none."""
        try:
            return self.path(stage, key, ".json").read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError):
            return None

    def part(self, stage: str, key: str, kind: type[_Part]) -> _Part | None:
        """Return what `get` does as data; None also where it is damaged, so that it is made anew."""
        kept = self.get(stage, key)
        try:
            return None if kept is None else kind.model_validate_json(kept)
        except ValidationError:
            return None

    def latest(self, stage: str) -> str | None:
        """Return what is stored for `stage` whatever its key, None when there is nothing."""
        for path in self.folder.glob(f"{stage}-*.json"):
            with contextlib.suppress(OSError, UnicodeDecodeError):
                return path.read_text(encoding="utf-8")
        return None

    def put(self, stage: str, key: str, text: str) -> None:
        """Store `text`, whole or not at all."""
        write_whole(self.path(stage, key, ".json"), text)


class LineJournal:
    """Finished pieces of one stage, one line each, added as they finish.

    A line that was cut by a kill is passed over when the file is read again.
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._known: dict[str, str] = {}
        with contextlib.suppress(OSError):
            for line in path.read_bytes().split(b"\n"):
                with contextlib.suppress(ValueError, KeyError, TypeError, RecursionError):
                    key, value = (json.loads(line)[name] for name in ("key", "value"))
                    if isinstance(key, str) and isinstance(value, str):
                        self._known[key] = value

    def get(self, key: str) -> str | None:
        """Return what was stored under `key`, None when nothing was."""
        return self._known.get(key)

    def put(self, key: str, value: str) -> None:
        """Add one finished piece and bring it to the disk before going on."""
        self._known[key] = value
        # The leading newline parts this entry from one that a kill may have cut.
        line = b"\n" + json.dumps({"key": key, "value": value}).encode() + b"\n"
        try:
            with self._path.open("ab") as file:
                file.write(line)
                file.flush()
                os.fsync(file.fileno())
        except OSError as error:
            raise folder_error(error, self._path) from error
