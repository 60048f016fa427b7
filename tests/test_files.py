"""Files are written whole or not at all."""

from pathlib import Path

import pytest

from segmenter.errors import FolderError
from segmenter.files import whole_file, write_whole


def test_replaces_the_old_file(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    write_whole(target, "old")
    write_whole(target, "new é\n")
    assert target.read_bytes() == "new é\n".encode()
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_failed_write_leaves_the_old_file_alone(tmp_path: Path) -> None:
    target = tmp_path / "a.txt"
    write_whole(target, "old")

    def fail(draft: Path) -> None:
        draft.write_text("half of the new")
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt), whole_file(target) as draft:
        fail(draft)
    assert target.read_text() == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


def test_a_missing_folder_is_said_plainly(tmp_path: Path) -> None:
    with pytest.raises(FolderError, match=r"a\.txt"):
        write_whole(tmp_path / "gone" / "a.txt", "x")
