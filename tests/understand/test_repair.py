"""Mis-heard trade terms and counts are put right, and what makes sense is left alone."""

from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.lesson import Word
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.repair import Repaired, repair
from segmenter.understand.scripts import Counted, Said, read_script

CLASSES = Path(__file__).parents[1] / "evaluation" / "classes" / "tuned"
REAL = Path(__file__).parents[3] / "shared" / "data" / "real"


def words_of(text: str, probability: float | None = None) -> list[Word]:
    return [
        Word(text=word, start_ms=at * 400, end_ms=at * 400 + 350, probability=probability)
        for at, word in enumerate(text.split())
    ]


def repaired(text: str, probability: float | None = None) -> Repaired:
    return repair(words_of(text, probability), load_catalogue())


def reads(text: str, probability: float | None = None) -> str:
    return " ".join(word.text for word in repaired(text, probability).words)


# What a recogniser wrote for real recordings of such classes, beside what was said.
@pytest.mark.parametrize(
    ("heard", "said"),
    [
        (
            "and two three out two three bar five sets seven eight",
            "in two three out two three four five six seven eight",
        ),
        ("And 2, 3, out, 2, 3, 4, 5, 6.", "In 2, 3, out, 2, 3, 4, 5, 6."),
        ("two three bar five sets", "two three four five six"),
        ("one two three for five", "one two three four five"),
        ("Hold to three four five.", "Hold two three four five."),
        ("Do that for more times.", "Do that four more times."),
        ("Hold it for for seconds.", "Hold it for four seconds."),
        ("Do to sets of eight.", "Do two sets of eight."),
        ("Bring your right here down to your right shoulder.", "Bring your right ear down to your right shoulder."),
        ("Hold me here and do three more.", "Pause me here and do three more."),
        ("Free of them with me.", "Three of them with me."),
        ("And free goes of it.", "And three goes of it."),
        ("Do for more in your own time.", "Do four more in your own time."),
        ("A slow count on 4.", "A slow count of 4."),
        ("It's too in, and for out.", "It's two in, and four out."),
        ("Do free a leg.", "Do three a leg."),
        ("Down, free on each leg today.", "Down, three on each leg today."),
        ("10.5 seconds.", "10, 5 seconds."),
        ("At home it's 15-4 days in the week.", "At home it's 15, 4 days in the week."),
        ("For in, six out.", "Four in, six out."),
        ("For in, for out.", "Four in, four out."),
        ("And for 3, out for 5.", "In for 3, out for 5."),
        ("Sex more, free days a week.", "Six more, three days a week."),
        ("Three sets on 8.", "Three sets of 8."),
        ("Two or three times the day.", "Two or three times a day."),
        ("For for the left.", "Four for the left."),
        ("Four of these, quite a day.", "Four of these, twice a day."),
        ("Do ten everyday at home.", "Do ten every day at home."),
        ("Ate there and back.", "Eight there and back."),
        ("For more, eight seconds.", "Four more, eight seconds."),
        ("We want for and each one slow.", "We want four and each one slow."),
        ("Free is plenty for today.", "Three is plenty for today."),
        ("I want three lots on weight.", "I want three lots on eight."),
        ("And two, out four, and we go around again.", "In two, out four, and we go around again."),
        (
            "Let go, sex of those holding about five seconds each.",
            "Let go, six of those holding about five seconds each.",
        ),
        ("Do aid at home, twice a day.", "Do eight at home, twice a day."),
        ("Do wait at home twice a day.", "Do eight at home twice a day."),
        ("Two sets of tin at home.", "Two sets of ten at home."),
        ("At home I went 10, or eight.", "At home I want 10, or eight."),
        ("Home does. Five each side.", "Home dose. Five each side."),
        ("30 seconds aside at home.", "30 seconds a side at home."),
        ("The breath and takes four.", "The breath in takes four."),
        ("Breath into the nose for two.", "Breath in through the nose for two."),
        ("N, two, three, four, out, two, three, four.", "In, two, three, four, out, two, three, four."),
        ("Next is the effort for swallow.", "Next is the effortful swallow."),
        ("So we string them, puff, tuck, cut.", "So we string them, puh tuh kuh."),
        ("We did 10 he'll raises twice.", "We did 10 heel raises twice."),
        ("Now the effort will swallow.", "Now the effortful swallow."),
        ("This is the mesoco, everybody.", "This is the Masako, everybody."),
        ("Then the Mendosom again.", "Then the Mendelsohn again."),
        ("Now we come to gate queuing.", "Now we come to gait cueing."),
        ("Next is eyebrow rays.", "Next is eyebrow raise."),
        ("Back to step notes.", "Back to stepped notes."),
        ("It is grandiose cervical flexion.", "It is craniocervical flexion."),
    ],
)
def test_mishearings_of_real_classes(heard: str, said: str) -> None:
    assert reads(heard, 0.6 if "grandiose" in heard else None) == said


@pytest.mark.parametrize(
    "text",
    [
        "She swallowed hard and went on for more tea.",
        "Two or three for lunch, one to three of us.",
        "Wrinkle your toes, then turn your hand over.",
        "One, two, three, good, five, six.",
        "Count one two three and then five.",
        "From two to four in the afternoon.",
        "The massacre was in the news.",
        "We wait for times like these.",
        "Hold me to that, and do ring back.",
        "I was right here by the door.",
        "We set them free times without number.",
        "He put the book aside at home.",
        "For more on that, ask at the desk; what we want for lunch is soup.",
        "He came too in the end, and I put that out.",
        "Hold it for 2.5 seconds, then 5-10 times, 10.5 kilos.",
        "Five rounds, on six days of the week, two rounds on one side.",
        "It was quite a day, and that is quite a week.",
        "These are everyday words, for everyday talk.",
        "It will do for more than one, and we had to do more.",
        "Free parking today, and coffee is only free today.",
        "Three sets of weight training, and lots of weight.",
        "I went two miles, and I went home.",
        "Do that for each side of the road.",
        "What home does to you.",
        "Quick breath and through the door.",
        "We sit and sit and then one more cup of tea.",
        "Make a fist with your wrist bent.",
        "Hhh-always.",
        "We had two or three sets of those.",
        "Slide down, not up; forward, not backward.",
        "Hip adduction, and then hip abduction.",
        "There are three, to five, to nine of them.",
        "Thank you, Simran, that was lovely.",
        "An upward pitch glide and a downward pitch glide.",
    ],
)
def test_what_makes_sense_is_left_alone(text: str) -> None:
    assert reads(text) == text


def test_a_repaired_word_keeps_what_was_heard_why_and_when() -> None:
    after = repaired("Next is the effort for swallow, please.", 0.9)
    word = after.words[3]
    assert (word.text, word.heard, word.start_ms, word.end_ms) == ("effortful", "effort for", 1200, 1950)
    assert word.why == "“effort for swallow” is how “effortful swallow” is often heard"
    (check,) = after.checks
    assert (check.code, check.level, check.start_ms) == ("word-repaired", "note", 1200)
    assert "Heard “effort for”, reads “effortful”" in check.message


def test_one_word_may_become_several_that_share_its_time() -> None:
    after = repaired("Let us do tonguehold swallow now.")
    first, second = after.words[3:5]
    assert (first.text, second.text) == ("tongue", "hold")
    assert (first.start_ms, first.end_ms, second.end_ms) == (1200, 1375, 1550)


def on_a_beat(text: str) -> str:
    words = [
        Word(text=word, start_ms=at * 1000 + 20 * (at % 3), end_ms=at * 1000 + 300)
        for at, word in enumerate(text.split())
    ]
    return " ".join(word.text for word in repair(words, load_catalogue()).words)


@pytest.mark.parametrize(
    ("heard", "said"),
    [
        ("Squeeze. One. Tune. Three. Relax.", "Squeeze. One. Two. Three. Relax."),
        (
            "in, tune, out, two, three, four, in, tune, out, two, three, four",
            2 * "in, two, out, two, three, four, ",
        ),
        ("in, 2, 3, 4, old, 2, 3, 4, out, 2, 3, 4", "in, 2, 3, 4, hold, 2, 3, 4, out, 2, 3, 4"),
    ],
)
def test_words_on_a_beat_are_counted(heard: str, said: str) -> None:
    assert on_a_beat(heard) == said.rstrip(", ")


def test_words_off_the_beat_are_talk() -> None:
    assert reads("Take one. Chew. Three times is plenty.") == "Take one. Chew. Three times is plenty."


def test_an_unsure_word_may_be_further_off() -> None:
    assert reads("Now the nick pushes for your swallow.", 0.3) == "Now the neck pushes for your swallow."
    assert reads("Now the nick pushes for your swallow.", 0.95) == "Now the nick pushes for your swallow."


def test_names_are_only_suggested() -> None:
    after = repaired("And thank you, Meenakshi. Next to Minakshi sits Meenakshi again.")
    assert not after.changes
    assert [check.code for check in after.checks] == ["name-written-two-ways"]


def test_nothing_changes_in_a_class_as_it_was_written() -> None:
    for path in sorted(CLASSES.glob("*.txt"))[::4]:
        text: list[str] = []
        for item in read_script(path).items:
            if isinstance(item, Said):
                text.append(item.text)
            elif isinstance(item, Counted):
                text.extend(item.groups)
        assert [change.texts for change in repaired(" ".join(text)).changes] == [], path.name


@pytest.mark.skipif(not REAL.is_dir(), reason="the real recordings are not here")
def test_nothing_changes_in_real_readings_and_talk() -> None:
    # Hand transcripts of real speech (reading-*: Shakespeare's sonnets 1 and 2).
    for path in sorted(REAL.glob("*.txt")):
        assert not repaired(path.read_text(encoding="utf-8")).changes, path.name


WORDS = st.sampled_from(
    [
        "one",
        "two",
        "three",
        "four",
        "for",
        "to",
        "too",
        "ate",
        "5",
        "6",
        "and",
        "in",
        "out",
        "hold",
        "lip",
        "trill",
        "swallow",
        "effort",
        "wait",
        "weight",
        "mesoco",
        "Shaker,",
        "pause",
        "me",
        "here",
        "right",
        "ear",
        "shoulder.",
        "bar",
        "sets",
        "press",
        "purse",
        "breathing",
        "tandem",
        "stuns",
        "2-3-4",
        "neck-press",
    ]
)


@given(st.lists(WORDS, max_size=30), st.sampled_from([None, 0.2, 0.9]))
def test_any_words_keep_their_order_and_time(texts: list[str], probability: float | None) -> None:
    words = words_of(" ".join(texts), probability)
    after = repair(words, load_catalogue()).words
    assert all(a.end_ms <= b.start_ms for a, b in pairwise(after))
    assert all(word.end_ms > word.start_ms and word.text for word in after)
    if words:
        assert (after[0].start_ms, after[-1].end_ms) == (words[0].start_ms, words[-1].end_ms)
    heard = " ".join(word.text if word.heard is None else word.heard for word in after).split()
    assert heard == texts
