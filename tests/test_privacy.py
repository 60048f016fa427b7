"""What is said in a class is written into its lesson folder and nowhere else: to no screen, log, or cache."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.media_files import make

RARE = "Quinceberry"
WORDS = f"""WEBVTT

00:00.500 --> 00:03.000
Welcome, my name is {RARE}.

00:03.200 --> 00:06.000
Sit tall and say {RARE} three times.

00:06.200 --> 00:11.000
Pause the video here and do five more at home.
"""


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A recording and its transcript, a home folder and a place for temporary files, all of them empty before."""
    place = tmp_path_factory.mktemp("private")
    for name in ("home", "passing", "own"):
        (place / name).mkdir()
    make(place / "own" / "class.mp4", 12)
    (place / "own" / "class.vtt").write_text(WORDS, encoding="utf-8")
    return place


def said_by(place: Path, *arguments: str) -> str:
    """All that a command writes to the screen, with every logger of every library at its most talkative."""
    home, passing = str(place / "home"), str(place / "passing")
    talkative = "import logging; logging.basicConfig(level=0); from segmenter.cli import main; main()"
    ran = subprocess.run(
        [sys.executable, "-c", talkative, *arguments],
        env={**os.environ, "HOME": home, "XDG_CACHE_HOME": home, "TMPDIR": passing},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    return ran.stdout + ran.stderr


def holding(place: Path) -> set[str]:
    """First folders below `place` of all files with the word in them, or in their names."""
    found = (path for path in place.rglob("*") if path.is_file())
    return {
        path.relative_to(place).parts[0]
        for path in found
        if RARE.lower().encode() in path.read_bytes().lower() or RARE.lower() in path.name.lower()
    }


def test_what_was_said_is_only_in_the_lesson(place: Path) -> None:
    own, lesson = place / "own", str(place / "lesson")
    build = ("build", str(own / "class.mp4"), "--transcript", str(own / "class.vtt"), "-o", lesson)
    for arguments in (build, ("publish", lesson, "--hand-on"), ("library", str(place))):
        assert RARE.lower() not in said_by(place, *arguments).lower(), arguments[0]
    assert holding(place) >= {"lesson", "own"}, "the word is there to be found"
    assert holding(place) <= {"lesson", "own", ".library.sqlite"}
