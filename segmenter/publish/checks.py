"""What a person should look at before the lesson goes out, as a page."""

from __future__ import annotations

from segmenter.lesson import Lesson
from segmenter.publish.sound_report import faults, measured
from segmenter.publish.templating import render_html
from segmenter.publish.wording import LEVELS


def checks_html(lesson: Lesson) -> str:
    """Return the checks by importance and time, each with a link to its moment, then a report on the sound."""
    groups = []
    for level, heading in LEVELS.items():
        checks = [check for check in lesson.checks if check.level == level]
        checks.sort(key=lambda check: -1 if check.start_ms is None else check.start_ms)
        if checks:
            groups.append({"heading": heading, "care": level == "stop", "checks": checks})
    audio = lesson.recording.audio
    sound = {"rows": measured(audio), "faults": faults(lesson)} if audio else None
    return render_html("checks.html.j2", lesson, "What to look at", groups=groups, sound=sound)
