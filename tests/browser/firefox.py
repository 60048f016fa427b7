"""A second browser: Firefox, spoken to over its own remote protocol.

Marionette, the protocol under WebDriver, is a socket with length-prefixed JSON (Firefox source docs, "Marionette,
Protocol"); its commands are those of the W3C WebDriver standard. Nothing but the standard library is needed.
"""

from __future__ import annotations

import contextlib
import json
import shutil
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

PREFERENCES = {
    "app.update.enabled": False,
    "browser.shell.checkDefaultBrowser": False,
    "datareporting.policy.dataSubmissionEnabled": False,
    "media.autoplay.default": 0,
    "network.captive-portal-service.enabled": False,
    "network.connectivity-service.enabled": False,
    "toolkit.telemetry.reportingpolicy.firstRun": False,
}
PATIENCE_S = 120.0


class Firefox:
    """One window of Firefox; every command waits for its answer."""

    def __init__(self, port: int) -> None:
        self._socket = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_S)
        self._number = 0
        self._read()  # a greeting
        self("WebDriver:NewSession")

    def close(self) -> None:
        """Let go of the connection."""
        self._socket.close()

    def __call__(self, command: str, **values: Any) -> Any:
        self._number += 1
        text = json.dumps([0, self._number, command, values]).encode()
        self._socket.sendall(f"{len(text)}:".encode() + text)
        _, number, error, result = self._read()
        assert number == self._number
        assert error is None, error
        return result.get("value", result) if isinstance(result, dict) else result

    def _read(self) -> Any:
        size = b""
        while not size.endswith(b":"):
            size += self._some(1)
        text = b""
        while len(text) < int(size[:-1]):
            text += self._some(int(size[:-1]) - len(text))
        return json.loads(text)

    def _some(self, most: int) -> bytes:
        piece = self._socket.recv(most)
        if not piece:
            raise ConnectionError("Firefox closed the connection")
        return piece

    def open(self, address: str) -> None:
        """Open a page and wait until it works."""
        self("WebDriver:Navigate", url=address)
        self.until("document.body.dataset.ready === 'yes'")

    def run(self, script: str, *values: Any) -> Any:
        """Run a script that returns something, beside the page's own, so that its policy does not matter."""
        return self("WebDriver:ExecuteScript", script=script, args=list(values), newSandbox=False)

    def until(self, condition: str) -> None:
        """Wait for a condition."""
        end = time.monotonic() + PATIENCE_S
        while not self.run(f"return Boolean({condition})"):
            if time.monotonic() > end:
                pytest.fail(f"never came true: {condition}")
            time.sleep(0.04)

    def click(self, selector: str) -> None:
        """Press what a person sees there."""
        found = self("WebDriver:FindElement", using="css selector", value=selector)
        self("WebDriver:ElementClick", id=next(iter(found.values())))

    def press(self, key: str) -> None:
        """Press and let go one key."""
        keys = [{"type": "keyDown", "value": key}, {"type": "keyUp", "value": key}]
        self("WebDriver:PerformActions", actions=[{"type": "key", "id": "keys", "actions": keys}])

    def size(self, width: int, height: int) -> None:
        """Give the page an inner size."""
        self("WebDriver:SetWindowRect", width=width, height=height)
        over = self.run("return [outerWidth - innerWidth, outerHeight - innerHeight]")
        self("WebDriver:SetWindowRect", width=width + over[0], height=height + over[1])


@contextlib.contextmanager
def firefox() -> Iterator[Firefox]:
    """Start Firefox with a profile of its own, and end it."""
    program = next((found for name in ("firefox-esr", "firefox") if (found := shutil.which(name))), None)
    if program is None:
        pytest.skip("no Firefox on this machine")
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as name:
        chosen = {**PREFERENCES, "marionette.port": port}
        lines = [f"user_pref({json.dumps(key)}, {json.dumps(value)});" for key, value in chosen.items()]
        Path(name, "user.js").write_text("\n".join(lines), "utf-8")
        running = subprocess.Popen(
            [program, "--headless", "--no-remote", "--marionette", "--profile", name],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        try:
            with contextlib.closing(Firefox(_awaited(port, running))) as window:
                yield window
        finally:
            running.terminate()
            running.wait(30)


def _awaited(port: int, running: subprocess.Popen[bytes]) -> int:
    end = time.monotonic() + PATIENCE_S
    while True:
        try:
            socket.create_connection(("127.0.0.1", port), timeout=1).close()
        except OSError:
            if running.poll() is not None or time.monotonic() > end:
                pytest.fail("Firefox did not start")
            time.sleep(0.1)
        else:
            return port
