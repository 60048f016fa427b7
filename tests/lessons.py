"""Made-up lessons for tests of everything that writes or shows one."""

from __future__ import annotations

from collections.abc import Sequence

from segmenter.lesson import (
    Ask,
    Caution,
    Chapter,
    Check,
    CountRun,
    Hold,
    Lesson,
    MadeBy,
    Part,
    Passage,
    Practice,
    QuizItem,
    Recording,
    Shown,
    Word,
)

AWKWARD = (
    "Warm-up = 5 × hold; “ah” #1 \\ end",
    "# not a comment",
    "; not one either",
    "a --> b & <c>",
    "two\nlines\n\nand a gap",
    "=1+1",
    "@SUM(A1)",
    "  blanks  ",
    "Blow 🎈 softly 👩‍⚕️",
    "تمارين التنفس",
    "<img src=x onerror=alert(1)>",
    "&copy; &notit; R&D",
    "[CHAPTER]",
    "long " * 60,
)


def spoken(text: str, start_ms: int, *, each_ms: int = 350) -> tuple[Word, ...]:
    """Words said one after the other, `each_ms` apart."""
    return tuple(
        Word(text=word, start_ms=start_ms + n * each_ms, end_ms=start_ms + n * each_ms + each_ms * 9 // 10)
        for n, word in enumerate(text.split())
    )


def lesson_of(words: Sequence[Word], *, seconds: float | None = None, **chapter: object) -> Lesson:
    """A lesson of one chapter with these words."""
    end = max([w.end_ms for w in words], default=0) + 2_000 if seconds is None else round(seconds * 1000)
    one = Chapter(id="c1", title="Everything", kind="talk", start_ms=0, end_ms=end).model_copy(update=chapter)
    return bare(chapters=(one,), seconds=end / 1000).model_copy(update={"words": tuple(words)})


def bare(chapters: tuple[Chapter, ...], *, seconds: float, title: str = "A class") -> Lesson:
    """A lesson of chapters alone."""
    return Lesson(
        title=title,
        language="en",
        recording=Recording(path=None, sha256=None, seconds=seconds),
        chapters=chapters,
        made_by=MadeBy(segmenter="0", speech_model=None),
    )


def titled(titles: Sequence[str]) -> Lesson:
    """One exercise of twelve seconds a title."""
    chapters = tuple(
        Chapter(id=f"c{n}", title=title, kind="exercise", start_ms=n * 12_000, end_ms=(n + 1) * 12_000)
        for n, title in enumerate(titles)
    )
    return bare(chapters, seconds=12.0 * len(titles), title=titles[0] if titles else "")


def rich_lesson() -> Lesson:
    """A short class with one of everything."""
    home = Ask(where="home", start_ms=52_000, end_ms=55_000, reps=(10, 10), per_day=(2, 3), side="both")
    asked = Ask(where="class", start_ms=20_000, end_ms=24_000, reps=(5, 5), hold_s=(10, 10))
    holds = tuple(
        Hold(start_ms=s, end_ms=s + 8_000, seconds=8.0, how="voiced", pitch_hz=196.0, level_db=-18.0)
        for s in (26_000, 36_000)
    )
    count = CountRun(kind="seconds", numbers=(1, 2, 3, 5), missing=(4,), beat_s=1.0, start_ms=46_000, end_ms=50_000)
    answer = Passage(text="Paris.", start_ms=70_000, end_ms=70_400)
    clue = Passage(text="The capital of France?", start_ms=68_600, end_ms=69_900)
    chapters = (
        Chapter(id="a", title="Hello", kind="opening", start_ms=0, end_ms=10_000),
        Chapter(
            id="b",
            title="Steady ah",
            kind="exercise",
            family="voice",
            start_ms=10_000,
            end_ms=65_000,
            parts=(Part(kind="show", start_ms=26_000, end_ms=44_000),),
            asked=(asked, home),
            shown=Shown(reps=2, holds=holds, counts=(count,)),
            practice=(Practice(at_ms=60_000, resume_ms=60_500, asked=asked, seconds=70),),
            cautions=(
                Caution(text="Stop if it hurts.", start_ms=12_000, end_ms=13_400, source="spoken"),
                Caution(text="Rest when hoarse.", source="catalogue", reference="common practice"),
            ),
        ),
        Chapter(
            id="c",
            title="Capitals",
            kind="quiz",
            family="thinking",
            start_ms=65_000,
            end_ms=80_000,
            quiz=(QuizItem(clue=clue, answer=answer, think_s=0.1),),
        ),
    )
    words = (
        *spoken("Welcome to the class. Please bring a chair and water.", 500),
        *spoken("Stop if it hurts.", 12_000),
        *spoken("Hold a steady ah five times, ten seconds each.", 20_000),
        *spoken("One, two, three, five.", 46_000, each_ms=1_000),
        *spoken("At home do ten.", 52_000),
        *spoken("The capital of France?", 68_600),
        Word(text="Paris.", heard="Harris.", why="answer", start_ms=70_000, end_ms=70_400),
        *spoken("Well done everyone, that is all for today.", 70_500),
    )
    checks = (
        Check(code="low", level="note", message="A note.", start_ms=1_500, end_ms=2_000),
        Check(code="bad", level="stop", message="Left <b>or</b> right?", start_ms=62_250, end_ms=63_000),
    )
    lesson = bare(chapters, seconds=80, title="Voice & breath")
    return lesson.model_copy(update={"words": words, "checks": checks})
