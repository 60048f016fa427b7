"""Nothing leaves the machine: the suite runs behind a guard, and the guard bites, here and in every child."""

from __future__ import annotations

import socket
import subprocess
import sys
import threading

import pytest

ELSEWHERE = "192.0.2.1"
"""An address of nobody (RFC 5737, TEST-NET-1)."""
CHILD = f"import socket; socket.create_connection(({ELSEWHERE!r}, 80), timeout=0.1)"


@pytest.mark.parametrize("host", [ELSEWHERE, "example.org", "2001:db8::1"])
def test_another_machine_cannot_be_reached(host: str) -> None:
    with pytest.raises(RuntimeError, match="nothing leaves this machine"):
        socket.create_connection((host, 80), timeout=0.1)


def test_nor_without_a_connection() -> None:
    with (
        socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as out,
        pytest.raises(RuntimeError, match="nothing leaves this machine"),
    ):
        out.sendto(b"name", (ELSEWHERE, 53))


def test_nor_from_a_child() -> None:
    done = subprocess.run([sys.executable, "-c", CHILD], capture_output=True, text=True, check=False)
    assert "nothing leaves this machine" in done.stderr


def _answer(server: socket.socket) -> None:
    server.accept()[0].close()


def test_this_machine_can_talk_to_itself() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        answer = threading.Thread(target=_answer, args=(server,))
        answer.start()
        socket.create_connection(server.getsockname(), timeout=5).close()
        answer.join()
