"""A made-up library: lessons that differ in words, dates and exercises."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from segmenter.lesson import Ask, Chapter, Lesson, Passage, QuizItem, Word, to_json
from tests.lessons import bare, spoken

SPOKEN = {
    "chin-tuck": "Tuck your chin and swallow. Now look to the left and tuck again.",
    "siren": "Slide from low to high like an owl. Again, from the left end of the piano.",
    "single-leg-stance": "Stand on your left leg near the counter. Hold on if you feel dizzy.",
}
FAMILY = {"chin-tuck": "swallow", "siren": "pitch", "single-leg-stance": "balance"}


def a_class(title: str, exercises: Sequence[str], *, reps: int = 5, clue: str | None = None) -> Lesson:
    """A class of twenty seconds an exercise, each with a dose, and perhaps a riddle."""
    chapters: list[Chapter] = []
    words: list[Word] = []
    for number, exercise in enumerate(exercises):
        start = 20_000 * number
        ask = Ask(where="home", start_ms=start, end_ms=start + 900, reps=(reps, reps))
        chapters.append(
            Chapter.model_validate(
                {
                    "id": f"c{number}", "title": exercise.replace("-", " ").capitalize(), "kind": "exercise",
                    "family": FAMILY[exercise], "exercise": exercise, "start_ms": start, "end_ms": start + 20_000,
                    "asked": (ask,),
                }
            )
        )  # fmt: skip
        words += spoken(SPOKEN[exercise], start + 500)
    end = 20_000 * len(exercises)
    if clue is not None:
        item = QuizItem(
            clue=Passage(text=clue, start_ms=end + 500, end_ms=end + 2_000),
            answer=Passage(text="A comb.", start_ms=end + 5_000, end_ms=end + 6_000),
        )
        chapters.append(
            Chapter(
                id="q",
                title="Riddle",
                kind="quiz",
                family="thinking",
                start_ms=end,
                end_ms=end + 10_000,
                quiz=(item,),
            )
        )
        end += 10_000
    return bare(tuple(chapters), seconds=end / 1000, title=title).model_copy(update={"words": tuple(words)})


def put(folder: Path, lesson: Lesson) -> Path:
    """Put a lesson where a build would put it."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "lesson.json").write_text(to_json(lesson), encoding="utf-8")
    return folder
