"""The text to paste under the upload: title, summary, times, what is needed, doses, cautions."""

from __future__ import annotations

import re

from segmenter.lesson import FAMILY_NAMES, Lesson
from segmenter.publish.chapters import FEWEST_LISTED, chapter_title, listed, one_line, plain_list
from segmenter.publish.rows import asked_text
from segmenter.publish.wording import DEFER, STOP_AND_REST, STOP_FOR_HELP
from segmenter.times import spoken_length

_THINGS = {
    "chair": "a chair",
    "water": "water",
    "straw": "a straw",
    "ball": "a ball",
    "towel": "a towel",
    "mirror": "a mirror",
    "cup": "a cup",
    "glass": "a glass",
    "spoon": "a spoon",
    "pillow": "a pillow",
    "cushion": "a cushion",
    "paper": "paper",
    "pen": "a pen",
    "pencil": "a pencil",
    "tissue": "a tissue",
    "timer": "a timer",
    "putty": "putty",
}
_WORD = re.compile(r"[^\W\d_]+")


def needed(lesson: Lesson) -> tuple[str, ...]:
    """Things to have at hand, in the order they are first named aloud; nothing is added."""
    found: dict[str, None] = {}
    for word in lesson.words:
        for piece in _WORD.findall(word.text.lower()):
            thing = _THINGS.get(piece) or _THINGS.get(piece.removesuffix("s"))
            if thing:
                found.setdefault(thing)
    return tuple(found)


def summary(lesson: Lesson) -> str:
    """Two sentences made from the lesson's own facts."""
    chapters = list(lesson.exercises())
    exercises = sum(chapter.kind == "exercise" for chapter in chapters)
    quizzes = len(chapters) - exercises
    parts = [
        f"{count} {name if count == 1 else many}"
        for count, name, many in ((exercises, "exercise", "exercises"), (quizzes, "quiz", "quizzes"))
        if count
    ]
    first = f"A class of {spoken_length(lesson.duration_ms)}"
    first += f" with {_and(parts)}." if parts else "."
    families = dict.fromkeys(FAMILY_NAMES[c.family].lower() for c in chapters if c.family)
    stops = sum(len(chapter.practice) for chapter in lesson.chapters)
    about = f"It covers {_and(list(families))}" if families else ""
    pauses = f"asks you to practise on your own {stops} time{'s' * (stops != 1)}" if stops else ""
    second = f"{about} and {pauses}" if about and pauses else about or (f"It {pauses}" if pauses else "")
    return f"{first} {second or 'Use the time list to find your place'}."


def upload_text(lesson: Lesson) -> str:
    """Return the whole text, UTF-8, in short blocks parted by empty lines."""
    blocks = [one_line(lesson.title) or "Exercise class", summary(lesson)]
    if len(listed(lesson)) >= FEWEST_LISTED:
        blocks.append("Times\n" + plain_list(lesson).rstrip("\n"))
    things = needed(lesson)
    if things:
        blocks.append("Named in the class, so have ready if you use it\n" + "\n".join(f"- {t}" for t in things))
    doses = [
        f"- {chapter_title(chapter)} ({place}): {dose}"
        for chapter in lesson.exercises()
        for place, dose in (("in class", asked_text(chapter, "class")), ("at home", asked_text(chapter, "home")))
        if dose
    ]
    if doses:
        blocks.append("What the speaker asked for\n" + "\n".join(doses))
    blocks.append("Take care\n" + "\n".join(f"- {line}" for line in _cautions(lesson)))
    blocks.append(DEFER)
    return "\n\n".join(blocks) + "\n"


def _cautions(lesson: Lesson) -> list[str]:
    every = [caution for chapter in lesson.chapters for caution in chapter.cautions]
    spoken = [one_line(c.text) for c in every if c.source == "spoken"]
    usual = [f"{one_line(c.text)} (usual advice, not said in class)" for c in every if c.source == "catalogue"]
    return list(dict.fromkeys([*spoken, *usual, STOP_AND_REST, STOP_FOR_HELP]))


def _and(parts: list[str]) -> str:
    return parts[0] if len(parts) == 1 else f"{', '.join(parts[:-1])} and {parts[-1]}"
