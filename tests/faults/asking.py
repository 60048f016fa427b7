"""Questions to the desk that no window of it would ask."""

# ruff: noqa: E501 - tables of odd values

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from hypothesis import strategies as st
from starlette.testclient import TestClient

from segmenter.edits.journal import read_entries
from segmenter.review.app import make_app
from segmenter.review.serving import HOST
from segmenter.review.state import Desk
from tests.review.serving import KEY

PORT = 8357
Question = tuple[str, str, bytes]
_LEAVES: st.SearchStrategy[Any] = (
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20)
    | st.sampled_from(["\ud800", "\0", "x" * 100, -1, 1e300, 2**70, "voice", "retitle", "1.0", "chapters.txt", "../x"])
)  # fmt: skip
_VALUES = st.recursive(
    _LEAVES,
    lambda more: st.lists(more, max_size=3) | st.dictionaries(st.text(max_size=8), more, max_size=3),
    max_leaves=6,
)
_NAMES = ("edit", "seen", "key", "id", "at", "until", "do", "to", "title", "files", "media", "handOn", "remember", "was",
          "text", "path", "kept", "name", "transcript", "transcriptName", "asked", "kind", "draft", "code", "still")  # fmt: skip
_ROWS = st.dictionaries(st.sampled_from(_NAMES), _VALUES, max_size=6)
_EDITS = st.fixed_dictionaries(
    {"do": st.sampled_from(["retitle", "split", "set-word", "add-hold", "set-asked", "replace-words", "mark-checked"]),
     "at": st.floats(-10, 100) | st.just(11.0)},
    optional={"title": _LEAVES, "was": _LEAVES, "text": _LEAVES, "end": _LEAVES, "asked": _VALUES, "draft": _LEAVES},
)  # fmt: skip
_POSTED = st.sampled_from(["edit", "undo", "redo", "place", "publish", "add", "forget", "upload", "job/a/cancel"])
_GOT = st.text(max_size=20) | st.sampled_from(
    ["since?seen=%00", "captions", "curve", "files/\0", "files/..%2f", "media", ""]
)
_NO_JSON = st.binary(max_size=60) | st.sampled_from([b"[" * 100_000, b"{" * 5_000, b'{"a":' * 50_000, b"\xff\xfe"])


@st.composite
def questions(draw: st.DrawFn) -> Question:
    """Method, path and body; some nearly right."""
    if draw(st.integers(0, 4)) == 0:
        return "GET", f"/lesson/Voice/{draw(_GOT)}", b""
    what = draw(_POSTED)
    path = f"/{what}" if what in {"add", "forget", "upload"} or "job" in what else f"/lesson/Voice/{what}"
    if draw(st.integers(0, 5)) == 0:
        return "POST", path, draw(_NO_JSON)
    row = draw(_ROWS)
    if what == "edit" and draw(st.integers(0, 3)):
        row |= {"edit": draw(_EDITS), "seen": "NOW", "key": draw(st.text(max_size=90))}
    elif what in {"undo", "redo", "place"} and draw(st.booleans()):
        row |= {"seen": "NOW", "key": draw(st.text(max_size=90))}
    return "POST", path, json.dumps(row).encode()


class Asked:
    """A desk in this process, over one lesson called Voice."""

    def __init__(self, root: Path) -> None:
        self.folder = root / "Voice"
        self.desk = Desk.over(root, "tiny")
        app = make_app(self.desk, KEY, PORT)
        self.client = TestClient(app, base_url=f"http://{HOST}:{PORT}", raise_server_exceptions=False)
        self.client.cookies.set(f"desk-{PORT}", KEY)
        self.headers = {"origin": f"http://{HOST}:{PORT}"}

    def version(self) -> str:
        """What a window of the lesson shows."""
        return str(self.client.get("/lesson/Voice/since").json()["version"])

    def ask(self, question: Question) -> int:
        """Ask, look that the answer has the right shape and that no change is gone; return the status."""
        method, path, body = question
        if b'"NOW"' in body:
            body = body.replace(b'"NOW"', json.dumps(self.version()).encode())
        before = len(read_entries(self.folder / "edits.json"))
        try:
            answer = self.client.request(method, path, content=body, headers=self.headers)
        except Exception as error:
            if type(error).__name__ != "InvalidURL" and not isinstance(error, UnicodeEncodeError):
                raise
            return 0  # the client itself will not send it
        if answer.status_code >= 400 and answer.headers["content-type"] == "application/json":
            assert set(answer.json()) <= {"problem", "news"}
        assert answer.status_code < 500, (answer.status_code, answer.text[:300], question[:2], body[:300])
        assert len(read_entries(self.folder / "edits.json")) >= before, "changes are gone"
        assert not list(self.folder.glob("edits-damaged-*")), "the desk wrote what it cannot read"
        return answer.status_code

    def close(self) -> None:
        """End the desk."""
        self.desk.close()
