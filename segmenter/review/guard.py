"""Who may speak to the desk: this computer, this browser, pages of the desk itself.

The desk listens on the loopback interface, which every program and every web page on the computer can reach. So
each request must name the desk's own address (against DNS rebinding), must not come from a page of another origin
(Fetch Standard, "Origin header"; W3C Fetch Metadata), and must carry the cookie that only the link printed by
the program hands out (RFC 6265bis, SameSite).
"""

from __future__ import annotations

import secrets
from urllib.parse import parse_qs

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import cookie_parser
from starlette.responses import PlainTextResponse, RedirectResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self'",
        "media-src 'self'",
        "font-src 'self'",
        "connect-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
LESSON_POLICY = "connect-src 'none'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'; object-src 'none'"
"""For lesson pages, which bring a stricter policy of their own in the page."""
_HEADERS = {
    "x-content-type-options": "nosniff",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}
NOT_LET_IN = (
    "This page opens only from the link that the program printed when it started. "
    "Open that link again, or start the desk again."
)


class Guard:
    """ASGI middleware that lets in only the desk's own pages in the browser that opened its link.

    Parameters
    ----------
    app : ASGIApp
        The desk.
    token : str
        The secret in the link.
    port : int
        Where the desk listens.
    """

    def __init__(self, app: ASGIApp, token: str, port: int) -> None:
        self._app = app
        self._token = token
        self._hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
        self._origins = {f"http://{host}" for host in self._hosts}
        self._cookie = f"desk-{port}"

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer or pass on one request."""
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        refused = self._refused(scope, headers)
        if refused is not None:
            await PlainTextResponse(refused, 403, dict(_HEADERS))(scope, receive, send)
        elif scope["path"] == "/open" and scope["method"] == "GET":
            await self._open(scope, receive, send)
        elif not secrets.compare_digest(
            cookie_parser(headers.get("cookie", "")).get(self._cookie, ""), self._token
        ):
            await PlainTextResponse(NOT_LET_IN, 403, dict(_HEADERS))(scope, receive, send)
        else:
            await self._app(scope, receive, _guarded(send))

    def _refused(self, scope: Scope, headers: Headers) -> str | None:
        if headers.get("host") not in self._hosts:
            return "This address is not the desk's own."
        origin = headers.get("origin")
        writes = scope["method"] not in {"GET", "HEAD"}
        if (writes and origin is None) or (origin is not None and origin not in self._origins):
            return "Only pages of the desk itself may ask this."
        if headers.get("sec-fetch-site", "none") not in {"none", "same-origin"}:
            return "Only pages of the desk itself may ask this."
        return None

    async def _open(self, scope: Scope, receive: Receive, send: Send) -> None:
        given = parse_qs(scope["query_string"].decode("latin-1")).get("key", [""])[0]
        if not secrets.compare_digest(given.encode(), self._token.encode()):
            await PlainTextResponse(NOT_LET_IN, 403, dict(_HEADERS))(scope, receive, send)
            return
        response = RedirectResponse("/", 303, dict(_HEADERS))
        response.set_cookie(self._cookie, self._token, path="/", httponly=True, samesite="strict")
        await response(scope, receive, send)


def _guarded(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(raw=message["headers"])
            for name, value in {**_HEADERS, "content-security-policy": POLICY}.items():
                headers.setdefault(name, value)
        await send(message)

    return sending
