"""Score doses, practice stops and counts alone: ``python -m tests.evaluation.doses [FOLDER...] [--misses]``.

What `find_asks`, `find_prompts` and `find_counts` read in the words of each annotated class is held against
the marks of the sentence it stands in, or of its near neighbours; chapters play no part. Of held-out
classes (``unseen``, ``fresh``, and those whose name starts with c_ or d_) only totals are ever printed.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from segmenter.intervals import overlap
from segmenter.lesson import Ask, Word
from segmenter.understand.counts import find_counts
from segmenter.understand.dose import find_asks
from segmenter.understand.layout import Span, Truth, laid_out
from segmenter.understand.prompts import find_prompts
from segmenter.understand.scripts import RANGES, Counted, Said, Script, Value, read_scripts
from tests.evaluation.score import BEAT_SHARE, EVERY_DAY, STOP_MS, Hits

ROOT = Path(__file__).parents[2]
FOLDERS = (
    ROOT / "tests/evaluation/classes/tuned",
    ROOT / "tests/evaluation/classes/unseen",
    ROOT / "tests/evaluation/classes/fresh",
    ROOT / "models/training/classes",
)
HELD_OUT = ("unseen", "fresh", "c_", "d_")
SAME_MS = 60_000
"""A dose said again this soon is the same dose."""


@dataclass(frozen=True)
class Row:
    """One field of a dose, and the sentence (or the words) it was read from."""

    where: str
    name: str
    value: Value
    span: Span
    said: str

    @property
    def dose(self) -> tuple[str, str, Value]:
        """What has to be right."""
        return self.where, self.name, self.value


@dataclass
class Sums:
    """Counts over some classes; `lines` are the mistakes in words."""

    classes: int = 0
    asked: Hits = field(default_factory=Hits)
    where_aside: Hits = field(default_factory=Hits)
    stops: Hits = field(default_factory=Hits)
    counts: Hits = field(default_factory=Hits)
    kinds: Hits = field(default_factory=Hits)
    beats: Hits = field(default_factory=Hits)
    in_talk: int = 0
    lines: list[str] = field(default_factory=list)


def measure(script: Script, sums: Sums) -> None:
    """Add the score of one class."""
    heard, truth = laid_out(script)
    sums.classes += 1
    prompts = [prompt for prompt in find_prompts(heard.words) if prompt.kind == "pause"]
    asks = [ask for ask in find_asks(heard.words) if not any(overlap(ask.span, p.span) for p in prompts)]
    told = [prompt.ask.model_copy(update={"where": "home"}) for prompt in prompts if prompt.ask]
    wanted, found = list(_wanted(script, truth)), list(_found([*asks, *told]))
    missed, invented, right = _paired(wanted, found, truth)
    # What stands in a quiz or in talk never gets into a lesson as a dose.
    elsewhere = [row for row in invented if _kind(row, truth) in {"quiz", "talk", "opening"} or truth.talk_only]
    sums.in_talk += len(elsewhere)
    found = [row for row in found if row not in elsewhere]
    invented = [row for row in invented if row not in elsewhere]
    sums.asked += Hits(right, right + len(missed), right + len(invented))
    for row in missed:
        sums.lines.append(f"{script.name} missed {row.where} {row.name}={_short(row.value)}: {row.said}")
    for row in invented:
        sums.lines.append(f"{script.name} WRONG  {row.where} {row.name}={_short(row.value)}: {_around(row, truth)}")
    placeless = [[replace(row, where="") for row in rows] for rows in (wanted, found)]
    missed, invented, right = _paired(placeless[0], placeless[1], truth)
    sums.where_aside += Hits(right, right + len(missed), right + len(invented))
    _stops(script, truth, [prompt.end_ms for prompt in prompts], sums)
    _counts(script, truth, heard.words, sums)


def _kind(row: Row, truth: Truth) -> str:
    inside = [c.opens.kind for c in truth.chapters if c.start_ms <= row.span[0] < c.end_ms]
    return inside[0] if inside else "talk"


def _wanted(script: Script, truth: Truth) -> Iterator[Row]:
    said = [item for item in script.items if isinstance(item, Said | Counted)]
    for item, (start, end, text) in zip(said, truth.sentences, strict=True):
        for dose in item.doses if isinstance(item, Said) else ():
            for name, value in dose.fields:
                where = "class" if dose.where == "class" else "home"
                yield from _alike(Row(where, name, value, (start, end), text), dict(dose.fields))


def _found(asks: Sequence[Ask]) -> Iterator[Row]:
    for ask in asks:
        fields = {name: getattr(ask, name) for name in (*RANGES, "side", "pattern")}
        for name, value in fields.items():
            if value is not None:
                yield from _alike(Row(ask.where, name, value, ask.span, ask.said or ""), fields)


def _alike(row: Row, fields: dict[str, Value]) -> Iterator[Row]:
    """Write what means the same in one way, as ``score`` does."""
    value: Value = row.value
    name = row.name
    if name == "days_per_week" and value == EVERY_DAY:
        if fields.get("per_day") is not None:
            return
        name, value = "per_day", (1.0, 1.0)
    if name == "pattern" and not isinstance(value, str):
        value = tuple(beat or 0.0 for beat in value)
    yield Row(row.where, name, value, row.span, row.said)


def _paired(wanted: Sequence[Row], found: Sequence[Row], truth: Truth) -> tuple[list[Row], list[Row], int]:
    """Pair fields one to one within two sentences to either side.

    Returns what is left of both, and how many were right. A dose that is said or marked again soon is no
    mistake and no merit.
    """
    missed, left, right = list(wanted), list(found), list[Row]()
    for reach in (0, 1, 2):
        for row in list(missed):
            near = _near(row.span, truth, reach)
            one = next((one for one in left if one.dose == row.dose and overlap(near, one.span)), None)
            if one is not None:
                missed.remove(row)
                left.remove(one)
                right.append(row)

    def again(row: Row) -> bool:
        return any(row.dose == other.dose and abs(other.span[0] - row.span[0]) < SAME_MS for other in right)

    return [row for row in missed if not again(row)], [row for row in left if not again(row)], len(right)


def _near(span: Span, truth: Truth, reach: int) -> Span:
    inside = [at for at, (start, end, _) in enumerate(truth.sentences) if overlap((start, end), span)]
    first, last = max(0, inside[0] - reach), min(len(truth.sentences) - 1, inside[-1] + reach)
    return truth.sentences[first][0], truth.sentences[last][1]


def _around(row: Row, truth: Truth) -> str:
    texts = [text for start, end, text in truth.sentences if overlap((start, end), row.span)]
    return f"“{row.said}” in {' / '.join(texts)}"


def _short(value: Value) -> str:
    if isinstance(value, str):
        return value
    return "/".join("?" if number is None else f"{number:g}" for number in value)


def _stops(script: Script, truth: Truth, found: Sequence[int], sums: Sums) -> None:
    pairs = sorted((abs(a - b), a, b) for a in truth.stops for b in found)
    missed, invented = set(truth.stops), set(found)
    for distance, a, b in pairs:
        if distance <= STOP_MS and a in missed and b in invented:
            missed.remove(a)
            invented.remove(b)
    sums.stops += Hits(len(truth.stops) - len(missed), len(truth.stops), len(found))
    for what, times in (("stop missed", missed), ("stop INVENTED", invented)):
        for ms in sorted(times):
            text = " / ".join(text for start, end, text in truth.sentences if start <= ms <= end + STOP_MS)
            sums.lines.append(f"{script.name} {what}: {text}")


def _counts(script: Script, truth: Truth, words: Sequence[Word], sums: Sums) -> None:
    runs = find_counts(words)
    right = kinds = even = 0
    left = list(runs)
    for true in truth.counts:
        span = (true.start_ms, true.end_ms)
        run = max(runs, key=lambda r: overlap(r.span, span), default=None)
        there = run.numbers if run is not None and overlap(run.span, span) else None
        left = [one for one in left if not overlap(one.span, span)]
        # Breathing in and out may be written as one count, and be found as two; or two lines as one count.
        inside = [one for one in runs if overlap(one.span, span)]
        if tuple(number for one in inside for number in one.numbers) == true.numbers:
            run = inside[0].model_copy(update={"numbers": true.numbers}) if len(inside) > 1 else run
        lines = [one for one in truth.counts if run is not None and overlap((one.start_ms, one.end_ms), run.span)]
        if run is not None and tuple(number for one in lines for number in one.numbers) == run.numbers:
            run = run.model_copy(update={"numbers": true.numbers})
        if run is None or run.numbers != true.numbers:
            sums.lines.append(f"{script.name} count missed: {true.kind} {true.numbers}, found {there}")
            continue
        right += 1
        kinds += run.kind == true.kind
        if run.kind != true.kind:
            sums.lines.append(f"{script.name} count kind: {true.kind} @{true.beat_s:.2f}, found {run.kind}")
        near = run.beat_s is not None and abs(run.beat_s - true.beat_s) <= BEAT_SHARE * true.beat_s
        even += near
        if not near:
            sums.lines.append(f"{script.name} beat: {true.beat_s:.3f}, found {run.beat_s} {true.numbers}")
    for run in left:
        sums.lines.append(f"{script.name} count INVENTED: {run.kind} {run.numbers}")
    sums.counts += Hits(right, len(truth.counts), len(truth.counts) + len(left))
    sums.kinds += Hits(kinds, right, right)
    sums.beats += Hits(even, right, right)


def _group(script: Script) -> str:
    return f"{script.name[:2]}" if script.name[1:2] == "_" else script.group


def _cell(hits: Hits) -> str:
    return f"{hits.recall:.2f}/{hits.precision:.2f} ({hits.right} of {hits.wanted}, {hits.found})"


def main() -> None:
    """Read, find, compare, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation.doses", description=__doc__)
    parser.add_argument("folders", nargs="*", type=Path, default=FOLDERS, metavar="FOLDER")
    parser.add_argument("--misses", action="store_true", help="every mistake in classes that are not held out")
    chosen = parser.parse_args()
    totals: dict[str, Sums] = {}
    for folder in chosen.folders:
        for script in read_scripts(folder):
            measure(script, totals.setdefault(_group(script), Sums()))
    print("recall/precision (right of wanted, found)")
    for group, sums in totals.items():
        print(f"{group}: {sums.classes} classes")
        for what, hits in (
            ("asked fields exactly right", sums.asked),
            ("the same, class or home aside", sums.where_aside),
            ("practice stops within 1.5 s", sums.stops),
            ("counts with every number", sums.counts),
            ("their kind", sums.kinds),
            ("their beat within 3 %", sums.beats),
        ):
            print(f"  {what:32} {_cell(hits)}")
        print(f"  {'fields invented in quiz and talk':32} {sums.in_talk}")
        if chosen.misses and group not in HELD_OUT:
            print("".join(f"    {line}\n" for line in sums.lines), end="")


if __name__ == "__main__":
    main()
