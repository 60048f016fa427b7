"""The desk's pages and files."""

from __future__ import annotations

import json
from collections.abc import Sequence
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, get_args

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined
from markupsafe import Markup
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, HTMLResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from segmenter.containers import RECORDINGS
from segmenter.lesson import FAMILY_NAMES, Kind
from segmenter.made import read_made
from segmenter.publish.page.fonts import FACES, woff
from segmenter.publish.shapes import SHAPES
from segmenter.publishing import OUTPUTS, WHOLE
from segmenter.review.api import home_rows
from segmenter.review.curve import curve_of, marks_of
from segmenter.review.guard import LESSON_POLICY
from segmenter.review.shelf import TRANSCRIPTS
from segmenter.review.state import desk_of
from segmenter.understand.catalogue import load_catalogue

KINDS = {"opening": "Opening", "exercise": "Exercise", "quiz": "Quiz", "talk": "Talk", "closing": "Closing"}
"""Each kind of chapter in plain words."""
ABOUT = {
    "captions.vtt": "Captions for the web",
    "captions.srt": "Captions for upload",
    "chapters.vtt": "Chapters for the web",
    "chapters.ffmeta": "Chapters for video programs",
    "chapters.json": "Chapters for podcasts",
    "chapters.txt": "Chapters to paste under a video",
    "sheet.csv": "Timing sheet",
    "sheet.xlsx": "Timing sheet for Excel",
    "handout.pdf": "Home sheet to print",
    "upload.txt": "Text to publish with the video",
    "upload-short.txt": "The same text, short",
    "transcript.html": "All that was said",
    "transcript.txt": "All that was said, plain",
    "timeline.svg": "The class as one picture",
    "checks.html": "What to look at",
}
"""Published files in plain words; one that is not here goes by its name."""
_DARK = ':root[data-look="dark"] {'


def home(request: Request) -> Response:
    """Show lessons, the queue, and where to add a recording."""
    desk = desk_of(request)
    accept = ",".join(sorted(RECORDINGS | TRANSCRIPTS))
    return _page("home.html.j2", data=_data(home_rows(desk)), accept=accept, folder=str(desk.shelf.root))


def review(request: Request) -> Response:
    """Show one lesson to correct."""
    desk, name = desk_of(request), request.path_params["name"]
    folder = desk.shelf.lesson(name)
    if folder is None:
        raise HTTPException(404, "there is no such lesson here")
    lesson = desk.lessons.get(folder)
    made = read_made(folder)
    state = lesson.since(None)
    facts = {
        **state,
        "name": name,
        "media": desk.shelf.media(name) is not None,
        "marks": marks_of(folder),
        "kinds": KINDS,
        "families": dict(FAMILY_NAMES),
        "exercises": [[e.id, e.name, e.plain, e.family] for e in load_catalogue().exercises],
    }
    outputs = [(file, ABOUT.get(file, file), file not in made.left_out, file in WHOLE) for file in OUTPUTS]
    title = state["lesson"]["title"]
    picture = state["lesson"]["picture"]
    hand_on = made.hand_on or made.published is None
    return _page(
        "review.html.j2", data=_data(facts), title=title, outputs=outputs, picture=picture, hand_on=hand_on
    )


def media(request: Request) -> Response:
    """Serve the recording, by byte ranges."""
    found = desk_of(request).shelf.media(request.path_params["name"])
    if found is None:
        raise HTTPException(404, "the recording is not here")
    return FileResponse(found)


def curve(request: Request) -> Response:
    """Serve the level of the sound: one byte for every tenth of a second, 0 (silent) to 255 (full)."""
    folder = desk_of(request).shelf.lesson(request.path_params["name"])
    if folder is None:
        raise HTTPException(404, "there is no such lesson here")
    return Response(curve_of(folder), media_type="application/octet-stream")


def published(request: Request) -> Response:
    """Serve one file of a lesson as viewers get it."""
    found = desk_of(request).shelf.file(request.path_params["name"], request.path_params["path"])
    if found is None:
        raise HTTPException(404, "there is no such file")
    return FileResponse(found, headers={"content-security-policy": LESSON_POLICY})


def look(request: Request) -> Response:
    """Serve the style that desk and lesson page share; here the device says whether it is dark, not a setting."""
    text = files("segmenter.publish.page").joinpath("styles", "base.css").read_text("utf-8")
    dark = text.split(_DARK)[1].split("}")[0]
    return Response(f"{text}\n@media (prefers-color-scheme: dark) {{ :root {{{dark}}} }}\n", media_type="text/css")


def helpers(request: Request) -> Response:
    """Serve the helpers of scripts that desk and lesson page share; there a plain script, here a module."""
    text = files("segmenter.publish.page").joinpath("scripts", "dom.js").read_text("utf-8")
    return Response(f"{text}\nexport {{ button, clock, el, h, shape }};\n", media_type="text/javascript")


def font(request: Request) -> Response:
    """Serve the typeface."""
    return Response(_font(request.path_params["face"]), media_type="font/woff")


@cache
def _font(face: str) -> bytes:
    if face not in dict(FACES):
        raise HTTPException(404, "there is no such face")
    folder = files("fontpkg_atkinson_hyperlegible") / "files"
    return woff((folder / f"AtkinsonHyperlegible-{face}.ttf").read_bytes())


def _page(template: str, **values: Any) -> Response:
    return HTMLResponse(_templates().get_template(template).render(**values))


def _data(values: Any) -> Markup:
    # Inside a script element only "<" could end it (HTML Standard, 4.12.1.3).
    return Markup(json.dumps(values, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c"))  # noqa: S704


@cache
def _templates() -> Environment:
    made = Environment(
        loader=ChoiceLoader([PackageLoader("segmenter.review"), PackageLoader("segmenter.publish.page", ".")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals["kinds"] = {kind: KINDS[kind] for kind in get_args(Kind)}
    made.globals["families"] = dict(FAMILY_NAMES)
    made.globals["shapes"] = SHAPES
    return made


ROUTES: Sequence[BaseRoute] = [
    Route("/", home),
    Route("/lesson/{name}/", review),
    Route("/lesson/{name}/media", media),
    Route("/lesson/{name}/curve", curve),
    Route("/lesson/{name}/files/{path:path}", published),
    Route("/look/base.css", look),
    Route("/look/dom.js", helpers),
    Route("/look/{face}.woff", font),
    Mount("/static", StaticFiles(directory=Path(__file__).parent / "static")),
]
