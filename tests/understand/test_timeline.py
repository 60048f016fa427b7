"""Chapters of whole made-up classes: laid out in time as they would be spoken, with their sounds."""

from itertools import pairwise
from pathlib import Path

import pytest

from segmenter.heard import Heard, Sound, SoundKind
from segmenter.lesson import Chapter, Recording, Word
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.timeline import Understood, understand

REAL = Path(__file__).parents[3] / "shared" / "data" / "real"
Item = str | tuple[str, float]
"""A sentence to speak, or a sound (``"hold"``, ``"silence"``) with its seconds."""


def read(items: list[Item]) -> Understood:
    """Understand a class: a word takes 0.35 s, a sentence is followed by 0.4 s."""
    at, words, sounds = 500, [], []
    for item in items:
        if isinstance(item, str):
            for token in item.split():
                words.append(Word(text=token, start_ms=at, end_ms=at + 300))
                at += 350
            at += 400
        else:
            kind, seconds = item
            end = at + round(seconds * 1000)
            what: SoundKind = "silence" if kind == "silence" else "hold"
            sounds.append(Sound(kind=what, confidence=1, how="made", start_ms=at, end_ms=end))
            at = end + 300
    heard = Heard(
        start_ms=0,
        end_ms=at,
        recording=Recording(path=None, sha256=None, seconds=at / 1000),
        language="en",
        speech_model=None,
        words=tuple(words),
        sounds=tuple(sounds),
    )
    return understand(heard, load_catalogue())


def kinds(made: Understood) -> list[tuple[str, str | None]]:
    return [(chapter.kind, chapter.family) for chapter in made.chapters]


BALANCE: list[Item] = [
    "Hello and welcome to the Wednesday group.",
    "Today you need your kitchen worktop and flat shoes.",
    "First up is the tandem stance, one foot right in front of the other.",
    "It keeps you safe when you turn round in a small bathroom.",
    "Keep a hand near the worktop the whole time.",
    "Hold it for ten seconds.",
    ("silence", 10.0),
    "And step out of it.",
    "At home do that three times on each leg, every day.",
    "Next we have heel raises.",
    "Rise up on your toes and lower slowly.",
    "Up, one. Up, two. Up, three. Up, four. Up, five.",
    "We did five and I would like ten at home.",
    "Pause the recording now and do five more.",
    "Welcome back everybody.",
    "That is all for today, thank you for coming, goodbye.",
]

SWALLOW: list[Item] = [
    "Good morning all, lovely to see you.",
    "Let's start with the Masako.",
    "Put the tip of your tongue between your teeth and swallow.",
    "No food and no drink with this one please.",
    "Here I go, and swallow.",
    ("silence", 3.0),
    "Again, and swallow.",
    ("silence", 3.0),
    "Stop the tape here and do eight of those by yourself.",
    ("silence", 2.0),
    "Nice to have you back.",
    "Moving on to pitch glides.",
    "Slide from your lowest note up to your highest note.",
    ("hold", 3.0),
    "Once more.",
    ("hold", 3.2),
    "Twice a day at home, five glides each time.",
    "Now a little riddle to wake up the brain.",
    "It has keys but opens no door.",
    ("silence", 5.0),
    "It was a piano.",
    "What has hands but cannot clap?",
    ("silence", 6.0),
    "The answer is a clock.",
    "Some news before you go, there is no class next Tuesday and the room is booked on Friday.",
    "See you in a fortnight, take care of yourselves.",
]

TALK: list[Item] = [
    "So last week my sister drove us down to the coast.",
    "The weather was dreadful and we held our breath at every bend.",
    "I remember when the old pier was still standing.",
    "We had chips and a long chat about the garden.",
    "My neighbour has three cats and none of them can sit still.",
    "The train back took two hours and I read half of my book.",
    "It was good to get out though, the sea air does you good.",
    "Next month we might go again if the trains are running.",
]


def chapter_of(made: Understood, family: str) -> Chapter:
    return next(chapter for chapter in made.chapters if chapter.family == family)


def test_a_balance_class() -> None:
    made = read(BALANCE)
    assert kinds(made) == [
        ("opening", None), ("exercise", "balance"), ("exercise", "strength"), ("closing", None),
    ]  # fmt: skip
    stance, raises = made.chapters[1:3]
    assert (stance.exercise, raises.exercise) == ("tandem-stance", "heel-raise")
    assert any(ask.where == "class" and ask.hold_s == (10, 10) for ask in stance.asked)
    assert any(ask.where == "home" and ask.reps == (3, 3) for ask in stance.asked)
    assert any("worktop" in caution.text for caution in stance.cautions if caution.source == "spoken")
    (stop,) = raises.practice
    assert stop.asked is not None
    assert stop.asked.reps == (5, 5)


def test_a_swallow_class_with_a_quiz() -> None:
    made = read(SWALLOW)
    assert kinds(made) == [
        ("opening", None), ("exercise", "swallow"), ("exercise", "pitch"), ("quiz", "thinking"), ("talk", None),
        ("closing", None),
    ]  # fmt: skip
    swallow = chapter_of(made, "swallow")
    assert swallow.shown.reps == 2
    assert [hold.how for hold in swallow.shown.holds] == ["silent", "silent"]
    (stop,) = swallow.practice
    assert stop.asked is not None
    assert stop.asked.reps == (8, 8)
    assert stop.at_ms < stop.resume_ms
    assert chapter_of(made, "pitch").shown.reps == 2
    items = chapter_of(made, "thinking").quiz
    assert [item.answer.text for item in items if item.answer] == ["It was a piano.", "The answer is a clock."]
    assert all(item.think_s is not None and item.think_s >= 5 for item in items)


THINKING: list[Item] = [
    "Hello everybody and welcome to the Friday memory morning.",
    "We begin with the one that does not belong.",
    "I say four words and you tell me which is the odd one out.",
    "Carrot, onion, bicycle, leek.",
    ("silence", 5.0),
    "The bicycle, you cannot put it in a soup.",
    "Robin, sparrow, thrush, trout.",
    ("silence", 5.0),
    "The trout, it has no feathers.",
    "Next we do opposites.",
    "I say a word and you give me the opposite.",
    "What is the opposite of heavy?",
    ("silence", 4.0),
    "Light.",
    "And the opposite of narrow?",
    ("silence", 4.0),
    "Wide, well done.",
    "That is all for today, thank you and goodbye.",
]

WORDS: list[Item] = [
    "Good morning and welcome to the speech group.",
    "Now over-articulation, big mouth movements on every word.",
    "Say each word after me and exaggerate every sound, open the jaw wide.",
    "Umbrella.",
    ("silence", 3.0),
    "Marmalade.",
    ("silence", 3.0),
    "Photograph.",
    ("silence", 3.0),
    "Newspaper.",
    ("silence", 3.0),
    "Make every consonant crisp, twice a day at home.",
    "That is all for today, goodbye.",
]


def test_thinking_tasks_are_named_and_parted_by_their_names() -> None:
    made = read(THINKING)
    tasks = [chapter for chapter in made.chapters if chapter.family == "thinking"]
    assert [task.exercise for task in tasks] == ["odd-one-out", "opposites"]
    answers = [item.answer.text for task in tasks for item in task.quiz if item.answer]
    assert answers == [
        "The bicycle, you cannot put it in a soup.", "The trout, it has no feathers.", "Light.", "Wide, well done.",
    ]  # fmt: skip


def test_words_to_say_after_somebody_are_no_riddles() -> None:
    made = read(WORDS)
    assert [chapter.family for chapter in made.chapters if chapter.kind == "exercise"] == ["speech"]
    assert not [item for chapter in made.chapters for item in chapter.quiz]


def test_plain_talk_holds_no_exercise() -> None:
    assert not [chapter for chapter in read(TALK).chapters if chapter.kind in {"exercise", "quiz"}]


@pytest.mark.parametrize("name", ["reading-1", "reading-2", "natural-1", "natural-2"])
def test_real_speech_that_is_no_class_holds_no_exercise(name: str) -> None:
    """Texts: LibriVox readings (public domain) and Montreal Forced Aligner test data (MIT)."""
    path = REAL / f"{name}.txt"
    if not path.exists():
        pytest.skip("no folder of real recordings here")
    lines = [line for line in path.read_text(encoding="utf-8").splitlines() if line.strip()]
    assert not [chapter for chapter in read([*lines]).chapters if chapter.kind in {"exercise", "quiz"}]


def test_a_silent_recording_is_one_chapter() -> None:
    made = read([("hold", 12.0)])
    assert [(chapter.kind, chapter.start_ms) for chapter in made.chapters] == [("talk", 0)]


@pytest.mark.parametrize("items", [BALANCE, SWALLOW, TALK])
def test_chapters_and_parts_cover_without_overlap(items: list[Item]) -> None:
    made = read(items)
    end = made.chapters[-1].end_ms
    edges = [0, *(chapter.end_ms for chapter in made.chapters)]
    assert [chapter.start_ms for chapter in made.chapters] == edges[:-1]
    for chapter in made.chapters:
        assert chapter.reasons
        if chapter.parts:
            assert chapter.parts[0].start_ms == chapter.start_ms
            assert chapter.parts[-1].end_ms == chapter.end_ms
            assert all(a.end_ms == b.start_ms for a, b in pairwise(chapter.parts))
        for stop in chapter.practice:
            assert chapter.start_ms <= stop.at_ms <= stop.resume_ms <= chapter.end_ms <= end
