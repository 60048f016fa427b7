"""A lesson folder published again: what changed, all at once, with no work on media that need none."""

from __future__ import annotations

import hashlib
import json
import multiprocessing
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from segmenter.cli import main
from segmenter.copies import media_is_stale, write_media
from segmenter.edits.journal import Journal
from segmenter.edits.kinds import Hide, RemoveHold, Retitle, SetAsked, Undo
from segmenter.errors import FolderError, LessonError
from segmenter.heard import Curve
from segmenter.lesson import Lesson, lesson_from_json, to_json
from segmenter.made import Made, read_made
from segmenter.publish.base import WRITERS
from segmenter.publishing import OUTPUTS, WHOLE, changes_of, republish, rewrite_texts
from segmenter.together import settle, together
from tests.edits.writing import publish_and_die
from tests.lessons import rich_lesson
from tests.media_files import make


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    made = tmp_path / "lesson"
    made.mkdir()
    (made / "draft.json").write_text(to_json(rich_lesson()), encoding="utf-8")
    return made


def _lesson(folder: Path) -> Lesson:
    return lesson_from_json((folder / "lesson.json").read_bytes())


def _contents(folder: Path) -> dict[str, str]:
    files = [path for path in folder.iterdir() if path.is_file()]
    return {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def test_publishing_lays_the_edits_over_and_writes_only_what_changed(folder: Path) -> None:
    first = republish(folder)
    assert {path.name for path in first.files} == {*OUTPUTS, "index.html", "lesson.json"}
    assert republish(folder).files == ()
    Journal(folder).append(Retitle(at_ms=11_000, title="Long ah"))
    second = republish(folder)
    assert "chapters.txt" in {path.name for path in second.files}
    assert "captions.srt" not in {path.name for path in second.files}, "no caption changed"
    assert "Long ah" in (folder / "chapters.txt").read_text(encoding="utf-8")
    assert "Long ah" not in (folder / "draft.json").read_text(encoding="utf-8")


def test_holds_are_drawn_from_what_the_build_kept(folder: Path) -> None:
    republish(folder)
    lengths = (folder / "holds" / "01-02.svg").read_bytes()
    loud, high = np.full(1_600, -22, np.float32), np.full(1_600, 196, np.float32)
    (folder / ".work" / "curve-0.json").write_text(to_json(Curve.packed(50, -25.0, high, loud)), encoding="utf-8")
    republish(folder)
    assert (folder / "holds" / "01-02.svg").read_bytes() != lengths
    for broken in ("half of a cur", '{"step": 0.05, "talk_db": null, "pitch": "?", "level": "AAA"}'):
        (folder / ".work" / "curve-0.json").write_text(broken, encoding="utf-8")
        republish(folder)
        assert (folder / "holds" / "01-02.svg").read_bytes() == lengths
    Journal(folder).append(RemoveHold(at_ms=36_000))
    republish(folder)
    assert [path.name for path in (folder / "holds").iterdir()] == ["01-01.svg"]


def test_page_and_upload_text_point_to_a_film_that_is_there(folder: Path) -> None:
    republish(folder)
    draft = _lesson(folder)
    for name in ("index.html", "upload.txt"):
        assert "follow-along.mp4" not in (folder / name).read_text(encoding="utf-8")
    Journal(folder).append(Retitle(at_ms=11_000, title="Not published yet"))
    (folder / "follow-along.mp4").write_bytes(b"a film")
    rewrite_texts(folder)
    for name in ("index.html", "upload.txt"):
        assert "follow-along.mp4" in (folder / name).read_text(encoding="utf-8")
    assert _lesson(folder) == draft


def test_a_folder_that_nobody_knows_how_it_was_made_is_left_alone(folder: Path) -> None:
    (folder / "lesson.json").write_text(to_json(rich_lesson()), encoding="utf-8")
    rewrite_texts(folder)
    assert {path.name for path in folder.iterdir()} == {"draft.json", "lesson.json"}


def test_files_that_are_not_wanted_go_away(folder: Path) -> None:
    republish(folder)
    republish(folder, Made(left_out=("upload.txt", "sheet.csv")))
    assert not (folder / "upload.txt").exists()
    assert not (folder / "sheet.csv").exists()
    assert (folder / "chapters.txt").exists()
    assert read_made(folder).left_out == ("upload.txt", "sheet.csv"), "kept for the next time"


def test_what_is_hidden_reaches_no_viewer(folder: Path) -> None:
    Journal(folder).append(Hide(at_ms=70_000))
    republish(folder)
    for name in (*WRITERS, "index.html"):
        if name not in WHOLE and not name.endswith(".xlsx"):
            assert "Capitals" not in (folder / name).read_text(encoding="utf-8"), name
    assert "Capitals" in (folder / "sheet.csv").read_text(encoding="utf-8"), "the clinician's sheet has all"
    assert [chapter.hidden for chapter in _lesson(folder).chapters] == [False, False, True]


def test_twenty_kills_while_publishing_leave_all_old_or_all_new(folder: Path) -> None:
    """Killed before each file in turn takes its place; the next look brings it to one end or the other."""
    republish(folder)
    spawn = multiprocessing.get_context("spawn")
    for at in range(1, 21):
        old = _contents(folder)
        Journal(folder).append(Retitle(at_ms=11_000, title=f"Long ah {at}"))
        dying = spawn.Process(target=publish_and_die, args=(folder, at))
        dying.start()
        dying.join()
        assert dying.exitcode in {0, 9}
        settle(folder)
        killed = _contents(folder)
        republish(folder, media=False)
        new = _contents(folder)
        names = {name for name in new if old.get(name) != new[name]} - {"edits.json"}
        assert "lesson.json" in names
        assert {killed[n] for n in names} in ({old[n] for n in names}, {new[n] for n in names})
        assert f"Long ah {at}" in (folder / "chapters.txt").read_text(encoding="utf-8"), "no edit is lost"
        assert not (folder / ".work" / "publish.new").exists()


def test_an_error_while_writing_changes_nothing(folder: Path) -> None:
    republish(folder)
    before = _contents(folder)
    with pytest.raises(RuntimeError, match="half way"), together(folder) as stage:
        (stage / "chapters.txt").write_text("half")
        raise RuntimeError("half way")
    assert _contents(folder) == before
    assert not settle(folder)


def test_media_is_worked_on_only_when_something_inside_it_changed(folder: Path, tmp_path: Path) -> None:
    recording = make(tmp_path / "class.mp4", seconds=80)
    republish(folder, Made(recording=str(recording)))
    made = read_made(folder)
    assert made.media is not None
    stamp = (folder / made.media).stat().st_mtime_ns
    Journal(folder).append(SetAsked(at_ms=11_000, asked=()))
    done = republish(folder)
    assert (done.media_work, (folder / made.media).stat().st_mtime_ns) == (False, stamp)
    Journal(folder).append(Retitle(at_ms=11_000, title="Long ah"))
    done = republish(folder, media=False)
    assert (done.media_work, (folder / made.media).stat().st_mtime_ns) == (False, stamp)
    assert media_is_stale(done.lesson, folder, read_made(folder)), "told, so that it can follow"
    recording.unlink()
    assert republish(folder).media_work, "without the original the copy is the source"
    assert (folder / made.media).stat().st_mtime_ns != stamp


def test_media_without_any_source_is_left_alone(folder: Path) -> None:
    made = Made(recording="/nowhere/class.mp4")
    assert write_media(rich_lesson(), folder, made) == made


def test_changes_are_listed_with_what_became_of_them(folder: Path) -> None:
    journal = Journal(folder)
    journal.append(Retitle(at_ms=11_000, title="Long ah"))
    journal.append(Retitle(at_ms=11_000, title="Longer ah"))
    journal.append(Undo(edit=2))
    journal.append(Retitle(at_ms=999_000, title="Nowhere"))
    assert [change.state for change in changes_of(folder)] == [
        "counts",
        "taken back",
        "no longer fits: it lies outside the recording",
    ]
    printed = CliRunner().invoke(main, ["changes", str(folder)])
    assert printed.exit_code == 0
    assert "chapter named “Long ah”" in printed.output
    assert "[taken back]" in printed.output
    rows = json.loads(CliRunner().invoke(main, ["changes", "--json", str(folder)]).stdout)
    assert [row["do"] for row in rows] == ["retitle"] * 3


def test_the_command_publishes_and_speaks_plainly_of_what_is_wrong(folder: Path, tmp_path: Path) -> None:
    Journal(folder).append(Retitle(at_ms=999_000, title="Nowhere"))
    printed = CliRunner().invoke(main, ["publish", str(folder)])
    assert printed.exit_code == 0
    assert "A change has no place any more: it lies outside the recording" in printed.output
    assert "Nothing changed" in CliRunner().invoke(main, ["publish", str(folder)]).output
    with pytest.raises(FolderError, match="no draft"):
        republish(tmp_path)
    (folder / "edits.json").write_text('[{"do": "fly"}]')
    with pytest.raises(LessonError, match="cannot be read"):
        republish(folder)


def test_damaged_edits_are_used_as_far_as_they_go_and_told(folder: Path) -> None:
    journal = Journal(folder)
    for title in ("One", "Two", "Three"):
        journal.append(Retitle(at_ms=15_000, title=title))
    file = folder / "edits.json"
    torn = file.read_bytes()[:-60]
    file.write_bytes(torn)
    lesson = republish(folder).lesson
    assert lesson.chapters[1].title == "Two"
    (check,) = [check for check in lesson.checks if check.code == "edits-damaged"]
    (kept,) = folder.glob("edits-damaged-*.json")
    assert kept.name in check.message
    assert kept.read_bytes() == torn
    assert "was damaged" in (folder / "checks.html").read_text(encoding="utf-8")
    kept.unlink()
    assert [check.code for check in republish(folder).lesson.checks if check.code == "edits-damaged"] == []
