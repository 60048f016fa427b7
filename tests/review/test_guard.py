"""Nobody but the desk's own pages, in the browser that opened its link, gets an answer; no path leads out."""

from __future__ import annotations

import http.client
import json
import os
import socket
import stat
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import quote

import pytest

from segmenter.review.guard import POLICY
from segmenter.review.serving import HOST, _listen, _token
from segmenter.review.shelf import Shelf
from tests.lessons import rich_lesson
from tests.review.serving import KEY, Running, running, shelved


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    root = tmp_path_factory.mktemp("shelf") / "lessons"
    shelved(root, "Voice", rich_lesson())
    (root.parent / "secret.txt").write_text("secret")
    with running(root) as started:
        yield started


def ask(
    desk: Running, path: str, method: str = "GET", body: bytes = b"", **headers: str
) -> tuple[int, dict[str, str], bytes]:
    """One request exactly as written: no library tidies the path."""
    given = {"host": f"{HOST}:{desk.port}", "cookie": f"desk-{desk.port}={KEY}"}
    given |= {name.replace("_", "-"): value for name, value in headers.items()}
    connection = http.client.HTTPConnection(HOST, desk.port, timeout=60)
    connection.putrequest(method, path, skip_host=True, skip_accept_encoding=True)
    for name, value in given.items():
        if value:
            connection.putheader(name, value)
    if method == "POST":
        connection.putheader("content-length", str(len(body)))
    connection.endheaders(body or None)
    answer = connection.getresponse()
    found = answer.status, {k.lower(): v for k, v in answer.getheaders()}, answer.read()
    connection.close()
    return found


def test_it_listens_on_this_computer_only() -> None:
    with _listen(0) as listening:
        assert listening.getsockname()[0] == "127.0.0.1"


def test_the_browser_may_come_before_the_server_answers() -> None:
    with _listen(0) as listening, socket.create_connection(listening.getsockname(), timeout=60):
        pass  # queued, not refused


def test_the_link_hands_out_a_cookie_that_other_sites_cannot_send(desk: Running) -> None:
    """RFC 6265bis: HttpOnly and SameSite=Strict."""
    status, headers, _ = ask(desk, f"/open?key={KEY}", cookie="")
    assert (status, headers["location"]) == (303, "/")
    cookie = headers["set-cookie"].lower()
    assert "httponly" in cookie
    assert "samesite=strict" in cookie
    assert ask(desk, "/open?key=wrong", cookie="")[0] == 403
    assert ask(desk, "/", cookie="")[0] == 403
    assert ask(desk, "/", cookie=f"desk-{desk.port}=wrong")[0] == 403
    assert ask(desk, "/")[0] == 200


@pytest.mark.parametrize("host", ["evil.example", f"evil.example:{80}", "127.0.0.1", "localhost", "[::1]"])
def test_another_name_for_this_computer_is_refused(desk: Running, host: str) -> None:
    """DNS rebinding: the page's name would stand in the Host header."""
    assert ask(desk, "/", host=host)[0] == 403


def test_other_sites_cannot_ask(desk: Running) -> None:
    """Fetch Standard: a page's POST carries its Origin; Fetch Metadata tells where a request is from."""
    own = {"origin": desk.origin}
    path = "/lesson/Voice/undo"
    assert ask(desk, path, "POST", b"{}", origin="http://evil.example")[0] == 403
    assert ask(desk, path, "POST", b"{}", origin="null")[0] == 403
    assert ask(desk, path, "POST", b"{}", origin=f"http://{HOST}:1")[0] == 403
    assert ask(desk, path, "POST", b"{}")[0] == 403
    assert ask(desk, "/", sec_fetch_site="cross-site")[0] == 403
    assert ask(desk, "/", sec_fetch_site="same-site")[0] == 403
    assert ask(desk, path, "POST", b"{}", **own)[0] == 400, "the desk's own page gets through"


@pytest.mark.parametrize("path", ["/", "/lesson/Voice/", "/lesson/Nothing/", "/static/desk.css"])
def test_every_answer_carries_a_strict_policy(desk: Running, path: str) -> None:
    _, headers, _ = ask(desk, path)
    assert headers["content-security-policy"] == POLICY
    assert "unsafe" not in POLICY
    assert headers["x-content-type-options"] == "nosniff"


ODD = (
    "../secret.txt",
    "../../secret.txt",
    "..%2f..%2fsecret.txt",
    "%2e%2e/%2e%2e/secret.txt",
    "..%5c..%5csecret.txt",
    "%252e%252e%252fsecret.txt",
    "..%c0%af..%c0%afsecret.txt",
    "/etc/passwd",
    "%2fetc%2fpasswd",
    ".work/published.json",
    "draft.json",
    "edits.json",
    "C:%5cwindows%5cwin.ini",
    "index.html%00.txt",
    "stills/../draft.json",
    "link.jpg",
    "stills/link.jpg",
    "",
    ".",
    "..",
    "\\..\\..\\secret.txt",
    "chapters.txt/../draft.json",
)


@pytest.mark.parametrize("path", ODD)
def test_no_path_leads_out(desk: Running, path: str) -> None:
    folder = desk.desk.shelf.root / "Voice"
    (folder / "stills").mkdir(exist_ok=True)
    for link in (folder / "link.jpg", folder / "stills" / "link.jpg"):
        if not link.is_symlink():
            link.symlink_to(desk.desk.shelf.root.parent / "secret.txt")
    for start in ("/lesson/Voice/files/", "/lesson/", "/static/", "/look/"):
        status, _, body = ask(desk, start + path)
        assert b"secret" not in body
        assert b"root:" not in body
        assert status in {400, 404, 405, 307} or (status == 200 and start == "/lesson/"), (start, status)
    assert ask(desk, "/lesson/Voice/files/chapters.txt")[0] == 200


def test_a_linked_folder_is_no_lesson(tmp_path: Path) -> None:
    outside = shelved(tmp_path / "outside", "Other", rich_lesson())
    (tmp_path / "lessons").mkdir()
    (tmp_path / "lessons" / "Linked").symlink_to(outside, target_is_directory=True)
    shelf = Shelf(tmp_path / "lessons")
    assert shelf.names() == []
    assert shelf.lesson("Linked") is None
    assert shelf.lesson("../outside/Other") is None


def test_media_is_served_by_ranges(desk: Running) -> None:
    """RFC 9110, 14: 206 with Content-Range, 416 outside."""
    folder = desk.desk.shelf.root / "Voice"
    (folder / "class.mp4").write_bytes(bytes(range(200)))
    status, headers, body = ask(desk, "/lesson/Voice/media", range="bytes=10-19")
    assert (status, headers["content-range"], body) == (206, "bytes 10-19/200", bytes(range(10, 20)))
    assert ask(desk, "/lesson/Voice/media", range="bytes=500-")[0] == 416


def upload(desk: Running, name: str, body: bytes = b"x") -> tuple[int, bytes]:
    status, _, answer = ask(desk, f"/upload?name={quote(name)}", "POST", body, origin=desk.origin)
    return status, answer


def test_what_is_uploaded_is_checked(desk: Running) -> None:
    assert upload(desk, "page.html")[0] == 422
    assert upload(desk, "")[0] == 422
    status, answer = upload(desk, "../../up.mp4", b"no film")
    assert status == 200
    kept = json.loads(answer)["kept"]
    assert (desk.desk.shelf.own / "incoming" / kept).read_bytes() == b"no film"
    wanted = f'{{"kept": "{kept}", "name": "up.mp4"}}'.encode()
    status, _, answer = ask(desk, "/add", "POST", wanted, origin=desk.origin)
    assert status == 422
    assert b"up.mp4" in answer
    assert not (desk.desk.shelf.own / "incoming" / kept).exists(), "what cannot be read is thrown away"
    body = b'{"kept": "../../secret.txt", "name": "a.mp4"}'
    assert ask(desk, "/add", "POST", body, origin=desk.origin)[0] == 422
    assert ask(desk, "/add", "POST", b'{"path": "/etc/passwd"}', origin=desk.origin)[0] == 422


def test_bad_questions_get_the_same_shape_of_answer(desk: Running) -> None:
    for body in (b"[", b"[]", b"{}", b'{"seen": 1}', b'{"edit": {"do": "fly"}, "seen": "1.0", "key": "a"}'):
        status, headers, answer = ask(desk, "/lesson/Voice/edit", "POST", body, origin=desk.origin)
        assert 400 <= status < 500
        assert headers["content-type"] == "application/json"
        assert set(json.loads(answer)) == {"problem"}
    assert ask(desk, "/lesson/Voice/edit", "POST", b" " * 1_000_001, origin=desk.origin)[0] == 413


@pytest.mark.parametrize(
    ("given", "made"),
    [
        ("class.mp4", "class"),
        ("../../etc/passwd", "passwd"),
        ("C:\\Users\\me\\Tues<day>.mov", "Tues day"),
        ("con.mp4", "Class con"),
        (".hidden.mp4", "hidden"),
        ("...", "Class"),
        ("Übung – Stimme.mp4", "Übung Stimme"),
        ("a" * 300 + ".mp4", "a" * 80),
    ],
)
def test_names_that_every_system_takes(tmp_path: Path, given: str, made: str) -> None:
    shelf = Shelf(tmp_path)
    assert shelf.free_name(given) == made
    (tmp_path / made).mkdir()
    assert shelf.free_name(given) == f"{made} 2"


@pytest.mark.skipif(os.name == "nt", reason="Windows has no such modes")
def test_the_key_is_for_this_user_only_and_stays(tmp_path: Path) -> None:
    first = _token(tmp_path / "key")
    assert stat.S_IMODE((tmp_path / "key").stat().st_mode) == 0o600
    assert _token(tmp_path / "key") == first
