"""What the film is made of: nothing asked for is shortened, nothing unsaid becomes a number."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Any

import pytest

from segmenter.errors import SettingError
from segmenter.lesson import Ask, Caption, Lesson, Practice
from segmenter.publish.follow.plan import Clip, Insert, plan_film
from segmenter.publish.follow.settings import FollowSettings
from segmenter.publish.follow.steps import OPEN, Step, practice_steps
from segmenter.understand.dose import practice_seconds
from tests.lessons import rich_lesson

PLAIN = FollowSettings()
RATE = Fraction(20)  # every moment below is a whole frame


def ask(**fields: Any) -> Ask:
    return Ask(where="home", start_ms=0, end_ms=1, **fields)


def lasting(steps: tuple[Step, ...], *kinds: str) -> float:
    return sum(step.counts * step.beat_s for step in steps if step.kind in kinds)


@pytest.mark.parametrize(
    "asked",
    [
        ask(reps=(5, 5), hold_s=(10, 10)),
        ask(reps=(8, 10), hold_s=(3, 5), rest_s=(4, 4)),
        ask(reps=(3, 3), hold_s=(6, 6), sets=(2, 2), side="both", rest_s=(2, 2)),
        ask(hold_s=(60, 60)),
        ask(hold_s=(10, 10), sets=(3, 3)),
        ask(reps=(4, None), hold_s=(7, 7), side="left"),
    ],
)
def test_as_long_as_practice_was_reckoned_to_be(asked: Ask) -> None:
    steps = practice_steps(asked, FollowSettings(rest_s=0))
    wanted = practice_seconds(asked)
    assert wanted is not None
    # The rest after the last repetition is reckoned, but nobody waits for it.
    last = (asked.rest_s or (0, 0))[1] or 0
    assert lasting(steps, "hold", "rest") == wanted - last


@pytest.mark.parametrize(
    "asked", [None, ask(reps=(5, 5)), ask(hold_s=(5, 5)), ask(per_day=(2, 2)), ask(effort="soft")]
)
def test_unknown_is_an_open_wait(asked: Ask | None) -> None:
    steps = practice_steps(asked, FollowSettings(wait_s=45))
    assert [step.kind for step in steps] == ["wait", "done"]
    assert steps[0].counts == 45
    assert steps[0].rep is None
    if asked is None:
        assert steps[0].note == OPEN
        assert not re.search(r"\d", steps[0].note)


def test_no_number_is_shown_that_was_not_said() -> None:
    for asked in (ask(hold_s=(5, 5)), ask(sets=(2, 2)), ask(reps=(7, 7))):
        said = {str(round(n)) for span in (asked.hold_s, asked.sets, asked.reps) if span for n in span if n}
        assert set(re.findall(r"\d+", practice_steps(asked, PLAIN)[0].note)) == said


@pytest.mark.parametrize("pace", ["gentle", "usual", "quick"])
def test_pace_changes_rests_and_never_holds(pace: Any) -> None:
    asked = ask(reps=(4, 4), hold_s=(10, 10), rest_s=(6, 6))
    steps = practice_steps(asked, FollowSettings(pace=pace))
    assert lasting(steps, "hold") == 40
    assert lasting(steps, "rest") >= 18
    unsaid = practice_steps(ask(reps=(4, 4), hold_s=(10, 10)), FollowSettings(pace=pace, rest_s=10))
    assert lasting(unsaid, "rest") == {"gentle": 45, "usual": 30, "quick": 21}[pace]


def test_reps_are_capped_and_never_raised() -> None:
    asked = ask(reps=(5, 5), hold_s=(3, 3))
    assert lasting(practice_steps(asked, FollowSettings(reps=2)), "hold") == 6
    assert lasting(practice_steps(asked, FollowSettings(reps=50)), "hold") == 15


def test_the_free_part_of_a_range_says_so() -> None:
    steps = practice_steps(ask(reps=(2, 3), hold_s=(4, 6)), PLAIN)
    holds = [step for step in steps if step.kind == "hold"]
    assert [step.note for step in holds] == ["", "", "if you like"]
    assert {step.enough for step in holds} == {2}


def test_breathing_goes_in_the_beat_of_the_class() -> None:
    steps = practice_steps(ask(reps=(2, 2), pattern=(4, None, 6, None)), PLAIN, 1.2)
    breaths = [step for step in steps if step.kind == "breathe"]
    assert [(s.label, s.counts) for s in breaths] == [("Breathe in", 4), ("Breathe out", 6)] * 2
    assert lasting(steps, "breathe") == pytest.approx(24)


def test_an_absurd_dose_is_no_film_of_hours() -> None:
    assert practice_steps(ask(reps=(900, 900), hold_s=(60, 60)), PLAIN)[0].kind == "wait"


def lesson() -> Lesson:
    made = rich_lesson()
    captions = (
        Caption(start_ms=1_000, end_ms=3_000, text="Welcome"),
        Caption(start_ms=59_000, end_ms=62_000, text="Over the stop"),
        Caption(start_ms=60_100, end_ms=60_400, text="Cut out"),
        Caption(start_ms=70_000, end_ms=70_400, text="Paris."),
    )
    return made.model_copy(update={"captions": captions})


def test_the_film_of_a_class() -> None:
    plan = plan_film(lesson(), RATE, PLAIN)
    kinds = [type(piece).__name__ for piece in plan.pieces]
    assert kinds == ["Clip", "Clip", "Insert", "Clip", "Clip", "Insert", "Clip"]
    practice = plan.pieces[2]
    assert isinstance(practice, Insert)
    assert practice.behind == 60 * 20 - 1
    # 5 to get ready, five holds of 10 with four rests of 5 between, 3 at the end; then 10 to think.
    put_in = 5 + 50 + 20 + 3, 10
    assert plan.map.duration_ms == 80_000 - 500 + 1_000 * sum(put_in)
    assert [(c.start_ms, c.end_ms) for c in plan.lesson.chapters] == [
        (0, 10_000), (10_000, 142_500), (142_500, 167_500),
    ]  # fmt: skip
    captions = {c.text: c.span for c in plan.lesson.captions}
    assert captions["Welcome"] == (1_000, 3_000)
    assert captions["Over the stop"] == (138_000, 139_500)
    assert "Cut out" not in captions
    # The stop for the answer stands 150 ms before it; captions stay with the voice.
    assert captions["Paris."][0] == 70_000 - 500 + 78_000 + 10_000
    assert captions["[time to practise, with soft tones]"] == (60_000, 64_000)
    assert (plan.stops, plan.open_waits) == (1, 0)


def test_chapters_can_be_chosen_and_the_opening_cut() -> None:
    plan = plan_film(lesson(), RATE, FollowSettings(only=("3",)))
    assert [c.title for c in plan.lesson.chapters] == ["Capitals"]
    assert plan_film(lesson(), RATE, FollowSettings(only=("c",))) == plan
    cut = plan_film(lesson(), RATE, FollowSettings(cut_opening=True))
    assert [c.title for c in cut.lesson.chapters] == ["Steady ah", "Capitals"]
    assert cut.lesson.chapters[0].start_ms == 0
    with pytest.raises(SettingError, match="2 = Steady ah"):
        plan_film(lesson(), RATE, FollowSettings(only=("9",)))


def test_cards_belong_to_the_chapter_they_open() -> None:
    plan = plan_film(lesson(), RATE, FollowSettings(cards=True))
    steady = plan.lesson.chapters[1]
    first = plan.pieces[1]
    assert isinstance(first, Insert)
    assert first.lines == ("Stop if it hurts.",)
    assert steady.start_ms == 10_000
    last = plan.pieces[-1]
    assert isinstance(last, Insert)
    assert any("urgent help" in line for line in last.lines)
    assert plan.lesson.chapters[-1].end_ms == plan.map.duration_ms


def test_cards_stand_as_long_as_they_take_to_read() -> None:
    plan = plan_film(lesson(), RATE, FollowSettings(cards=True))
    cards = [piece for piece in plan.pieces if isinstance(piece, Insert) and piece.steps[0].kind == "card"]
    for card in cards:
        words = " ".join([card.title, *card.lines]).split()
        assert card.frames(RATE) / RATE >= max(
            6, len(words) / 2
        )  # 120 words a minute is slow reading (from memory)
    assert len(cards) == 3


def test_every_frame_of_the_class_is_there_once() -> None:
    odd = Fraction(30000, 1001)
    plan = plan_film(lesson(), odd, PLAIN)
    clips = [piece for piece in plan.pieces if isinstance(piece, Clip)]
    shown = sum(clip.last - clip.first for clip in clips)
    assert shown == round(80 * odd) - (round(Fraction(605, 10) * odd) - round(60 * odd))


def test_a_stop_at_the_very_end_of_a_chapter_stays_in_it() -> None:
    made = lesson()
    stop = Practice(at_ms=65_000, resume_ms=65_000)
    steady = made.chapters[1].model_copy(update={"practice": (stop,)})
    plan = plan_film(
        made.model_copy(update={"chapters": (made.chapters[0], steady, made.chapters[2])}), RATE, PLAIN
    )
    assert plan.lesson.chapters[2].start_ms == 65_000 + 60_000 + 3_000
    assert (plan.stops, plan.open_waits) == (1, 1)
