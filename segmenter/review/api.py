"""What the screen asks the desk: JSON in, JSON out. Every fault has the same shape: ``{"problem": text}``."""

from __future__ import annotations

import json
import webbrowser
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from segmenter.copies import media_is_stale
from segmenter.edits.kinds import KEY_LENGTH
from segmenter.errors import SegmenterError
from segmenter.library.search import find as find_moments
from segmenter.made import read_made
from segmenter.publish.hand_on import FOLDER
from segmenter.publishing import OUTPUTS, republish
from segmenter.review import adding
from segmenter.review.editing import OpenLesson, RefusedError, StaleError
from segmenter.review.live import stream
from segmenter.review.remembered import forget, remember, remembered
from segmenter.review.state import Desk, desk_of
from segmenter.times import ms_from_seconds
from segmenter.understand.catalogue import load_catalogue

LARGEST_BODY = 1_000_000
"""Bytes of a question; recordings come another way."""


async def _asked(request: Request) -> dict[str, Any]:
    body = b""
    async for block in request.stream():
        body += block
        if len(body) > LARGEST_BODY:
            raise HTTPException(413, "this is too much at once")
    try:
        values = json.loads(body or b"{}")
    except (ValueError, RecursionError) as error:
        raise HTTPException(400, "this cannot be understood") from error
    if not isinstance(values, dict):
        raise HTTPException(400, "this cannot be understood")
    return values


def _text(values: dict[str, Any], name: str, longest: int = 10_000) -> str:
    value = values.get(name)
    if not isinstance(value, str) or len(value) > longest or not _is_text(value):
        raise HTTPException(400, f"“{name}” is missing")
    return value


def _is_text(value: str) -> bool:
    try:
        value.encode()  # JSON can carry half of a character, which no file can
    except UnicodeEncodeError:
        return False
    return "\0" not in value


def _key(values: dict[str, Any]) -> str:
    return _text(values, "key", KEY_LENGTH)


def _number(values: dict[str, Any], name: str) -> float:
    value = values.get(name)
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 <= value < 10**7:
        raise HTTPException(400, f"“{name}” is no number")
    return value


def _lesson(request: Request) -> OpenLesson:
    desk = desk_of(request)
    folder = desk.shelf.lesson(request.path_params["name"])
    if folder is None:
        raise HTTPException(404, "there is no such lesson here")
    return desk.lessons.get(folder)


async def _changing(request: Request, act: Callable[[OpenLesson, dict[str, Any]], dict[str, Any]]) -> Response:
    values = await _asked(request)
    lesson = await run_in_threadpool(_lesson, request)
    try:
        answer = await run_in_threadpool(act, lesson, values)
    except StaleError:
        news = await run_in_threadpool(lesson.since, _text(values, "seen"))
        return JSONResponse(
            {"problem": "somebody changed this lesson in another window a moment ago", "news": news}, 409
        )
    except RefusedError as error:
        return JSONResponse({"problem": str(error)}, 422)
    desk_of(request).bell.ring()
    return JSONResponse(answer)


async def edit(request: Request) -> Response:
    """Add one edit; with ``remember`` a replacement is made in every later class too."""

    def act(lesson: OpenLesson, values: dict[str, Any]) -> dict[str, Any]:
        wanted = values.get("edit")
        answer = lesson.edit(wanted, _text(values, "seen"), _key(values))
        if values.get("remember") and isinstance(wanted, dict) and wanted.get("do") == "replace-words":
            remember(desk_of(request).shelf.own, str(wanted["was"]), str(wanted["text"]))
        return answer

    return await _changing(request, act)


async def undo(request: Request) -> Response:
    """Take a step back: the last one, or the one named by ``id``."""

    def act(lesson: OpenLesson, values: dict[str, Any]) -> dict[str, Any]:
        number = int(_number(values, "id")) if "id" in values else None
        return lesson.undo(_text(values, "seen"), _key(values), number)

    return await _changing(request, act)


async def redo(request: Request) -> Response:
    """Do again what was taken back last."""
    return await _changing(request, lambda lesson, values: lesson.redo(_text(values, "seen"), _key(values)))


async def place(request: Request) -> Response:
    """Put a change that has no place somewhere else."""

    def act(lesson: OpenLesson, values: dict[str, Any]) -> dict[str, Any]:
        until = ms_from_seconds(_number(values, "until")) if values.get("until") is not None else None
        at = ms_from_seconds(_number(values, "at"))
        return lesson.place(int(_number(values, "id")), at, until, _text(values, "seen"), _key(values))

    return await _changing(request, act)


def since(request: Request) -> Response:
    """Tell what changed since a version."""
    return JSONResponse(_lesson(request).since(request.query_params.get("seen")))


def captions(request: Request) -> Response:
    """Tell where captions begin and end now."""
    return JSONResponse(_lesson(request).captions())


def news(request: Request) -> Response:
    """Tell an open lesson's windows its newest version, at once."""
    lesson = _lesson(request)

    def version() -> Any:
        try:
            return {"version": lesson.view().version}
        except SegmenterError as error:
            return {"problem": str(error)}

    return stream(desk_of(request).bell, version, look=True)


async def publish(request: Request) -> Response:
    """Write the lesson's files; the recording's copy and pictures follow when they have to be made anew."""
    values = await _asked(request)
    wanted = values.get("files")
    lesson = await run_in_threadpool(_lesson, request)
    if not isinstance(wanted, list) or not all(name in OUTPUTS for name in wanted):
        raise HTTPException(400, "these files are not known")

    def act() -> dict[str, Any]:
        made = read_made(lesson.folder)
        left_out = tuple(name for name in OUTPUTS if name not in wanted)
        made = made.model_copy(update={"left_out": left_out, "hand_on": bool(values.get("handOn"))})
        done = republish(lesson.folder, made, media=bool(values.get("media")))
        return {
            "changed": [file.name for file in done.files],
            "misfits": len(done.misfits),
            "oldFilm": done.old_film,
            "stale": media_is_stale(done.lesson, lesson.folder, read_made(lesson.folder)),
            "folder": str(_to_show(lesson.folder)),
        }

    answer = await run_in_threadpool(act)
    desk_of(request).bell.ring()
    return JSONResponse(answer)


def show_folder(request: Request) -> Response:
    """Show a lesson's folder in the computer's own file manager."""
    folder = _to_show(_lesson(request).folder)
    return JSONResponse({"shown": webbrowser.open(folder.as_uri()), "folder": str(folder)})


def _to_show(folder: Path) -> Path:
    # What can be handed on is what a person looks for after publishing.
    return folder / FOLDER if (folder / FOLDER).is_dir() else folder


def home_rows(desk: Desk) -> dict[str, Any]:
    """Return what the home page shows."""
    return {
        "jobs": [job.row() for job in desk.queue.jobs()],
        "lessons": [asdict(card) for card in desk.shelf.cards()],
        "remembered": remembered(desk.shelf.own),
    }


def home_news(request: Request) -> Response:
    """Tell the home page what changed, at once."""
    desk = desk_of(request)
    return stream(desk.bell, lambda: home_rows(desk), look=True)


async def upload(request: Request) -> Response:
    """Take in one file."""
    name = await adding.take_upload(request, desk_of(request).shelf)
    return JSONResponse({"kept": name})


async def add(request: Request) -> Response:
    """Make a lesson of an uploaded file, or of a file on this computer."""
    values = await _asked(request)
    desk = desk_of(request)

    def act() -> str:
        if "path" in values:
            return adding.add_path(desk.shelf, desk.queue, _text(values, "path")).lesson
        words = None
        if values.get("transcript"):
            words = (_text(values, "transcript"), _text(values, "transcriptName"))
        return adding.add_upload(desk.shelf, desk.queue, _text(values, "kept"), _text(values, "name"), words).lesson

    return JSONResponse({"lesson": await run_in_threadpool(act)})


def job(request: Request) -> Response:
    """Stop a job, try it again, or take it off the list."""
    queue = desk_of(request).queue
    acts = {"cancel": queue.cancel, "retry": queue.retry, "dismiss": queue.dismiss}
    act = acts.get(request.path_params["act"])
    if act is None or not act(request.path_params["id"]):
        raise HTTPException(404, "this is not in the queue any more")
    return JSONResponse({})


async def find(request: Request) -> Response:
    """Find moments in all lessons by words."""
    values = await _asked(request)
    text, shelf = _text(values, "text"), desk_of(request).shelf

    def act() -> list[dict[str, Any]]:
        here = set(shelf.names())
        found = find_moments(shelf.root, text, load_catalogue())
        return [moment.facts(shelf.root) for moment in found if moment.folder in here]

    return JSONResponse({"moments": await run_in_threadpool(act)})


async def forget_word(request: Request) -> Response:
    """Stop replacing a word in later classes."""
    values = await _asked(request)
    await run_in_threadpool(forget, desk_of(request).shelf.own, _text(values, "was"))
    desk_of(request).bell.ring()
    return JSONResponse({})


ROUTES = [
    Route("/news", home_news),
    Route("/upload", upload, methods=["POST"]),
    Route("/add", add, methods=["POST"]),
    Route("/find", find, methods=["POST"]),
    Route("/forget", forget_word, methods=["POST"]),
    Route("/job/{id}/{act}", job, methods=["POST"]),
    Route("/lesson/{name}/edit", edit, methods=["POST"]),
    Route("/lesson/{name}/undo", undo, methods=["POST"]),
    Route("/lesson/{name}/redo", redo, methods=["POST"]),
    Route("/lesson/{name}/place", place, methods=["POST"]),
    Route("/lesson/{name}/publish", publish, methods=["POST"]),
    Route("/lesson/{name}/show-folder", show_folder, methods=["POST"]),
    Route("/lesson/{name}/since", since),
    Route("/lesson/{name}/captions", captions),
    Route("/lesson/{name}/news", news),
]
