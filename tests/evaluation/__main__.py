"""Score the understanding of scripted classes: ``python -m tests.evaluation [--each] [--misses] [--write]``.

The classes are written text laid out in time (``layout``), so that what is measured is the understanding
alone; with ``--sound N`` some are spoken, and the whole way from sound is measured. Of the classes that
nobody looks at, ``unseen`` and ``fresh``, only totals are ever printed.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path

from segmenter.lesson import Chapter
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.layout import Truth, laid_out
from segmenter.understand.scripts import Script, read_scripts
from segmenter.understand.timeline import understand
from tests.evaluation.readme import put
from tests.evaluation.score import Hits, Misses, Tally, score

ROOT = Path(__file__).parents[2]
CLASSES = Path(__file__).parent / "classes"


def _share(hits: Hits) -> str:
    return f"{hits.right} of {hits.wanted} ({hits.recall:.0%})" if hits.wanted else "-"


def _both(hits: Hits) -> str:
    return f"{hits.recall:.2f} / {hits.precision:.2f} ({hits.right} of {hits.wanted}, {hits.found} found)"


def rows(tally: Tally) -> list[tuple[str, str]]:
    """Return (what, result) pairs of one score."""
    classes = max(1, tally.classes)
    return [
        ("classes, and minutes of them", f"{tally.classes}, {tally.minutes:.0f}"),
        ("chapter boundaries within 5 s, F1", f"{tally.boundaries.f1:.3f}"),
        ("WindowDiff over sentences (0 is best)", f"{tally.windowdiff / classes:.3f}"),
        ("the same of nltk's TextTiling", f"{tally.tiling / classes:.3f}"),
        ("exercise time with the right family", f"{tally.family_ms / max(1, tally.exercise_ms):.1%}"),
        ("exercise named as in the catalogue", _share(tally.named)),
        ("practice stops within 1.5 s, recall / precision", _both(tally.stops)),
        ("asked fields exactly right, recall / precision", _both(tally.asked)),
        ("counts found with every number", _share(tally.counts)),
        ("beat within 3 %", _share(tally.beats)),
        ("quiz items, recall / precision", _both(tally.quiz)),
        ("spoken cautions, recall / precision", _both(tally.cautions)),
        ("talk-only recordings, and exercises invented there", f"{tally.talks}, {tally.talk_exercises}"),
    ]


def table(tallies: dict[str, Tally]) -> str:
    """Return a markdown table with one column a group of classes."""
    columns = {name: rows(tally) for name, tally in tallies.items()}
    lines = [f"| measure | {' | '.join(columns)} |", "| --- |" + " --- |" * len(columns)]
    for at, (what, _) in enumerate(next(iter(columns.values()))):
        lines.append(f"| {what} | {' | '.join(column[at][1] for column in columns.values())} |")
    return "\n".join(lines)


def row_of(script: Script, tally: Tally) -> str:
    """Return one short line about one class."""
    if script.talk_only:
        return f"{script.name:24} talk only, {tally.talk_exercises} exercises invented"
    shares = [
        ("F1", tally.boundaries.f1),
        ("family", tally.family_ms / max(1, tally.exercise_ms)),
        ("stops", tally.stops.f1),
        ("asked", tally.asked.recall),
        ("counts", tally.counts.recall),
        ("beats", tally.beats.recall),
        ("quiz", tally.quiz.recall),
        ("cautions", tally.cautions.recall),
    ]
    return f"{script.name:24} " + "  ".join(f"{name} {share:4.2f}" for name, share in shares)


def _understood(script: Script, from_sound: bool) -> tuple[Truth, Sequence[Chapter], float]:
    if from_sound:
        from tests.evaluation.spoken import spoken_class

        truth, chapters = spoken_class(script)
        return truth, chapters, 0.0
    heard, truth = laid_out(script)
    began = time.perf_counter()
    made = understand(heard, load_catalogue())
    return truth, made.chapters, time.perf_counter() - began


def main() -> None:
    """Read, understand, score, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation", description=__doc__)
    parser.add_argument("--each", action="store_true", help="one line for every tuned class too")
    parser.add_argument("--misses", action="store_true", help="every mistake in the tuned classes too")
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    parser.add_argument(
        "--sound", type=int, metavar="N", help="speak N classes of each group and start from their sound"
    )
    chosen = parser.parse_args()
    totals = {"tuned": Tally(), "unseen": Tally(), "fresh": Tally()}
    taken = dict.fromkeys(totals, 0)
    spent = 0.0
    for script in [script for group in totals for script in read_scripts(CLASSES / group)]:
        group = script.group
        taken[group] += 1
        if chosen.sound is not None and taken[group] > chosen.sound:
            continue
        truth, chapters, seconds = _understood(script, chosen.sound is not None)
        misses = Misses()
        tally = score(truth, chapters, misses)
        totals[group] += tally
        spent += seconds
        if group == "tuned" and (chosen.each or chosen.misses):
            print(row_of(script, tally))
        if group == "tuned" and chosen.misses:
            print("".join(f"    {line}\n" for line in misses.lines), end="")
    text = table(totals)
    print(text)
    if not chosen.sound:
        minutes = sum(tally.minutes for tally in totals.values())
        print(
            f"understanding took {spent:.1f} s, {spent / max(1e-9, minutes * 60):.2%} of the classes",
            file=sys.stderr,
        )
    if chosen.write:
        put(ROOT / "README.md", "classes from sound" if chosen.sound else "classes", text)


if __name__ == "__main__":
    main()
