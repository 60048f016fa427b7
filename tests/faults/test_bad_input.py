"""What others wrote, and what no window would ask, is taken or refused in plain words: never a crash."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings

from segmenter.edits.kinds import KEY_LENGTH
from tests.faults.asking import Asked, Question, questions
from tests.faults.parsers import PARSERS, SEEDS, fed, near
from tests.lessons import rich_lesson
from tests.review.serving import shelved

QUICK = settings(max_examples=25, deadline=None, database=None, suppress_health_check=list(HealthCheck))


@pytest.mark.parametrize("name", PARSERS)
def test_parsers_take_or_refuse(name: str) -> None:
    for seed in SEEDS[name]:
        fed(name, seed)

    @QUICK
    @given(near(name))
    def feed(data: bytes) -> None:
        fed(name, data)

    feed()


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Asked]:
    root = tmp_path_factory.mktemp("shelf") / "lessons"
    shelved(root, "Voice", rich_lesson())
    asked = Asked(root)
    yield asked
    asked.close()


def test_odd_questions_get_an_answer(desk: Asked) -> None:
    @settings(QUICK, max_examples=60)
    @given(questions())
    def ask(question: Question) -> None:
        desk.ask(question)

    ask()


@pytest.mark.parametrize(
    ("what", "body", "status"),
    [
        ("publish", b'{"files": [{}]}', 400),
        ("edit", b"[" * 200_000, 400),
        ("undo", b'{"seen": "NOW", "key": "%s"}' % (b"k" * (KEY_LENGTH + 1)), 400),
        ("undo", b'{"seen": "NOW", "key": "\\ud800"}', 400),
        (
            "edit",
            b'{"seen": "NOW", "key": "%s", "edit": {"do": "retitle", "at": 11, "title": "A"}}' % (b"k" * 99),
            400,
        ),
        ("edit", b'{"seen": "NOW", "key": "a", "edit": {"do": "retitle", "at": 11, "title": "A\\ud800"}}', 422),
        ("edit", b'{"seen": "NOW", "key": "b", "edit": {"do": "retitle", "at": 11, "title": "New title"}}', 200),
    ],
)
def test_questions_that_once_went_wrong(desk: Asked, what: str, body: bytes, status: int) -> None:
    assert desk.ask(("POST", f"/lesson/Voice/{what}", body)) == status


def test_a_damaged_file_of_changes_is_told_at_the_desk(tmp_path: Path) -> None:
    folder = shelved(tmp_path / "lessons", "Voice", rich_lesson())
    desk = Asked(tmp_path / "lessons")
    (folder / "edits.json").write_text('[{"do": "retitle", "at": 11, "title": "Kept"}, {"do": ')
    shown = desk.client.get("/lesson/Voice/since").json()
    assert "Kept" in [chapter["title"] for chapter in shown["chapters"]]
    assert [check["code"] for check in shown["checks"] if check["level"] == "stop"][:1] == ["edits-damaged"]
    (kept,) = folder.glob("edits-damaged-*.json")
    kept.unlink()
    assert "edits-damaged" not in str(desk.client.get("/lesson/Voice/since").json())
    desk.close()


@pytest.mark.parametrize("name", ["queue.json", "remembered.json"])
def test_the_desks_own_damaged_files_are_kept_beside(tmp_path: Path, name: str) -> None:
    own = tmp_path / "lessons" / ".desk"
    own.mkdir(parents=True)
    (own / name).write_text('[{"id": ')
    desk = Asked(tmp_path / "lessons")
    assert desk.client.get("/").status_code == 200
    desk.client.post("/forget", json={"was": "a"}, headers=desk.headers)
    desk.close()
    assert (own / f"{name.removesuffix('.json')}-damaged-1.json").read_text() == '[{"id": '
