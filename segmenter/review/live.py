"""Tells open windows at once that something changed (server-sent events, HTML Standard 9.2)."""

from __future__ import annotations

import asyncio
import contextlib
import json
from collections.abc import AsyncIterator, Callable, Iterator
from typing import Any

from starlette.responses import StreamingResponse

LOOK_S = 0.5
"""How often files are looked at that another program may have changed."""
QUIET_S = 15.0
"""After so long without news a line is sent, so that a window that is gone is noticed."""


class Bell:
    """Rings for every window that waits; may be rung from any thread."""

    def __init__(self) -> None:
        self._waiting: set[tuple[asyncio.AbstractEventLoop, asyncio.Event]] = set()
        self.closing = False

    def ring(self) -> None:
        """Wake every window that waits."""
        for loop, event in list(self._waiting):
            with contextlib.suppress(RuntimeError):  # the loop is closed: nobody waits there
                loop.call_soon_threadsafe(event.set)

    def close(self) -> None:
        """Let every window go, so that the desk can end."""
        self.closing = True
        self.ring()

    @contextlib.contextmanager
    def heard(self) -> Iterator[asyncio.Event]:
        """Yield an event that is set at each ring."""
        pair = (asyncio.get_running_loop(), asyncio.Event())
        self._waiting.add(pair)
        try:
            yield pair[1]
        finally:
            self._waiting.discard(pair)


def stream(bell: Bell, news: Callable[[], Any], *, look: bool = False) -> StreamingResponse:
    """Answer with an endless stream of what `news` returns, each time it differs from the last.

    Parameters
    ----------
    bell : Bell
        Rings when there may be news.
    news : callable
        Returns plain values; run in a thread, since it may read files.
    look : bool
        Also look from time to time, for changes by other programs.
    """

    async def lines() -> AsyncIterator[str]:
        last, quiet = None, 0.0
        step = LOOK_S if look else QUIET_S
        with bell.heard() as rung:
            while not bell.closing:
                rung.clear()
                text = json.dumps(await asyncio.to_thread(news))
                if text != last:
                    last, quiet = text, 0.0
                    yield f"data: {text}\n\n"
                elif quiet >= QUIET_S:
                    quiet = 0.0
                    yield ": still here\n\n"
                try:
                    await asyncio.wait_for(rung.wait(), step)
                except TimeoutError:
                    quiet += step

    return StreamingResponse(lines(), media_type="text/event-stream")
