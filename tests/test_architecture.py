"""Imports point one way, outside packages have few doors, and asking for help loads nothing heavy."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent / "segmenter"
BASE = {"errors", "times", "intervals", "files", "progress"}
MODEL = BASE | {"lesson", "heard"}
COMMON = MODEL | {
    "settings",
    "resources",
    "programs",
    "containers",
    "edits",
    "cache",
    "folder",
    "together",
    "processes",
}
ALLOWED = {
    **dict.fromkeys(BASE, BASE),
    "lesson": BASE,
    "heard": MODEL,
    **dict.fromkeys(
        ("settings", "resources", "programs", "containers", "edits", "cache", "folder", "together", "processes"),
        COMMON,
    ),
    "hear": COMMON | {"hear"},
    "understand": COMMON | {"understand"},
    "publish": COMMON | {"publish"},
    "inspect": COMMON | {"publish", "inspect"},
    "hearing": COMMON | {"hear"},
    "made": COMMON | {"publish"},
    "copies": COMMON | {"hear", "publish", "made"},
    "publishing": COMMON | {"hear", "publish", "made", "copies"},
    "pipeline": COMMON | {"hear", "understand", "publish", "hearing", "publishing", "made", "copies"},
    "review": COMMON
    | {"hear", "understand", "publish", "publishing", "made", "copies", "pipeline", "library", "review"},
    "library": COMMON | {"hear", "understand", "publish", "publishing", "made", "copies", "pipeline", "library"},
    "forgetting": COMMON | {"publish", "publishing", "made", "library"},
    "progress_view": BASE,
    "cli_library": COMMON | {"progress_view", "understand", "library"},
    "cli": COMMON
    | {
        "pipeline",
        "publishing",
        "made",
        "forgetting",
        "progress_view",
        "publish",
        "inspect",
        "review",
        "cli_library",
    },
    "__main__": {"cli"},
    "__init__": set(),
}
MODULES = sorted(ROOT.rglob("*.py"))
# PyAV opens recordings in hear/media.py and shows publish/video.py their codecs.
DOORS = {
    "faster_whisper": {"hear/recogniser.py", "hear/sound_frames.py", "resources.py"},
    "spacy": {f"understand/{name}.py" for name in ("mentions", "spans", "train_spans", "train_scores")},
    "thinc": {f"understand/{name}.py" for name in ("reader", "train_reader", "train_spans")},
    "swift_f0": {"hear/sound_frames.py"},
    "click": {"cli.py", "cli_library.py", "understand/train.py"},
    "rich": {"progress_view.py"},
    "yaml": {"understand/catalogue.py"},
    "imageio_ffmpeg": {"programs.py"},
    "subprocess": {"programs.py"},
    "typst": {"publish/handout.py"},
    "xlsxwriter": {"publish/sheet_book.py"},
    "matplotlib": {
        *(f"publish/{name}.py" for name in ("drawing", "timeline_picture", "hold_traces", "typeface")),
        "library/coverage_files.py",
    },
    "sqlite3": {f"library/{name}.py" for name in ("store", "index", "coverage")},
    "PIL": {"publish/follow/encode.py", "publish/follow/film.py", "publish/follow/pictures.py"},
    "starlette": {f"review/{name}.py" for name in ("app", "api", "guard", "pages", "live", "adding", "state")},
    "uvicorn": {"review/serving.py"},
    "multiprocessing": {"processes.py", "review/jobs.py", "review/worker.py", "library/batch.py"},
}


def _imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {f"{node.module}.{alias.name}" for alias in node.names} | {node.module}
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_imports_point_one_way(path: Path) -> None:
    own = path.relative_to(ROOT).with_suffix("").parts[0]
    inner = {name.split(".")[1] for name in _imports(path) if name.startswith("segmenter.")} - {"__version__"}
    assert inner <= ALLOWED[own], f"{own} may not import {sorted(inner - ALLOWED[own])}"


@pytest.mark.parametrize("package", DOORS)
def test_outside_packages_have_few_doors(package: str) -> None:
    users = {
        path.relative_to(ROOT).as_posix()
        for path in MODULES
        if any(name.split(".")[0] == package for name in _imports(path))
    }
    assert users
    assert users <= DOORS[package]


def test_help_loads_nothing_heavy() -> None:
    code = (
        "import sys; from click.testing import CliRunner; from segmenter.cli import main;"
        "assert CliRunner().invoke(main, ['build', '--help']).exit_code == 0;"
        "heavy = {'numpy', 'spacy', 'av', 'faster_whisper', 'onnxruntime'} & set(sys.modules);"
        "assert not heavy, heavy"
    )
    subprocess.run([sys.executable, "-c", code], check=True, cwd=ROOT.parent)
