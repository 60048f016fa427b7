"""Count broken caption rules over the scripted classes: ``python -m tests.evaluation.captions [--write]``.

Captions are composed from what a perfect ear would hear of each class, written as WebVTT and SRT, and judged by the
same checks as ``segmenter check``; with ``--example FOLDER`` also those of a lesson folder. Of the unseen and fresh
classes only totals are printed. ``--write`` puts the table into README.md.
"""

from __future__ import annotations

import argparse
from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path

from segmenter.inspect import agreement
from segmenter.inspect.reading import check_reading
from segmenter.inspect.rules import Book, Cue
from segmenter.inspect.srt import read_srt
from segmenter.inspect.webvtt import read_webvtt
from segmenter.lesson import Lesson, MadeBy, lesson_from_json
from segmenter.publish.caption_files import srt, vtt
from segmenter.publish.captions import compose
from segmenter.publish.limits import AIM_WPM, CEILING_WPM, EARLY_ON_MS, words_a_minute
from segmenter.publish.phrases import is_number, may_part
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.layout import Span, laid_out
from segmenter.understand.scripts import read_scripts
from segmenter.understand.timeline import understand
from tests.evaluation.readme import put

ROOT = Path(__file__).parents[2]
CLASSES = Path(__file__).parent / "classes"
HARD_WPM = 200
"""Judged hard for many (Ofcom, quoted by BBC R&D 2015)."""


def captioned(lesson: Lesson) -> Lesson:
    """Return the lesson with fresh captions."""
    return lesson.model_copy(update={"captions": compose(lesson)[0]})


def lessons(group: str) -> list[tuple[Lesson, tuple[tuple[Span, Span], ...]]]:
    """Understand every class of a group as a perfect ear would hear it; with its riddles as written."""
    catalogue = load_catalogue()
    made = []
    for script in read_scripts(CLASSES / group):
        heard, truth = laid_out(script)
        understood = understand(heard, catalogue)
        lesson = Lesson(
            title=script.name,
            language="en",
            recording=heard.recording,
            chapters=understood.chapters,
            words=understood.words,
            made_by=MadeBy(segmenter="0", speech_model=None),
        )
        made.append((captioned(lesson), truth.quiz))
    return made


def told_early(lesson: Lesson, quiz: Sequence[tuple[Span, Span]]) -> int:
    """Count answers, as written in the script, of which a word is shown before the first one is spoken."""
    words = sorted(lesson.words, key=lambda word: word.start_ms)
    at = early = 0
    for caption in (c for c in lesson.captions if c.kind == "speech"):
        lines = [line for line in caption.text.split("\n") if not line.startswith("[")]
        count = sum(len(line.removeprefix("- ").split()) for line in lines)
        shown = words[at : at + count]
        at += count
        early += sum(
            caption.start_ms < start - EARLY_ON_MS and any(start <= w.start_ms < end for w in shown)
            for _, (start, end) in quiz
        )
    return early


def tally(lesson: Lesson, quiz: Sequence[tuple[Span, Span]] = ()) -> Counter[str]:
    """Count cues, line breaks, and broken rules of one lesson."""
    book = Book(Path("captions"))
    cues = read_webvtt(book, vtt(lesson).encode()).cues
    again = read_srt(book, srt(lesson).encode())
    agreement.check_captions_agree(book, lesson, cues, srt=False)
    agreement.check_captions_agree(book, lesson, again, srt=True)
    check_reading(book, cues)
    agreement.check_lesson(book, lesson)
    found: Counter[str] = Counter(finding.rule.code for finding in book.findings)
    found["faults"] = sum(finding.rule.level == "fault" for finding in book.findings)
    found["cues"] = len(cues)
    found["riddles"], found["told"] = len(quiz), told_early(lesson, quiz)
    for limit in (AIM_WPM, CEILING_WPM, HARD_WPM):
        found[f"within {limit}"] = sum(words_a_minute(c.text, c.end_ms - c.start_ms) <= limit for c in cues)
    found.update(_breaks(cues))
    return found


def _breaks(cues: tuple[Cue, ...]) -> Counter[str]:
    """Ends of lines and of cues alike; the beats of a count are places of their own."""
    words: list[str] = []
    ends: list[int] = []
    for cue in cues:
        for line in cue.text.split("\n"):
            if not line.startswith("["):
                words += line.removeprefix("- ").split()
                ends.append(len(words))
    kept = [
        end
        for end in ends[:-1]
        if 0 < end < len(words) and not (is_number(words[end - 1]) or is_number(words[end]))
    ]
    return Counter({"breaks": len(kept), "breaks allowed": sum(may_part(words, end) for end in kept)})


def rows(found: Counter[str]) -> list[tuple[str, str]]:
    """Return (what, result) pairs."""
    cues = max(1, found["cues"])
    return [
        ("captions", str(found["cues"])),
        ("faults of syntax, lost words, differing files", str(found["faults"])),
        ("overlaps", str(found["overlap"])),
        ("answers told early, by the checks", str(found["spoiler"])),
        ("answers told early, of those written", f"{found['told']} of {found['riddles']}"),
        *(
            (f"captions within {limit} words a minute", f"{found[f'within {limit}'] / cues:.1%}")
            for limit in (AIM_WPM, CEILING_WPM, HARD_WPM)
        ),
        ("lines and captions that end where they may", f"{found['breaks allowed'] / max(1, found['breaks']):.1%}"),
        ("more than two lines, a line too long", f"{found['lines']}, {found['line-length']}"),
        ("too short, too long on screen", f"{found['short']}, {found['long']}"),
        ("gaps like a blink", str(found["gap"])),
        ("more than 0.15 s from the first word", str(found["late"])),
    ]


def _sum(tallies: Iterable[Counter[str]]) -> Counter[str]:
    total: Counter[str] = Counter()
    for one in tallies:
        total.update(one)
    return total


def table(columns: dict[str, Counter[str]]) -> str:
    """Return a Markdown table with one column a name."""
    shown = [rows(found) for found in columns.values()]
    lines = [f"| captions of scripted classes | {' | '.join(columns)} |", "| --- |" + " ---: |" * len(columns)]
    lines += [f"| {row[0][0]} | {' | '.join(cell for _, cell in row)} |" for row in zip(*shown, strict=True)]
    return "\n".join(lines)


def main() -> None:
    """Compose, write, read, judge, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation.captions", description=__doc__)
    parser.add_argument("--example", type=Path, metavar="FOLDER", help="a lesson folder to count as well")
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    chosen = parser.parse_args()
    columns = {group: _sum(tally(*one) for one in lessons(group)) for group in ("tuned", "unseen", "fresh")}
    columns["all"] = _sum(columns.values())
    if chosen.example is not None:
        lesson = lesson_from_json((chosen.example / "lesson.json").read_bytes())
        columns["example"] = tally(captioned(lesson))
    text = table(columns)
    print(text)
    if chosen.write:
        put(ROOT / "README.md", "captions", text)


if __name__ == "__main__":
    main()
