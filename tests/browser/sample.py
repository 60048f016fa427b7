"""A made-up class of ten seconds, with everything the lesson page can show."""

from __future__ import annotations

from segmenter.lesson import (
    Ask,
    Caption,
    Caution,
    Chapter,
    Lesson,
    MadeBy,
    Passage,
    Practice,
    QuizItem,
    Recording,
    Video,
    Word,
)

MARKUP = "<img src=x onerror=document.title='broken'>"


def sample_lesson(title: str = "Voice and breath class") -> Lesson:
    """Opening, a counted exercise, a held one, one without a number, a quiz and a closing."""
    counted = Ask(start_ms=2000, end_ms=2500, where="class", reps=(3, 3), sets=(2, 2))
    held = Ask(start_ms=4000, end_ms=4500, where="class", reps=(2, 2), hold_s=(1.0, 1.0))
    daily = Ask(start_ms=4500, end_ms=4900, where="home", per_day=(2, 3), reps=(10, 10))
    return Lesson(
        title=title,
        language="en",
        recording=Recording(path=None, sha256=None, seconds=10.0, video=Video(width=320, height=180, fps=25.0)),
        chapters=(
            Chapter(id="c1", start_ms=0, end_ms=1000, title="Hello", kind="opening"),
            Chapter(
                id="c2", start_ms=1000, end_ms=3500, title="Shoulder rolls", kind="exercise", family="mobility",
                asked=(counted,), practice=(Practice(at_ms=2600, resume_ms=3000, asked=counted),),
            ),
            Chapter(
                id="c3", start_ms=3500, end_ms=6000, title=f"Long “ah” {MARKUP}", kind="exercise", family="voice",
                asked=(held, daily), practice=(Practice(at_ms=5200, resume_ms=5400, asked=held, seconds=20.0),),
                cautions=(
                    Caution(text="Stop if your throat hurts.", start_ms=4000, end_ms=4400, source="spoken"),
                    Caution(text="Keep the voice easy.", source="catalogue", reference="made-up source for tests"),
                ),
            ),
            Chapter(
                id="c4", start_ms=6000, end_ms=7500, title="Lip press", kind="exercise", family="mouth",
                practice=(Practice(at_ms=7000, resume_ms=7200),),
            ),
            Chapter(
                id="c5", start_ms=7500, end_ms=9000, title="Name the animal", kind="quiz", family="thinking",
                quiz=(
                    QuizItem(
                        clue=Passage(start_ms=7500, end_ms=8000, text="It is grey and never forgets."),
                        answer=Passage(start_ms=8400, end_ms=8800, text="Elephant"),
                    ),
                ),
            ),
            Chapter(id="c6", start_ms=9000, end_ms=10000, title="Goodbye", kind="closing"),
        ),
        words=(
            Word(start_ms=8000, end_ms=8300, text="Think."),
            Word(start_ms=8400, end_ms=8800, text="Elephant!"),
        ),
        captions=(
            Caption(start_ms=200, end_ms=900, text="Hello and welcome."),
            Caption(start_ms=1100, end_ms=2400, text="Roll your shoulders\nthree times."),
            Caption(start_ms=3600, end_ms=5000, text="Say ah if 5 < 6 & you like."),
            Caption(start_ms=7500, end_ms=8000, text="It is grey and never forgets."),
            Caption(start_ms=8000, end_ms=8800, text="Think. Elephant!"),
            Caption(start_ms=9100, end_ms=9900, text="Goodbye."),
        ),
        made_by=MadeBy(segmenter="0", speech_model=None),
    )  # fmt: skip
