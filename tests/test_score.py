"""The measures of the scripted classes, against published ones where there are any."""

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from segmenter.lesson import Ask, Chapter, CountRun, Practice, Shown
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.layout import laid_out, plain
from segmenter.understand.scripts import Opens, Said, Script, read_script, read_scripts
from tests.evaluation.__main__ import CLASSES
from tests.evaluation.score import Hits, Misses, Tally, score
from tests.evaluation.spoken import spoken
from tests.evaluation.windowdiff import text_tiling, windowdiff

SCRIPTS = [script for group in ("tuned", "unseen", "fresh") for script in read_scripts(CLASSES / group)]

# Golden values for 16 units with boundaries after units 4, 8 and 12 and a window of 3, as nltk.metrics
# (windowdiff) printed them; the measure: Pevzner and Hearst (2002), Computational Linguistics 28.
REFERENCE = "0001000100010000"
GOLDEN = {
    "identical": (REFERENCE, 0.0),
    "none": ("0" * 16, 0.643),
    "everywhere": ("1" * 15 + "0", 1.0),
    "first one unit early": ("0010000100010000", 0.143),
    "middle missing": ("0001000000010000", 0.214),
    "one extra at 6": ("0001010100010000", 0.214),
}

SMALL = """
persona: a test
== opening
Hello and welcome.
== exercise balance tandem-stance
Put one foot in front of the other, and hold on to the rail. | caution
Stay for ten seconds. | ask class hold_s=10
> silence 10
Stand still.
> count seconds @1.0: one / two / three, good / last one, four
Stop the film and do five more. | stop reps=5
> silence 2.0
Hello again. | resume
== quiz thinking
What barks? | clue
> silence 5
A dog. | answer
"""


def bits(text: str) -> list[bool]:
    return [sign == "1" for sign in text]


def small(tmp_path: Path, text: str = SMALL) -> Script:
    path = tmp_path / "small.txt"
    path.write_text(text, encoding="utf-8")
    return read_script(path)


@pytest.mark.parametrize("name", GOLDEN)
def test_windowdiff_gives_the_golden_values(name: str) -> None:
    other, expected = GOLDEN[name]
    assert windowdiff(bits(REFERENCE), bits(other)) == pytest.approx(expected, abs=5e-4)


@pytest.mark.parametrize("name", GOLDEN)
def test_windowdiff_is_that_of_nltk(name: str) -> None:
    from nltk.metrics.segmentation import windowdiff as reference

    other = GOLDEN[name][0]
    for window in (2, 3, 5):
        assert windowdiff(bits(REFERENCE), bits(other), window) == pytest.approx(
            reference(REFERENCE, other, window)
        )


def test_windowdiff_refuses_what_it_cannot_compare() -> None:
    with pytest.raises(ValueError, match="cannot be compared"):
        windowdiff([True], [True, False])
    with pytest.raises(ValueError, match="fewer than the window"):
        windowdiff([True, False], [True, False], 3)


def test_the_baseline_parts_two_subjects() -> None:
    ships = ["The ship left harbour and the sailors set the sails of the ship against the wind at sea."] * 12
    bread = ["Knead the dough with flour and yeast, and bake bread in a hot oven until the crust browns."] * 12
    follows = text_tiling([*ships, *bread])
    assert len(follows) == 24
    assert any(follows[9:14])
    assert sum(follows) <= 3


def test_hits() -> None:
    hits = Hits(1, 2, 2) + Hits(2, 2, 3)
    assert (hits.recall, hits.precision) == (0.75, 0.6)
    assert hits.f1 == pytest.approx(6 / 9)
    assert Hits().f1 == 1.0


def perfect(script: Script) -> tuple[Chapter, ...]:
    """Return the chapters of the small class as they should be."""
    _, truth = laid_out(script)
    opening, stance, quiz = truth.chapters
    (count,) = truth.counts
    return (
        Chapter(id="1", title="", kind="opening", start_ms=0, end_ms=opening.end_ms),
        Chapter(
            id="2", title="", kind="exercise", family="balance", exercise="tandem-stance",
            start_ms=stance.start_ms, end_ms=stance.end_ms,
            asked=(Ask(where="class", hold_s=(10, 10), start_ms=stance.start_ms, end_ms=stance.end_ms),),
            practice=(
                Practice(at_ms=truth.stops[0], resume_ms=truth.stops[0] + 2_000,
                         asked=Ask(where="class", reps=(5, 5), start_ms=truth.stops[0], end_ms=truth.stops[0])),
            ),
            shown=Shown(counts=(CountRun(kind="seconds", numbers=(1, 2, 3, 4), beat_s=count.beat_s,
                                         start_ms=count.start_ms, end_ms=count.end_ms),)),
        ),
        Chapter(id="3", title="", kind="quiz", family="thinking", start_ms=quiz.start_ms, end_ms=quiz.end_ms),
    )  # fmt: skip


def test_a_right_reading_gets_full_marks_and_a_wrong_one_does_not(tmp_path: Path) -> None:
    script = small(tmp_path)
    heard, truth = laid_out(script)
    misses = Misses()
    tally = score(truth, perfect(script), misses)
    assert tally.boundaries == Hits(2, 2, 2)
    assert tally.windowdiff == 0
    assert tally.family_ms == tally.exercise_ms > 20_000
    assert tally.stops == Hits(1, 1, 1)
    assert tally.asked == Hits(2, 2, 2)
    assert (tally.counts, tally.beats) == (Hits(1, 1, 1), Hits(1, 1, 1))
    # Caution and quiz item were left out above.
    assert (tally.cautions, tally.quiz) == (Hits(0, 1, 0), Hits(0, 1, 0))
    assert [line.split(" ", 1)[1] for line in misses.lines] == ["quiz item missed", "caution missed"]
    nothing = Chapter(id="1", title="", kind="talk", start_ms=0, end_ms=heard.end_ms)
    poor = score(truth, [nothing])
    assert (poor.boundaries, poor.family_ms, poor.asked) == (Hits(0, 2, 0), 0, Hits(0, 2, 0))
    assert poor.windowdiff > 0
    both = tally + poor
    assert isinstance(both, Tally)
    assert both.classes == 2


def test_talk_counts_the_exercises_invented(tmp_path: Path) -> None:
    script = small(tmp_path, "persona: x\n== talk\nWe went to the sea.\n")
    _, truth = laid_out(script)
    assert script.talk_only
    chapter = Chapter(id="1", title="", kind="exercise", start_ms=0, end_ms=truth.end_ms)
    tally = score(truth, [chapter])
    assert (tally.talks, tally.talk_exercises, tally.classes) == (1, 1, 0)


def test_every_day_is_once_a_day_and_no_hold_is_a_hold_of_nothing(tmp_path: Path) -> None:
    marks = "ask home days_per_week=7; ask class pattern=4/0/6/0"
    text = f"persona: x\n== exercise breath\nBreathe, every day. | {marks}\n"
    _, truth = laid_out(small(tmp_path, text))
    home = Ask(where="home", per_day=(1, 1), start_ms=400, end_ms=800)
    breath = Ask(where="class", pattern=(4, None, 6, None), start_ms=400, end_ms=800)
    chapter = Chapter(id="1", title="", kind="exercise", start_ms=0, end_ms=truth.end_ms, asked=(home, breath))
    assert score(truth, [chapter]).asked == Hits(2, 2, 2)


def test_a_fault_in_a_script_is_told_with_its_line(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"small.txt, line 3: no mark is called 'warning'"):
        small(tmp_path, "persona: x\n== talk\nHello. | warning\n")


def test_the_truth_of_a_spoken_class_lies_where_its_sound_lies(tmp_path: Path) -> None:
    def beep(text: str) -> NDArray[np.float64]:
        return np.asarray(np.sin(np.arange(2_205 * len(text.split())) * 0.1), dtype=np.float64)

    script = small(tmp_path)
    samples, truth = spoken(script, beep)
    level = np.abs(samples)
    for start, end, text in truth.sentences:
        first, last = (round(ms * 22.05) for ms in (start, end))
        assert level[first : first + 500].max() > 0.05, text
        assert level[last - 500 : last].max() > 0.05, text
        assert level[last + 100 : last + 2_000].max() < 0.05, text
    assert [chapter.opens.kind for chapter in truth.chapters] == ["opening", "exercise", "quiz"]
    assert truth.counts[0].beat_s == pytest.approx(1.0, abs=0.001)
    assert truth.stops == (truth.sentences[-4][1],)


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda script: script.name)
def test_every_class_is_well_written(script: Script) -> None:
    catalogue = load_catalogue()
    opened = [item for item in script.items if isinstance(item, Opens)]
    for item in opened:
        if item.exercise:
            assert catalogue.by_id(item.exercise).family == item.family
    said = [item for item in script.items if isinstance(item, Said)]
    assert len(said) >= 15
    assert sum("answer" in item.marks for item in said) <= sum("clue" in item.marks for item in said)
    heard, truth = laid_out(script)
    assert heard == laid_out(script)[0]
    assert all(a.end_ms <= b.start_ms for a, b in pairwise(heard.words))
    assert all(a.end_ms == b.start_ms for a, b in pairwise(truth.chapters))
    assert truth.chapters[-1].end_ms == heard.end_ms
    assert [len(plain(item.text).split()) for item in said] == [
        len(item.text.split()) - item.text.count("(") for item in said
    ]
