"""Files that lie elsewhere: addresses that fsspec knows, fetched to this machine and put back."""

from __future__ import annotations

import contextlib
import importlib
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path, PurePosixPath
from typing import Any

from segmenter.errors import FolderError, MediaError, SettingError

CHECK = "Check the address and your access"


def is_address(text: str) -> bool:
    """Whether `text` is an address and no path.

    >>> is_address("s3://classes/2026"), is_address("C:/classes"), is_address("/srv/classes")
    (True, False, False)
    """
    return re.match(r"[a-z][a-z0-9+.-]+://", text) is not None


def entries(address: str) -> list[str]:
    """Return the addresses of all files under an address, in order."""
    system, root = _system(address)
    scheme = address.partition("://")[0]
    try:
        return sorted(f"{scheme}://{name.lstrip('/') if scheme != 'file' else name}" for name in system.find(root))
    except OSError as error:
        raise FolderError(
            f"this place cannot be read ({error})", address, "Check the address and your access"
        ) from error


@contextlib.contextmanager
def fetched(recording: str) -> Iterator[Path]:
    """Yield a recording as a file of this machine; one that was fetched goes away afterwards.

    Raises
    ------
    MediaError
        If it cannot be fetched.
    """
    if not is_address(recording):
        yield Path(recording)
        return
    system, name = _system(recording)
    with tempfile.TemporaryDirectory(prefix="class-") as folder:
        path = Path(folder) / PurePosixPath(name).name
        try:
            system.get_file(name, str(path))
        except OSError as error:
            raise MediaError(
                f"this recording cannot be fetched ({error})", recording, "Check the address"
            ) from error
        yield path


def stored(place: str, name: str) -> bytes | None:
    """Return the content of a small file at an address; None when it is not there."""
    system, root = _system(place)
    try:
        return bytes(system.cat_file(f"{root}/{name}"))
    except OSError:
        return None


def put_back(folder: Path, place: str) -> None:
    """Copy a lesson folder to an address; ``lesson.json`` last, since a folder with it is a finished lesson.

    Raises
    ------
    FolderError
        If it cannot be written there.
    """
    system, root = _system(place)
    files = sorted(path for path in folder.rglob("*") if path.is_file() and ".work" not in path.parts)
    files.sort(key=lambda path: path.name == "lesson.json")
    try:
        for path in files:
            target = f"{root}/{path.relative_to(folder).as_posix()}"
            system.makedirs(target.rpartition("/")[0], exist_ok=True)
            system.put_file(str(path), target)
    except OSError as error:
        raise FolderError(
            f"this place cannot be written ({error})", place, "Check the address and your access"
        ) from error


def _system(address: str) -> tuple[Any, str]:
    try:
        fsspec: Any = importlib.import_module("fsspec")  # in an extra
    except ImportError as error:
        raise SettingError(
            "addresses need the package fsspec", address, "Install it: pip install 'segmenter[cluster]'"
        ) from error
    try:
        system, root = fsspec.core.url_to_fs(address)
    except (ImportError, ValueError) as error:
        raise SettingError(
            f"this kind of address cannot be used ({error})", address, "Use a folder instead"
        ) from error
    return system, root
