"""Cost and exactness of the follow-along film: ``python -m tests.evaluation.film [--alone] [--write]``.

Prints ratios of one run: what a film of 720 lines takes beside its own length, from a made class that grains and
moves more than a camera on a stand does; then what is on the screen and in the sound of made films.
"""

from __future__ import annotations

import argparse
import os
import re
import tempfile
import time
from pathlib import Path
from unittest import mock

import pyloudnorm

from segmenter.lesson import Ask, Chapter, Practice, Recording, Video, to_json
from segmenter.programs import run, url
from segmenter.publish.follow.film import Film, follow_along
from segmenter.publish.follow.plan import Insert
from segmenter.publish.follow.tones import TONE_S
from tests.evaluation.example import MEDIA, ROOT
from tests.evaluation.readme import put
from tests.lessons import bare
from tests.publish.follow.reading import SETTINGS, flash_and_click, folder_with, numbers_right, sound

CORES = 2
SECONDS = 40
SAMPLED = 20


def lively(folder: Path) -> Path:
    """A short class at 720 lines and 30 frames a second: everything moves, grain lies over all of it."""
    media = folder / "class.mp4"
    picture = f"testsrc2=s=1280x720:r=30:d={SECONDS},noise=alls=14:allf=t"
    inputs = ["-f", "lavfi", "-i", picture, "-f", "lavfi", "-i", f"sine=f=220:d={SECONDS}:r=48000,volume=0.5"]
    code = ["-c:v", "libx264", "-preset", "ultrafast", "-crf", "20", "-pix_fmt", "yuv420p", "-c:a", "aac"]
    run([*inputs, *code, "-y", url(media)], media)
    ask = Ask(where="home", start_ms=25_000, end_ms=26_000, reps=(3, 3), hold_s=(8, 8))
    return _lesson(folder, media, SECONDS, 32_000, ask, Video(width=1280, height=720, fps=30.0))


def of_example(folder: Path) -> Path:
    """Twenty seconds of the example, with a stop behind."""
    media = folder / "class.mp4"
    run(["-i", url(MEDIA), "-t", "20", "-c", "copy", "-y", url(media)], media)
    ask = Ask(where="home", start_ms=15_000, end_ms=16_000, reps=(2, 2), hold_s=(4, 4))
    return _lesson(folder, media, 20, 18_000, ask, Video(width=640, height=360, fps=12.0))


def _lesson(folder: Path, media: Path, seconds: int, at_ms: int, ask: Ask, video: Video) -> Path:
    stop = Practice(at_ms=at_ms, resume_ms=at_ms, asked=ask)
    chapter = Chapter(
        id="c1",
        title="Steady ah",
        kind="exercise",
        family="voice",
        start_ms=0,
        end_ms=seconds * 1000,
        practice=(stop,),
    )
    recording = Recording(path=media.name, sha256=None, seconds=float(seconds), video=video)
    lesson = bare((chapter,), seconds=float(seconds)).model_copy(update={"recording": recording})
    (folder / "lesson.json").write_text(to_json(lesson), encoding="utf-8")
    return folder


def cost(folder: Path) -> tuple[float, float, float]:
    """Time by the clock and of `CORES` processors beside the length of the film; encodings of each frame."""
    told: list[str] = []

    def watched(arguments: list[str], where: Path) -> object:
        told.extend(re.findall(r"trim=end_frame=(\d+)", " ".join(arguments)) if "libx264" in arguments else ())
        return run(arguments, where)

    with mock.patch("segmenter.publish.follow.encode.run", watched):
        before, began = os.times(), time.monotonic()
        film = follow_along(folder)
        took, after = time.monotonic() - began, os.times()
    worked = sum(after[:4]) - sum(before[:4])
    length = film.plan.map.duration_ms / 1000
    return took / length, worked / CORES / length, sum(map(int, told)) / film.plan.map.frames


def tone_and_speech(film: Film, speech_s: float) -> float:
    """Loudness of the first tone of a hold less that of what is said before, LU (ITU-R BS.1770)."""
    wave, rate = sound(film.path)
    meter = pyloudnorm.Meter(rate)
    at = film.plan.map
    practice = next(s for p, s in zip(film.plan.pieces, at.stretches, strict=True) if isinstance(p, Insert))
    start = round((at.ms(practice.at) / 1000 + 5) * rate)  # after five seconds to get ready
    tone = meter.integrated_loudness(wave[start : start + round(TONE_S * rate)])
    return float(tone - meter.integrated_loudness(wave[: round(speech_s * rate)]))


def main() -> None:
    """Make, measure, print."""
    parser = argparse.ArgumentParser(prog="python -m tests.evaluation.film", description=__doc__)
    parser.add_argument("--write", action="store_true", help="put the table into README.md")
    parser.add_argument("--alone", action="store_true", help="nothing else runs here: tell the clock's time, too")
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as name:
        places = [Path(name, each) for each in ("lively", "example")]
        for place in places:
            place.mkdir()
        clock, worked, coded = cost(lively(places[0]))
        made = follow_along(folder_with(Path(name, "exact"), rate="30000/1001", fps=30000 / 1001), SETTINGS)
        right, (flash, click) = numbers_right(made, SAMPLED), flash_and_click(made)
        over = tone_and_speech(follow_along(of_example(places[1])), 18.0)
    rows = [
        (f"a film of 720 lines takes, in processor time of {CORES} cores", f"{worked:.2f} × its length"),
        *([("the same by the clock", f"{clock:.2f} × its length")] if chosen.alone else []),
        ("encodings of each frame", f"{coded:.2f}"),
        ("right number on the screen, at sampled moments", f"{right} of {SAMPLED}"),
        ("flash and click near the end, apart", f"{abs(flash - click) * 1000:.0f} ms"),
        ("tone against the speech of the example", f"{over:+.1f} LU"),
    ]
    text = "\n".join(["| film | measured |", "| --- | --- |", *(f"| {what} | {result} |" for what, result in rows)])
    print(text)
    if chosen.write:
        put(ROOT / "README.md", "film", text)


if __name__ == "__main__":
    main()
