"""What a clinician reads about the sound: every fault with what to do, and the measured values."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from segmenter.hear import channels, media
from segmenter.hear.media import decode
from segmenter.lesson import Audio, Check
from segmenter.publish.checks import checks_html
from segmenter.publish.sound_report import ADVICE
from tests.lessons import lesson_of, rich_lesson
from tests.media_files import write_wav

CODE = re.compile(r"code(?:, message)? ?=\s?\"([a-z-]+)\"")
GOOD = Audio(rate=48_000, channels=2, loudness_lufs=-18.2, true_peak_dbtp=-3.0, snr_db=31.0)


def page(audio: Audio, *checks: Check) -> str:
    lesson = lesson_of((), seconds=5)
    recording = lesson.recording.model_copy(update={"audio": audio})
    return checks_html(lesson.model_copy(update={"recording": recording, "checks": checks}))


def test_good_sound_is_called_good() -> None:
    text = page(GOOD.model_copy(update={"wind_share": 0.0, "clipped_s": 0}))
    assert "The sound of this recording" in text
    assert "as they should be" in text
    for value in ("−18.2 LUFS", "−3.0 dBTP", "31.0 dB", "left and right"):
        assert value in text
    assert text.count("none</td>") == 2


def test_a_transcript_alone_has_no_sound() -> None:
    assert "The sound of this recording" not in checks_html(rich_lesson())


@pytest.mark.parametrize("code", ADVICE)
def test_every_fault_says_what_to_do(code: str) -> None:
    text = page(GOOD, Check(code=code, level="look", message="What <was> found."))
    section = text[text.index("The sound of this recording") :]
    assert "What &lt;was&gt; found." in section
    assert ADVICE[code][:20] in section.replace("&#39;", "'")
    assert "as they should be" not in section


def test_every_code_that_can_be_found_has_advice() -> None:
    found = {
        code
        for module in (media, channels)
        for code in re.findall(
            r'code(?:, message)? ?=\s?"([a-z-]+)"', Path(str(module.__file__)).read_text("utf-8")
        )
    }
    assert len(found) >= 10
    assert found == set(ADVICE)


def test_values_from_a_real_measure_reach_the_page(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    t = np.arange(16_000 * 6) / 16_000
    voice = 0.1 * np.sin(2 * np.pi * 200 * t) * (t % 1 < 0.5)
    rumble = np.convolve(rng.normal(0, 1, len(t)), np.ones(300) / 300, "same") * 0.6
    decoded = decode(write_wav(tmp_path / "a.wav", voice + rumble, 16_000), tmp_path / "a.raw")
    assert "wind" in {check.code for check in decoded.checks}
    assert decoded.audio.wind_share == 1.0
    assert "100% of the time" in page(decoded.audio, *decoded.checks)
