"""The desk as a web app: who may come in, what is where, and faults in one shape."""

from __future__ import annotations

from pathlib import Path

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from segmenter.errors import SegmenterError
from segmenter.files import folder_error
from segmenter.review import api, pages
from segmenter.review.guard import Guard
from segmenter.review.state import Desk


def make_app(desk: Desk, token: str, port: int) -> Starlette:
    """Return the app.

    Parameters
    ----------
    desk : Desk
        What it works on.
    token : str
        The secret in the link that opens it.
    port : int
        Where it will listen.
    """
    app = Starlette(
        routes=[*api.ROUTES, *pages.ROUTES],
        middleware=[Middleware(Guard, token=token, port=port)],
        exception_handlers={HTTPException: _told, SegmenterError: _wrong, OSError: _refused},
    )
    app.state.desk = desk
    return app


async def _told(request: Request, error: Exception) -> Response:
    assert isinstance(error, HTTPException)  # noqa: S101 - registered for it
    return JSONResponse({"problem": error.detail}, error.status_code)


async def _wrong(request: Request, error: Exception) -> Response:
    assert isinstance(error, SegmenterError)  # noqa: S101 - registered for it
    place = f" ({Path(str(error.where)).name})" if error.where else ""
    advice = f". {error.advice}" if error.advice else ""
    return JSONResponse({"problem": f"{error.problem}{place}{advice}"}, 422)


async def _refused(request: Request, error: Exception) -> Response:
    assert isinstance(error, OSError)  # noqa: S101 - registered for it
    return await _wrong(request, folder_error(error, Path(error.filename or "")))
