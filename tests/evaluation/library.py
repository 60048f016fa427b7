"""How fast the library is: ``python -m tests.evaluation.library [--lessons N] [--write]``.

Makes lessons by varying the example, indexes and searches them. Figures in seconds depend on the machine; the
ratios do not. ``--write`` puts the table into README.md.
"""

from __future__ import annotations

import argparse
import random
import statistics
import tempfile
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path

from segmenter.lesson import Lesson, to_json
from segmenter.library.index import LESSON, refresh
from segmenter.library.search import search
from segmenter.library.store import NAME
from segmenter.pipeline import build
from segmenter.understand.catalogue import Catalogue, load_catalogue
from tests.evaluation.readme import show

EXAMPLE = Path(__file__).parents[2] / "examples" / "voice-and-swallow-class.mp4"
QUERIES = 300
FEW = 10
"""Lessons in the small library that the large one is held against."""
ADDED = 31


def varied(lesson: Lesson, number: int, catalogue: Catalogue) -> Lesson:
    """Return the lesson with other exercises, another date in its name, and a fifth of its words exchanged."""
    chance = random.Random(number)
    vocabulary = [word for exercise in catalogue.exercises for phrase in exercise.says for word in phrase.split()]
    words = tuple(
        word.model_copy(update={"text": chance.choice(vocabulary)}) if chance.random() < 0.2 else word
        for word in lesson.words
    )
    chapters = []
    for chapter in lesson.chapters:
        other = chance.choice(catalogue.exercises)
        chosen = {"exercise": other.id, "family": other.family, "title": other.plain}
        chapters.append(chapter.model_copy(update=chosen) if chapter.kind == "exercise" else chapter)
    return lesson.model_copy(update={"words": words, "chapters": tuple(chapters), "title": f"Class {number}"})


def put_lesson(library: Path, number: int, lesson: Lesson, catalogue: Catalogue) -> None:
    """Write one varied lesson where a build would put it."""
    day = f"20{10 + number // 360:02}-{number // 30 % 12 + 1:02}-{number % 28 + 1:02}"
    folder = library / f"{day} class {number}"
    folder.mkdir(parents=True)
    (folder / LESSON).write_text(to_json(varied(lesson, number, catalogue)), encoding="utf-8")


def queries(catalogue: Catalogue) -> list[str]:
    """Return what people may look for: exercises, some with a side, and words."""
    chance = random.Random(0)
    sides = ("", "", " left", " right")
    words = ("chair", "water", "breath", "sore", "slowly", "again", "swallow", "count of five", "stop if it hurts")
    names = [exercise.plain + chance.choice(sides) for exercise in chance.choices(catalogue.exercises, k=QUERIES)]
    return [chance.choice(words) if chance.random() < 0.3 else name for name in names]


def timed(work: Callable[[], object]) -> float:
    """Return the seconds that `work` takes."""
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def rows(count: int) -> list[tuple[str, str]]:
    """Return (what, result) pairs."""
    catalogue = load_catalogue()
    with tempfile.TemporaryDirectory() as place:
        lesson = build(EXAMPLE, Path(place) / "example").lesson
        small, library = Path(place) / "small", Path(place) / "library"
        for folder, lessons in ((small, FEW), (library, count)):
            for number in range(lessons):
                put_lesson(folder, number, lesson, catalogue)
        refresh(small, catalogue)
        whole = timed(lambda: refresh(library, catalogue))
        (small_look, small_add), (look, add) = _adding([small, library], lesson, catalogue)
        asked = queries(catalogue)
        spent = sorted(timed(lambda text=text: search(library, text)) for text in asked)  # type: ignore[misc]
        found = statistics.mean(bool(search(library, text)) for text in asked[:100])
        size = (library / NAME).stat().st_size
    sizes = f"at {FEW} and at {count:,}"
    return [
        ("lessons in the library", f"{count:,}"),
        ("lessons indexed a second", f"{count / whole:.0f}"),
        ("size of the index", f"{size / 1e6:.0f} MB"),
        (
            "search, median and 95th percentile",
            f"{_ms(spent[len(spent) // 2])}, {_ms(spent[int(0.95 * len(spent))])}",
        ),
        ("searches that find something", f"{found:.0%}"),
        (f"adding one lesson, {sizes}", f"{_ms(small_add)}, {_ms(add)} ({add / small_add:.2f} ×)"),
        (f"looking for what changed, {sizes}", f"{_ms(small_look)}, {_ms(look)}"),
    ]


def _adding(libraries: list[Path], lesson: Lesson, catalogue: Catalogue) -> list[tuple[float, float]]:
    """Median seconds of looking for what changed when nothing did, and of one more lesson beyond that.

    The libraries take turns, so that what else the machine does meets them alike.
    """
    looking: dict[Path, list[float]] = {library: [] for library in libraries}
    adding: dict[Path, list[float]] = {library: [] for library in libraries}
    for number in range(900_000, 900_000 + ADDED):
        for library in libraries:
            look = partial(refresh, library, catalogue)
            looked = timed(look)
            put_lesson(library, number, lesson, catalogue)
            adding[library].append(timed(look) - looked)
            looking[library].append(looked)
    return [(statistics.median(looking[library]), statistics.median(adding[library])) for library in libraries]


def _ms(seconds: float) -> str:
    return f"{1000 * seconds:.1f} ms"


def main() -> None:
    """Make, index, search, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation.library", description=__doc__)
    parser.add_argument("--lessons", type=int, default=2000, metavar="N", help="so many lessons")
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    chosen = parser.parse_args()
    show("library", "library", rows(chosen.lessons), write=chosen.write)


if __name__ == "__main__":
    main()
