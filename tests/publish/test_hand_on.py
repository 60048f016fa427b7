"""What viewers may have, in a folder of its own: without what was hidden, and without names that were taken out."""

from __future__ import annotations

import json
import re
import zlib
from pathlib import Path

import av
import pytest
from click.testing import CliRunner

from segmenter.cli import main
from segmenter.edits.journal import Journal
from segmenter.edits.kinds import Hide, RemoveName
from segmenter.lesson import Lesson, to_json
from segmenter.made import Made
from segmenter.programs import run, url
from segmenter.publish.hand_on import FOLDER, hand_on
from segmenter.publish.page.pack import unpack
from segmenter.publishing import OUTPUTS, WHOLE, republish, rewrite_texts
from tests.lessons import rich_lesson, spoken
from tests.media_files import make

HIDDEN, NAME = "Capitals", "Gwendolen"


def draft() -> Lesson:
    """The rich class, with a name in every place that a name can get to."""
    lesson = rich_lesson()
    opening = lesson.chapters[0].model_copy(update={"title": f"Hello, {NAME}", "reasons": (f"“hello {NAME}”",)})
    words = (*spoken(f"{NAME}'s chair, {NAME}!", 6_000), *lesson.words)
    return lesson.model_copy(
        update={
            "title": f"Class with {NAME}",
            "chapters": (opening, *lesson.chapters[1:]),
            "words": tuple(sorted(words, key=lambda word: word.start_ms)),
        }
    )


def recording(folder: Path) -> Path:
    """A film that already carries captions in another language, with the name and the hidden words in them."""
    plain = make(folder / "plain.mkv", seconds=80)
    own = folder / "own.srt"
    own.write_text(f"1\n00:00:01,000 --> 00:00:03,000\n{NAME} {HIDDEN}\n", encoding="utf-8")
    made = folder / "class.mkv"
    maps = [
        "-map",
        "0",
        "-map",
        "1",
        "-c",
        "copy",
        "-metadata:s:s:0",
        "language=pol",
        "-metadata",
        f"artist={NAME}",
    ]
    run(["-i", url(plain), "-i", url(own), *maps, "-y", url(made)], made)
    return made


def everything(folder: Path) -> str:
    """All bytes of all files that could be read, also of packed streams in PDF files."""
    found = []
    for path in folder.rglob("*"):
        if path.is_file():
            data = path.read_bytes()
            found.append(data.decode("latin-1"))
            for stream in re.findall(rb"stream\r?\n(.*?)endstream", data, re.DOTALL):
                try:
                    found.append(zlib.decompress(stream).decode("latin-1"))
                except zlib.error:
                    continue
            found.append(data.decode("utf-16-be", "ignore"))  # PDF titles and outlines
    return "\0".join(found)


def test_nothing_hidden_and_no_name_is_handed_on(tmp_path: Path) -> None:
    folder = tmp_path / "lesson"
    folder.mkdir()
    (folder / "draft.json").write_text(to_json(draft()), encoding="utf-8")
    republish(folder, Made(recording=str(recording(tmp_path)), hand_on=True))
    before = everything(folder / FOLDER)
    assert NAME in before
    assert HIDDEN in before
    with av.open(str(folder / FOLDER / "class.mkv")) as media:
        assert [s.metadata["language"] for s in media.streams.subtitles] == ["eng", "pol"]
    Journal(folder).append(Hide(at_ms=70_000))
    Journal(folder).append(RemoveName(at_ms=0, was=NAME.lower()))
    assert republish(folder, media=False)
    assert not (folder / FOLDER).exists(), "while the recording's copy still says it, nothing is handed on"
    republish(folder)
    names = {
        path.relative_to(folder / FOLDER).as_posix() for path in (folder / FOLDER).rglob("*") if path.is_file()
    }
    assert names >= {"index.html", "class.mkv", *OUTPUTS} - WHOLE
    assert not names & {"draft.json", "edits.json", "lesson.json", *WHOLE}
    after = everything(folder / FOLDER)
    for secret in (NAME, HIDDEN):
        assert secret.lower() not in after.lower(), secret
    page = page_data(folder / FOLDER / "index.html")
    assert NAME not in page
    assert HIDDEN not in page
    with av.open(str(folder / FOLDER / "class.mkv")) as media:
        assert [s.metadata["language"] for s in media.streams.subtitles] == ["eng"], (
            "nobody checked the other track"
        )
        shown = b"".join(bytes(p) for p in media.demux(media.streams.subtitles[0]) if p.size)
        assert NAME.encode() not in shown


def page_data(page: Path) -> str:
    """What the lesson page knows."""
    packed = re.search(r'id="data"[^>]*>([^<]+)<', page.read_text(encoding="utf-8"))
    assert packed is not None
    text = json.dumps(unpack(packed[1]), ensure_ascii=False)
    assert "chapters" in text
    return text


def test_the_folder_is_whole_and_holds_nothing_else(tmp_path: Path) -> None:
    (tmp_path / "stills").mkdir()
    for name in ("index.html", "stills/01.jpg", "draft.json"):
        (tmp_path / name).write_text(name)
    hand_on(tmp_path, ["index.html", "stills/01.jpg"])
    hand_on(tmp_path, ["index.html"])
    assert [path.name for path in (tmp_path / FOLDER).rglob("*")] == ["index.html"]
    (tmp_path / FOLDER / "index.html").write_text("a person's own change")
    assert (tmp_path / "index.html").read_text() == "index.html"
    with pytest.raises(Exception, match="writing failed"):
        hand_on(tmp_path, ["index.html", "not there.html"])
    assert [path.name for path in (tmp_path / FOLDER).rglob("*")] == ["index.html"], "the old one stays"
    hand_on(tmp_path, [])
    assert not (tmp_path / FOLDER).exists()


def test_the_command_hands_on_and_remembers(tmp_path: Path) -> None:
    (tmp_path / "draft.json").write_text(to_json(rich_lesson()), encoding="utf-8")
    (tmp_path / ".work").mkdir()
    printed = CliRunner().invoke(main, ["publish", str(tmp_path), "--hand-on"])
    assert "To hand on" in printed.output
    (tmp_path / FOLDER / "index.html").unlink()
    assert "To hand on" in CliRunner().invoke(main, ["publish", str(tmp_path)]).output
    assert (tmp_path / FOLDER / "index.html").exists()
    assert "To hand on" not in CliRunner().invoke(main, ["publish", str(tmp_path), "--no-hand-on"]).output
    assert not (tmp_path / FOLDER).exists(), "what is not kept up to date must not lie about"


def test_a_film_from_before_the_last_change_stays_behind(tmp_path: Path) -> None:
    (tmp_path / "draft.json").write_text(to_json(rich_lesson()), encoding="utf-8")
    republish(tmp_path, Made(hand_on=True))
    (tmp_path / "follow-along.mp4").write_bytes(b"film")
    republish(tmp_path)
    assert (tmp_path / FOLDER / "follow-along.mp4").exists()
    Journal(tmp_path).append(Hide(at_ms=70_000))
    said = CliRunner().invoke(main, ["publish", str(tmp_path)]).output
    assert f"segmenter follow-along {tmp_path}" in said
    assert not (tmp_path / FOLDER / "follow-along.mp4").exists()
    for name in ("index.html", "upload.txt"):
        assert "follow-along.mp4" not in (tmp_path / name).read_text(encoding="utf-8"), name
    (tmp_path / "follow-along.mp4").write_bytes(b"made again")
    rewrite_texts(tmp_path)
    assert "follow-along.mp4" in (tmp_path / "index.html").read_text(encoding="utf-8")
    assert "The film is" not in CliRunner().invoke(main, ["publish", str(tmp_path)]).output
