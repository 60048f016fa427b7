"""ffmpeg runs to its end, is read without standing still, and its failures become ours."""

import io
import pickle
import threading
from pathlib import Path

import pytest

from segmenter import programs
from segmenter.containers import GUARDS, check_file, open_recording
from segmenter.errors import FolderError, MediaError, ProgramError
from tests.media_files import PLAYLISTS, make


def test_output_comes_in_whole_blocks() -> None:
    arguments = ["-f", "lavfi", "-i", "anullsrc=r=8000:cl=mono:d=1", "-f", "s16le", "pipe:1"]
    with programs.stream(arguments) as running:
        sizes = [len(block) for block in running.blocks(6000)]
    assert sizes == [6000, 6000, 4000]
    assert running.code == 0
    assert running.faults == 0


def test_many_messages_do_not_stop_it() -> None:
    # More than a pipe holds (64 KiB on Linux), all of it before the first byte of output is read.
    arguments = ["-f", "lavfi", "-i", "anullsrc=r=8000:d=300", "-af", "ashowinfo", "-f", "null", "-"]
    messages = programs.run(arguments, Path("x"))
    assert len(messages) == programs.KEPT_LINES


def test_a_failure_says_what_and_where(tmp_path: Path) -> None:
    with pytest.raises(ProgramError, match="No such file") as caught:
        programs.run(["-i", programs.url(tmp_path / "none.wav"), "-f", "null", "-"], tmp_path / "none.wav")
    assert "none.wav" in str(caught.value)
    assert "\n" not in str(caught.value)
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)  # noqa: S301


def test_a_full_disk_is_told_as_such() -> None:
    running = programs.Running(output=io.BytesIO())
    running.messages.append("[error] Error writing trailer: No space left on device")
    running.code = 228
    with pytest.raises(FolderError, match="disk is full"):
        programs.check(running, Path("lesson.mp4"))


def test_a_missing_program_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(programs, "ffmpeg_path", lambda: str(tmp_path / "no-ffmpeg"))
    with pytest.raises(ProgramError, match="did not start"), programs.stream(["-version"]):
        pass


def test_an_error_in_the_block_ends_the_program() -> None:
    endless = ["-f", "lavfi", "-i", "anullsrc", "-f", "s16le", "pipe:1"]
    before = threading.active_count()
    with pytest.raises(KeyboardInterrupt), programs.stream(endless) as running:
        next(running.blocks(10))
        raise KeyboardInterrupt
    assert threading.active_count() == before


def test_names_are_never_options_or_addresses() -> None:
    assert programs.url(Path("-y.mp4")).startswith("file:")
    assert Path(programs.url(Path("http:x.mp4")).removeprefix("file:")).is_absolute()


@pytest.mark.parametrize("kind", PLAYLISTS)
def test_the_guards_alone_stop_ffmpeg_from_following_a_playlist(kind: str, tmp_path: Path) -> None:
    # FFmpeg formats manual, options format_whitelist and protocol_whitelist.
    make(tmp_path / "other.m4a", 1)
    trap = tmp_path / "trap.mp4"
    trap.write_text(PLAYLISTS[kind].format(other="other.m4a"))
    guards = [word for name, value in GUARDS.items() for word in (f"-{name}", value)]
    with pytest.raises(ProgramError):
        programs.run([*guards, "-i", programs.url(trap), "-f", "null", "-"], trap)


def test_the_playlist_trap_is_a_real_one(tmp_path: Path) -> None:
    # Without the guards ffmpeg does open the other file: so the test above can fail.
    make(tmp_path / "other.m4a", 1)
    trap = tmp_path / "trap.mp4"
    trap.write_text(PLAYLISTS["concat"].format(other="other.m4a"))
    programs.run(["-i", programs.url(trap), "-f", "null", "-"], trap)


@pytest.mark.parametrize("kind", PLAYLISTS)
@pytest.mark.parametrize("lead", ["", "\ufeff", "\n  "])
def test_playlists_are_refused_by_content(kind: str, lead: str, tmp_path: Path) -> None:
    trap = tmp_path / "class.mp4"
    trap.write_text(lead + PLAYLISTS[kind].format(other="other.m4a"), encoding="utf-8")
    with pytest.raises(MediaError, match="playlist"):
        check_file(trap)


def test_a_recording_opens(tmp_path: Path) -> None:
    with open_recording(make(tmp_path / "a.wav", 1)) as media:
        assert media.format.name == "wav"
