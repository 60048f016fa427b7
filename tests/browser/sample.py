"""A made-up class of ten seconds, with everything the lesson page can show."""

from __future__ import annotations

from segmenter.lesson import (
    Ask,
    Caption,
    Caution,
    Chapter,
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
    Video,
    Word,
)
from segmenter.publish.viewers import for_viewers

MARKUP = "<img src=x onerror=document.title='broken'>"


def sample_lesson(title: str = "Voice and breath class") -> Lesson:
    """Opening, a counted exercise, a held one, one without a number, a quiz and a closing."""
    counted = Ask(start_ms=2000, end_ms=2500, where="class", reps=(3, 3), sets=(2, 2))
    held = Ask(start_ms=4000, end_ms=4500, where="class", reps=(2, 2), hold_s=(12.0, 12.0), rest_s=(6.0, 6.0))
    daily = Ask(start_ms=4500, end_ms=4900, where="home", per_day=(2, 3), reps=(10, 10))
    return Lesson(
        title=title,
        language="en",
        recording=Recording(path=None, sha256=None, seconds=10.0, video=Video(width=320, height=180, fps=25.0)),
        chapters=(
            Chapter(id="c1", start_ms=0, end_ms=1000, title="Hello", kind="opening"),
            Chapter(
                id="c2", start_ms=1000, end_ms=3500, title="Shoulder rolls", kind="exercise", family="mobility",
                asked=(counted,), parts=(
                    Part(kind="how", start_ms=1000, end_ms=1900), Part(kind="show", start_ms=1900, end_ms=2600),
                ), practice=(Practice(at_ms=2600, resume_ms=3000, asked=counted),),
            ),
            Chapter(
                id="c3", start_ms=3500, end_ms=6000, title=f"Long “ah” {MARKUP}", kind="exercise", family="voice",
                asked=(held, daily), shown=Shown(
                    holds=(Hold(start_ms=4000, end_ms=5000, seconds=1.0, how="voiced"),)
                ), practice=(Practice(at_ms=5200, resume_ms=5400, asked=held, seconds=20.0),),
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


def hidden_lesson() -> Lesson:
    """The sample as viewers get it after an editor hid the long "ah" and the closing."""
    lesson = sample_lesson()
    chapters = tuple(c.model_copy(update={"hidden": c.id in {"c3", "c6"}}) for c in lesson.chapters)
    return for_viewers(lesson.model_copy(update={"chapters": chapters}))


def unstopped_lesson() -> Lesson:
    """Two exercises that the class never stops for: one with a dose for home, one with two of them."""
    once, *home = (
        Ask(start_ms=500, end_ms=900, where="class", reps=(2, 2)),
        Ask(start_ms=500, end_ms=900, where="home", reps=(4, 4)),
        Ask(start_ms=500, end_ms=900, where="home", reps=(6, 6)),
    )
    first = Chapter(
        id="u1", start_ms=0, end_ms=2000, title="Lip press", kind="exercise", family="mouth", asked=(once, home[0])
    )
    second = Chapter(
        id="u2",
        start_ms=2000,
        end_ms=4000,
        title="Lip spread",
        kind="exercise",
        family="mouth",
        asked=tuple(home),
    )
    rest = Chapter(id="u3", start_ms=4000, end_ms=10_000, title="Goodbye", kind="closing")
    return _film("No stops", (first, second, rest))


def breath_lesson() -> Lesson:
    """One exercise of counted breathing: in for two, out for three, two times."""
    asked = Ask(start_ms=500, end_ms=900, where="class", reps=(2, 2), pattern=(2.0, None, 3.0, None))
    runs = (
        CountRun(start_ms=1000, end_ms=3000, kind="breath", numbers=(1, 2), beat_s=1.0),
        CountRun(start_ms=3000, end_ms=6000, kind="breath", numbers=(1, 2, 3), beat_s=1.0),
    )
    chapter = Chapter(
        id="b1", start_ms=0, end_ms=10_000, title="Long breath out", kind="exercise", family="breath",
        asked=(asked,), shown=Shown(counts=runs), practice=(Practice(at_ms=7000, resume_ms=7200, asked=asked),),
    )  # fmt: skip
    return _film("Breathing", (chapter,))


def stops_lesson() -> Lesson:
    """Twenty practice stops, less than half a second apart."""
    one = Ask(start_ms=0, end_ms=100, where="class", reps=(1, 1))
    chapter = Chapter(
        id="s1", start_ms=0, end_ms=10_000, title="Many stops", kind="exercise", family="hand", asked=(one,),
        practice=tuple(Practice(at_ms=at, resume_ms=at + 40, asked=one) for at in range(500, 9500, 450)),
    )  # fmt: skip
    return _film("Stops", (chapter,))


def long_lesson() -> Lesson:
    """Two hours of talk at a usual pace in sixty chapters, each with doses, a stop and cautions."""
    chapters, captions = [], []
    for n in range(60):
        start = n * 120_000
        asked = Ask(
            start_ms=start, end_ms=start + 900, where="class", reps=(n % 7 + 3, n % 7 + 3), hold_s=(5.0, 5.0)
        )
        home = Ask(start_ms=start, end_ms=start + 900, where="home", reps=(10, 10), per_day=(2, 3))
        chapters.append(
            Chapter(
                id=f"c{n}", start_ms=start, end_ms=start + 120_000, title=f"Exercise number {n} with a usual title",
                kind="exercise", family=("voice", "swallow", "breath", "face", "neck", "balance")[n % 6],
                parts=(
                    Part(kind="how", start_ms=start, end_ms=start + 30_000),
                    Part(kind="show", start_ms=start + 30_000, end_ms=start + 100_000),
                ),
                asked=(asked, home),
                practice=(Practice(at_ms=start + 100_000, resume_ms=start + 103_000, asked=asked),),
                cautions=(
                    Caution(text=f"Stop if number {n} hurts, and rest a little.", source="spoken"),
                    Caution(text=f"Keep number {n} easy, whatever it asks.", source="catalogue", reference="made"),
                ),
                shown=Shown(holds=tuple(
                    Hold(start_ms=start + k * 9000, end_ms=start + k * 9000 + 5000, seconds=5.0, how="voiced")
                    for k in range(5)
                )),
            )
        )  # fmt: skip
    # 150 words a minute, ten words a caption; no word list repeats, so that packing has real work.
    for n in range(1800):
        words = " ".join(
            f"{'aeiou'[(n * k) % 5]}{'bdfghklmnprst'[(n + 7 * k) % 13]}{n * k % 97}ing" for k in range(1, 11)
        )
        captions.append(Caption(start_ms=n * 4000, end_ms=n * 4000 + 3900, text=words))
    return _film("A long class", tuple(chapters), 7200.0).model_copy(update={"captions": tuple(captions)})


def _film(title: str, chapters: tuple[Chapter, ...], length: float = 10.0) -> Lesson:
    return Lesson(
        title=title,
        language="en",
        recording=Recording(path=None, sha256=None, seconds=length, video=Video(width=320, height=180, fps=25.0)),
        chapters=chapters,
        made_by=MadeBy(segmenter="0", speech_model=None),
    )
