"""Score the example's lesson against its known truth: ``python -m tests.evaluation.example [--write]``.

Builds the example with the base speech model in a temporary folder, and prints a table;
``--write`` puts it into README.md. The example was looked at while the rules were made: this shows
that the path works from end to end, not how well it does on a class it has never met.
"""

from __future__ import annotations

import argparse
import json
import tempfile
from pathlib import Path
from typing import Any

from segmenter.lesson import Chapter, Lesson
from segmenter.pipeline import build
from tests.evaluation.readme import put

ROOT = Path(__file__).parents[2]
MEDIA = ROOT / "examples" / "voice-and-swallow-class.mp4"
TRUTH = ROOT / "examples" / "voice-and-swallow-class.truth.json"


def rows(lesson: Lesson, truth: dict[str, Any]) -> list[tuple[str, str]]:
    """Return (what, result) pairs."""
    wanted = [c["start"] for c in truth["chapters"][1:]]
    found = [c.start_ms / 1000 for c in lesson.chapters[1:]]
    hits = _matched(wanted, found, 5.0)
    precision, recall = hits / max(1, len(found)), hits / len(wanted)
    f1 = 2 * precision * recall / max(1e-9, precision + recall)
    seconds = sum(c["end"] - c["start"] for c in truth["chapters"] if c["kind"] == "exercise")
    right = sum(_shared(c, t) for t in truth["chapters"] if t["kind"] == "exercise" for c in lesson.chapters
                if c.family == t["family"])  # fmt: skip
    holds = [h for c in lesson.chapters for h in c.shown.holds if h.how == "voiced"]
    errors = [
        min((abs(h.seconds - (s["end"] - s["start"])) for h in holds if abs(h.start_ms / 1000 - s["start"]) < 1),
            default=None) for s in truth["sounds"]
    ]  # fmt: skip
    held = [error for error in errors if error is not None]
    stops = [p.at_ms / 1000 for c in lesson.chapters for p in c.practice]
    wanted_stops = [p["at"] for p in truth["practice"]]
    quiz = [q.clue.start_ms for c in lesson.chapters for q in c.quiz if q.answer]
    cautions = [c.start_ms / 1000 for ch in lesson.chapters for c in ch.cautions if c.start_ms is not None]
    said = [c["start"] for c in truth["cautions"]]
    return [
        ("chapter boundaries within 5 s, F1", f"{f1:.2f}"),
        ("exercise time with the right family", f"{right / seconds:.0%}"),
        ("held sounds found", f"{len(held)} of {len(errors)}"),
        ("largest error of a held sound's length", f"{max(held, default=float('nan')):.3f} s"),
        ("practice stops found within 1 s, and found in all",
         f"{_matched(wanted_stops, stops, 1.0)} of {len(wanted_stops)}, {len(stops)}"),
        ("quiz items with an answer", f"{len(quiz)} of {len(truth['quiz'])}"),
        ("spoken cautions found within 3 s, and found in all",
         f"{_matched(said, cautions, 3.0)} of {len(said)}, {len(cautions)}"),
    ]  # fmt: skip


def _matched(wanted: list[float], found: list[float], within: float) -> int:
    left, hits = list(found), 0
    for time in wanted:
        near = min(left, key=lambda other: abs(other - time), default=None)
        if near is not None and abs(near - time) <= within:
            left.remove(near)
            hits += 1
    return hits


def _shared(chapter: Chapter, true: dict[str, Any]) -> float:
    start, end = float(true["start"]), float(true["end"])
    return max(0.0, min(chapter.end_ms / 1000, end) - max(chapter.start_ms / 1000, start))


def main() -> None:
    """Build, score, print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        lesson = build(MEDIA, Path(folder) / "lesson").lesson
    table = rows(lesson, json.loads(TRUTH.read_text(encoding="utf-8")))
    text = "\n".join(
        ["| on the example | result |", "| --- | --- |", *(f"| {what} | {result} |" for what, result in table)]
    )
    print(text)
    if chosen.write:
        put(ROOT / "README.md", "example", text)


if __name__ == "__main__":
    main()
