"""The command line: results on standard output, one clear line for every mistake, nothing lost."""

import json
import shutil
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result

from segmenter.cli import main
from segmenter.hear.samples import RATE
from segmenter.hear.speech import Recognised, RecognisedWord
from tests import media_files
from tests.evaluation.example import MEDIA
from tests.sounds import babble

WORDS = """Hold a long ah for five seconds and then rest. At home do this ten times every day.""".split()  # noqa: SIM905


class Speaks:
    """A recogniser that hears the same sentence in every window, in the language it is told."""

    language = "en"

    def __init__(self, *_: object) -> None:
        self.name = "speaks"

    def recognise(self, signal: np.ndarray, language: str | None, prompt: str | None = None) -> Recognised:
        step = len(signal) / RATE / len(WORDS)
        words = (RecognisedWord(f" {w}", i * step, (i + 0.9) * step, 0.9) for i, w in enumerate(WORDS))
        return Recognised(tuple(words), language or self.language, 0.99)


@pytest.fixture(autouse=True)
def _no_weights(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("segmenter.hearing.WhisperRecogniser", Speaks)


@pytest.fixture(scope="module")
def talk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Twelve seconds of voiced babble as an mp4 with a picture."""
    folder = tmp_path_factory.mktemp("talk")
    wav, mp4 = folder / "talk.wav", folder / "talk.mp4"
    signal = babble(12.0, 110.0, np.random.default_rng(3)).astype(np.float32)
    media_files.write_wav(wav, 0.3 * signal / np.abs(signal).max(), RATE)
    media_files.film(wav, mp4)
    return mp4


def run(*arguments: object) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def failed(result: Result, *said: str) -> None:
    assert result.exit_code == 1, result.output
    assert result.exception is None or isinstance(result.exception, SystemExit)
    *progress, last = result.stderr.strip().splitlines()
    assert last.startswith("Error: "), result.stderr
    assert not any("Error" in line or "Traceback" in line for line in progress), result.stderr
    for part in said:
        assert part in last


def test_prints_the_schema() -> None:
    assert json.loads(run("schema").stdout)["$id"] == "lesson/1"


def test_builds_and_says_what_it_found(talk: Path, tmp_path: Path) -> None:
    result = run("build", talk, "-o", tmp_path / "lesson", "--json", "--title", "Tuesday")
    assert result.exit_code == 0, result.output
    facts = json.loads(result.stdout)
    assert facts["title"] == "Tuesday"
    assert "index.html" in facts["files"]
    assert not result.stderr
    plain = run("build", talk, "-o", tmp_path / "lesson")
    assert plain.exit_code == 0
    assert "index.html" in plain.stdout
    assert "100%" in plain.stderr


def test_quiet_prints_nothing(talk: Path, tmp_path: Path) -> None:
    result = run("build", talk, "-o", tmp_path / "lesson", "--quiet")
    assert (result.exit_code, result.output) == (0, "")


def test_no_such_file(tmp_path: Path) -> None:
    failed(run("build", tmp_path / "gone.mp4"), "no such file")


def test_no_input_is_misuse() -> None:
    assert run("build").exit_code == 2


@pytest.mark.parametrize("content", [b"", b"just a note, not a film\n" * 20], ids=["empty", "text"])
def test_what_is_no_recording_is_refused(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "class.mp4"
    path.write_bytes(content)
    failed(run("build", path, "-o", tmp_path / "lesson"), "class.mp4")
    assert not (tmp_path / "lesson").exists()


def test_a_folder_is_no_recording(tmp_path: Path) -> None:
    failed(run("build", tmp_path, "-o", tmp_path / "lesson"))


def test_a_film_without_sound(tmp_path: Path) -> None:
    failed(run("build", media_files.silent_film(tmp_path / "mute.mp4"), "-o", tmp_path / "out"), "no sound")


def test_three_seconds_are_no_class(tmp_path: Path) -> None:
    failed(run("build", media_files.make(tmp_path / "short.mp4", 3.0), "-o", tmp_path / "out"), "only 3 seconds")


def test_silence_alone(tmp_path: Path) -> None:
    path = media_files.sound(tmp_path / "silence.wav", "anullsrc=r=16000:cl=mono:d=12")
    failed(run("build", path, "-o", tmp_path / "out"), "nobody can be heard")


def test_another_language_is_said_and_can_be_insisted_on(
    talk: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(Speaks, "language", "fr")
    failed(run("build", talk, "-o", tmp_path / "out"), "another language", "--language fr")
    assert run("build", talk, "-o", tmp_path / "out", "--language", "fr", "--quiet").exit_code == 0


@pytest.mark.parametrize("suffix", [".avi", ".ts", ".wmv"])
def test_less_usual_recordings_are_read_too(suffix: str, talk: Path, tmp_path: Path) -> None:
    path = tmp_path / f"talk{suffix}"
    media_files.convert(talk, path)
    result = run("build", path, "-o", tmp_path / "lesson", "--quiet")
    assert result.exit_code == 0, result.output
    assert [made.suffix for made in (tmp_path / "lesson").glob("talk*")] in ([".mp4"], [".mkv"])


@pytest.mark.parametrize("content", ["- id: x\n  naem: y\n", "{"], ids=["field", "syntax"])
def test_a_faulty_catalogue_is_told_with_its_line(content: str, talk: Path, tmp_path: Path) -> None:
    path = tmp_path / "ours.yaml"
    path.write_text(content)
    failed(run("build", talk, "-o", tmp_path / "lesson", "--catalogue", path), "ours.yaml", "line")


def test_a_transcript_alone_gives_a_lesson(tmp_path: Path) -> None:
    path = tmp_path / "class.txt"
    path.write_text(
        "[0:01] Hello and welcome.\n[0:10] Now the effortful swallow, do five of them.\n[0:40] Goodbye.\n"
    )
    result = run("build", "--transcript", path, "--json")
    assert result.exit_code == 0, result.output
    lesson = json.loads((tmp_path / "class-lesson" / "lesson.json").read_text(encoding="utf-8"))
    assert lesson["recording"]["path"] is None
    assert "effortful-swallow" in [chapter["exercise"] for chapter in lesson["chapters"]]


def test_a_transcript_replaces_the_recogniser(talk: Path, tmp_path: Path) -> None:
    path = tmp_path / "class.srt"
    path.write_text("1\n00:00:01,000 --> 00:00:06,000\nSit tall and hum for me\n")
    result = run("build", talk, "--transcript", path, "-o", tmp_path / "lesson", "--quiet")
    assert result.exit_code == 0, result.output
    lesson = json.loads((tmp_path / "lesson" / "lesson.json").read_text(encoding="utf-8"))
    assert [word["text"] for word in lesson["words"]] == ["Sit", "tall", "and", "hum", "for", "me"]
    assert lesson["made_by"]["speech_model"] is None


def test_other_peoples_files_are_left_alone(talk: Path, tmp_path: Path) -> None:
    folder = tmp_path / "photos"
    folder.mkdir()
    (folder / "cat.jpg").write_bytes(b"cat")
    failed(run("build", talk, "-o", folder), "cat.jpg", "-o")
    assert [path.name for path in folder.iterdir()] == ["cat.jpg"]


def test_a_truncated_recording_gives_a_lesson_of_what_could_be_read(talk: Path, tmp_path: Path) -> None:
    path = media_files.cut(MEDIA, tmp_path / "cut.mp4", 0.3)
    result = run("build", path, "-o", tmp_path / "lesson", "--json")
    assert result.exit_code == 0, result.output
    lesson = json.loads((tmp_path / "lesson" / "lesson.json").read_text(encoding="utf-8"))
    assert any("could be read" in check["message"] for check in lesson["checks"])


@pytest.mark.parametrize("kind", media_files.PLAYLISTS)
def test_a_playlist_that_points_elsewhere_is_refused(kind: str, talk: Path, tmp_path: Path) -> None:
    shutil.copy(talk, tmp_path / "secret.mp4")
    path = tmp_path / "class.mp4"
    path.write_text(media_files.PLAYLISTS[kind].format(other="secret.mp4"))
    failed(run("build", path, "-o", tmp_path / "out"), "class.mp4")


def test_a_full_disk_is_said_plainly(talk: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    folder = tmp_path / "lesson"
    assert run("build", talk, "-o", folder, "--quiet").exit_code == 0
    before = (folder / "lesson.json").read_bytes()
    monkeypatch.setattr("segmenter.files.os.fsync", full)
    failed(run("build", talk, "-o", folder, "--title", "Another"), "disk is full")
    assert (folder / "lesson.json").read_bytes() == before
