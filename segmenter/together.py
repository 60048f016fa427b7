"""Files that appear together: all of them, or, after a kill, none or all at the next look."""

from __future__ import annotations

import contextlib
import json
import shutil
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from segmenter.files import folder_error, write_whole
from segmenter.folder import WORK

_STAGE = "publish.new"
_MARK = "publish.go"


@contextlib.contextmanager
def together(folder: Path, remove: Iterable[str] = ()) -> Iterator[Path]:
    """Yield an empty folder to write into; if the block succeeds, its files take their places in `folder`.

    Until the last file is written nothing in `folder` changes. From then on a note lies beside the files, and
    whoever looks next (`settle`) brings to its end what a kill interrupted.

    Parameters
    ----------
    folder : Path
        The lesson folder, held by `segmenter.folder.claimed`.
    remove : iterable of str
        Names that go away at the same time; ones that were written again stay.

    Raises
    ------
    FolderError
        If the disk is full or the folder cannot be written.
    """
    settle(folder)
    stage = folder / WORK / _STAGE
    try:
        stage.mkdir(parents=True)
        yield stage
        names = sorted(file.relative_to(stage).as_posix() for file in stage.rglob("*") if file.is_file())
        # lesson.json goes last: a folder with it is a finished lesson.
        names.sort(key="lesson.json".__eq__)
        gone = sorted(set(remove) - set(names))
        write_whole(folder / WORK / _MARK, json.dumps({"files": names, "remove": gone}))
        settle(folder)
    except OSError as error:
        raise folder_error(error, folder) from error
    finally:
        if not (folder / WORK / _MARK).exists():
            shutil.rmtree(stage, ignore_errors=True)


def interrupted(folder: Path) -> bool:
    """Whether a change of files waits to be settled."""
    return any((folder / WORK / name).exists() for name in (_STAGE, _MARK))


def _is_plan(plan: Any) -> bool:
    try:
        names = [*plan["files"], *plan["remove"]]
    except (TypeError, KeyError):
        return False
    return all(isinstance(n, str) and n and ".." not in Path(n).parts and not Path(n).is_absolute() for n in names)


def settle(folder: Path) -> bool:
    """Bring an interrupted change of files to its end, or take away what was not ready; say whether any was.

    Raises
    ------
    FolderError
        If the folder cannot be written.
    """
    stage, mark = folder / WORK / _STAGE, folder / WORK / _MARK
    try:
        plan = json.loads(mark.read_text(encoding="utf-8"))
    except FileNotFoundError:
        if not stage.exists():
            return False
        shutil.rmtree(stage, ignore_errors=True)
        return True
    except OSError as error:
        raise folder_error(error, folder) from error
    except ValueError:
        plan = None
    try:
        if not _is_plan(plan):
            # A damaged note: what should have gone with it is made again by the next publishing.
            mark.unlink()
            shutil.rmtree(stage, ignore_errors=True)
            return True
        for name in plan["files"]:
            if (stage / name).exists():
                (folder / name).parent.mkdir(parents=True, exist_ok=True)
                (stage / name).replace(folder / name)
        for name in plan["remove"]:
            (folder / name).unlink(missing_ok=True)
        mark.unlink()
    except OSError as error:
        raise folder_error(error, folder) from error
    shutil.rmtree(stage, ignore_errors=True)
    return True
