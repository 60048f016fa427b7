"""Names that were taken out cannot be heard in the lesson's copy; everything else can."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from segmenter.copies import media_is_stale
from segmenter.edits.journal import Journal
from segmenter.edits.kinds import RemoveName, Undo
from segmenter.hear.media import probe, sha256_of
from segmenter.lesson import Recording, to_json
from segmenter.made import Made, read_made
from segmenter.publish.silence import name_spans
from segmenter.publish.streams import streams_of
from segmenter.publishing import read_draft, republish
from tests.lessons import lesson_of, spoken
from tests.media_files import make
from tests.publish.follow.reading import sound

WORDS = spoken("Well done everybody and well done Wilma keep going", 1_000, each_ms=500)
AT = (4_000, 4_450)
"""Where "Wilma" is said."""


def lesson_folder(root: Path, suffix: str) -> tuple[Path, Path]:
    """A class of six seconds with a steady tone for a voice, and its lesson folder."""
    recording = make(root / f"class{suffix}", 6.0)
    lesson = lesson_of(WORDS, seconds=6.0)
    facts = probe(recording)
    seen = Recording(path=recording.name, sha256=sha256_of(recording), seconds=6.0, video=facts.video)
    folder = root / "lesson"
    folder.mkdir()
    (folder / "draft.json").write_text(to_json(lesson.model_copy(update={"recording": seen})), encoding="utf-8")
    republish(folder, Made(recording=str(recording)))
    return folder, recording


def level(path: Path, start_ms: int, end_ms: int) -> float:
    """Level of a stretch in dB under full scale."""
    whole, rate = sound(path)
    if np.abs(whole).max() > 2:  # whole numbers of 16 bits, as in a mov
        whole /= 32_768
    part = whole[start_ms * rate // 1000 : end_ms * rate // 1000]
    return float(20 * np.log10(max(1e-9, np.sqrt(np.mean(part**2)))))


@pytest.mark.parametrize("suffix", [".mp4", ".mov", ".mkv", ".webm", ".mp3"])
def test_a_name_is_silent_in_the_copy_and_the_rest_is_not(suffix: str, tmp_path: Path) -> None:
    folder, recording = lesson_folder(tmp_path, suffix)
    copy = folder / read_made(folder).copies[0]
    before = streams_of(copy)
    loud = level(copy, 1_000, 3_500)
    assert level(copy, *AT) == pytest.approx(loud, abs=1)
    own = recording.read_bytes()

    Journal(folder).append(RemoveName(at_ms=AT[0], was="Wilma"))
    assert republish(folder).media_work
    assert level(copy, *AT) < loud - 50
    for start, end in ((1_000, 3_750), (4_700, 5_900)):
        assert level(copy, start, end) == pytest.approx(loud, abs=1)
    assert recording.read_bytes() == own, "a person's own file is never touched"
    after = streams_of(copy)
    assert [s.codec for s in after.video] == [s.codec for s in before.video]
    assert probe(copy).seconds == pytest.approx(probe(recording).seconds, abs=0.1)

    Journal(folder).append(Undo(edit=1))
    republish(folder)
    assert level(copy, *AT) == pytest.approx(loud, abs=1), "whoever takes it back hears it again"


def test_other_sound_tracks_go_since_nobody_listened_to_them(tmp_path: Path) -> None:
    folder, recording = lesson_folder(tmp_path, ".mkv")
    from segmenter.programs import run, url

    two = tmp_path / "two.mkv"
    run(["-i", url(recording), "-map", "0:v", "-map", "0:a", "-map", "0:a", "-c", "copy", "-y", url(two)], two)
    draft = read_draft(folder)
    seen = draft.recording.model_copy(update={"sha256": sha256_of(two)})
    (folder / "draft.json").write_text(to_json(draft.model_copy(update={"recording": seen})), encoding="utf-8")
    republish(folder, Made(recording=str(two)))
    copy = folder / read_made(folder).copies[0]
    assert len(streams_of(copy).audio) == 2
    Journal(folder).append(RemoveName(at_ms=AT[0], was="Wilma"))
    republish(folder)
    assert len(streams_of(folder / read_made(folder).copies[0]).audio) == 1


def test_where_the_copy_is_all_there_is_its_sound_is_set_aside(tmp_path: Path) -> None:
    folder, recording = lesson_folder(tmp_path, ".mp4")
    recording.unlink()
    copy = folder / read_made(folder).copies[0]
    loud = level(copy, 1_000, 3_500)
    Journal(folder).append(RemoveName(at_ms=AT[0], was="Wilma"))
    lesson = republish(folder).lesson
    assert level(copy, *AT) < loud - 50
    kept = Path(read_made(folder).recording or "")
    assert kept.parent == folder / ".work" / "source"
    assert level(kept, *AT) == pytest.approx(loud, abs=1)
    assert not media_is_stale(lesson, folder, read_made(folder))
    Journal(folder).append(Undo(edit=1))
    republish(folder)
    assert level(copy, *AT) == pytest.approx(loud, abs=1), "and what was set aside is heard again"


def test_silence_reaches_into_pauses_but_hardly_into_words() -> None:
    words = [*spoken("Hello", 1_000), *spoken("[name]", 1_330), *spoken("sit", 3_000)]
    lesson = lesson_of(words)
    ((start, end),) = name_spans(lesson)
    assert (start, end) == (1_330 - 40, 1_330 + 315 + 120)
    assert name_spans(lesson_of(spoken("No one is named here", 500))) == []
