"""The text under the upload."""

from __future__ import annotations

from segmenter.lesson import Ask, Chapter, Passage, QuizItem
from segmenter.publish.upload_text import LONGEST, SHORT, needed, summary, upload_short, upload_text
from segmenter.publish.wording import DEFER, STOP_AND_REST, STOP_FOR_HELP
from tests.lessons import AWKWARD, bare, lesson_of, rich_lesson, spoken, titled


def test_only_things_said_aloud_are_needed() -> None:
    assert needed(rich_lesson()) == ("a chair", "water")
    assert needed(lesson_of(spoken("Armchairs and waterfalls are lovely", 0), kind="opening")) == ()


def test_pictures_riddles_and_next_week_need_nothing() -> None:
    def things(text: str) -> tuple[str, ...]:
        return needed(lesson_of(spoken(text, 0), kind="exercise"))

    assert things("Find a firm chair, and have a glass of water nearby.") == ("a chair", "a glass of water")
    assert things("Your ribs open like a glass jar and roll like a ball.") == ()
    assert things("Next week we will need a hand mirror.") == ()
    clue = Passage(text="It shows your face.", start_ms=0, end_ms=1_400)
    answer = Passage(text="A mirror.", start_ms=2_000, end_ms=2_700)
    quiz = (QuizItem(clue=clue, answer=answer),)
    words = (*spoken("It shows your face.", 0), *spoken("A mirror.", 2_000))
    assert needed(lesson_of(words, kind="exercise", quiz=quiz)) == ()


def test_the_summary_is_two_sentences_of_facts() -> None:
    assert summary(rich_lesson()) == (
        "A class of 1 minute 20 seconds with 1 exercise and 1 quiz. "
        "It covers voice and thinking, and asks you once to practise on your own."
    )


def test_the_text_holds_times_doses_and_cautions() -> None:
    text = upload_text(rich_lesson())
    assert text.startswith("Voice & breath\n")
    assert "Steady ah (in class): 5 times, hold 10 seconds" in text
    assert "- Stop if it hurts.\n" in text
    assert "- Rest when hoarse. (usual advice, not said in class)" in text
    assert DEFER in text
    assert "Times\n0:00 Hello\n0:10 Steady ah\n1:05 Capitals\n" in text


def test_a_number_said_for_the_stop_alone_is_listed_once() -> None:
    lesson = rich_lesson()
    assert (
        "on your own" not in upload_text(lesson).split("\n\n", 2)[2]
    )  # the stop asks for what the class asked for
    chapters = tuple(chapter.model_copy(update={"asked": ()}) for chapter in lesson.chapters)
    assert "- Steady ah (on your own): 5 times, hold 10 seconds\n" in upload_text(
        lesson.model_copy(update={"chapters": chapters})
    )


def test_a_lesson_without_anything_still_defers() -> None:
    text = upload_text(lesson_of((), seconds=30))
    assert DEFER in text
    assert "in class)" not in text


def test_the_short_version_keeps_what_protects_people() -> None:
    text = upload_short(rich_lesson())
    assert len(text) <= SHORT
    for line in (DEFER, STOP_AND_REST, STOP_FOR_HELP):
        assert line in text
    assert text.startswith("Voice & breath\n")


def test_a_long_block_takes_no_shorter_one_with_it() -> None:
    lesson = rich_lesson()
    every = upload_text(lesson, 100_000)
    doses = next(block for block in every.split("\n\n") if block.startswith("What the speaker asked for"))
    things = next(block for block in every.split("\n\n") if block.startswith("Named in the class"))
    assert len(things) < len(doses)
    usual = "- Rest when hoarse. (usual advice, not said in class)\n"
    text = upload_text(lesson, len(every) - len(usual) - len(doses))
    assert "usual advice" not in text
    assert things in text
    # What is said last goes first, but comes back where it fits in what a longer block left free.
    most = upload_text(lesson, len(every) - len(doses))
    assert doses not in most
    assert usual in most


def test_a_long_class_is_cut_by_whole_blocks() -> None:
    chapters = tuple(
        Chapter(
            id=str(n), title=f"Part {n} " + "slowly " * 8, kind="talk", start_ms=n * 20_000, end_ms=(n + 1) * 20_000
        )
        for n in range(120)
    )
    text = upload_text(bare(chapters, seconds=2_400))
    assert len(text) <= LONGEST
    assert DEFER in text
    assert "Times" not in text  # half a list would be worse than none


def test_titles_cannot_break_the_list() -> None:
    text = upload_text(titled(AWKWARD), limit=100_000)
    block = next(part for part in text.split("\n\n") if part.startswith("Times\n"))
    assert len(block.splitlines()) == len(AWKWARD) + 1


def test_what_was_asked_of_all_is_listed_after_the_exercises() -> None:
    lesson = rich_lesson()
    ask = Ask(where="home", start_ms=500, end_ms=900, per_day=(2, 2), days_per_week=(7, 7))
    opening = lesson.chapters[0].model_copy(update={"asked": (ask,)})
    told = upload_text(lesson.model_copy(update={"chapters": (opening, *lesson.chapters[1:])}))
    assert "- All of it (at home): 2 times a day, every day\n" in told
    assert "All of it" not in upload_text(lesson)
