"""The copy in the folder plays as the original does, with chapters and captions another reader finds."""

import hashlib
from fractions import Fraction
from pathlib import Path

import av
import pytest

from segmenter.errors import FolderError, MediaError
from segmenter.lesson import Chapter, Lesson, MadeBy, Recording
from segmenter.programs import run, url
from segmenter.publish.video import embed
from tests.media_files import SOUND, VIDEO, make, silent_film, sound

TITLES = ("Warm-up = 5 × hold; “ah” #1 \\ end", "--> & <b>Pause here</b>", "Zeit für Ruhe 🌿")
STARTS = (0, 701, 1333)
SRT = "1\n00:00:00,250 --> 00:00:00,900\nBreathe in, 'slowly' & well\n\n2\n00:00:01,000 --> 00:00:01,800\nÄh\n"
SUFFIX = {".mp4": ".mp4", ".mov": ".mov", ".mkv": ".mkv", ".webm": ".webm"} | dict.fromkeys(SOUND, ".m4a")


def lesson(seconds: float = 2.0, language: str = "en", title: str = "Voice class") -> Lesson:
    ends = (*STARTS[1:], round(seconds * 1000))
    chapters = tuple(
        Chapter(id=f"c{n}", title=name, kind="exercise", start_ms=start, end_ms=end)
        for n, (name, start, end) in enumerate(zip(TITLES, STARTS, ends, strict=True))
    )
    return Lesson(
        title=title,
        language=language,
        recording=Recording(path=None, sha256=None, seconds=seconds),
        chapters=chapters,
        made_by=MadeBy(segmenter="0", speech_model=None),
    )


def packets(path: Path, kind: str) -> list[str]:
    """Return a digest of each coded packet of the picture or the sound."""
    with av.open(str(path)) as media:
        track = next(s for s in media.streams if s.type == kind)
        return [hashlib.sha256(bytes(packet)).hexdigest() for packet in media.demux(track) if packet.size]


@pytest.mark.parametrize("suffix", [*VIDEO, *SOUND])
def test_chapters_and_captions_read_back(suffix: str, tmp_path: Path) -> None:
    source = make(tmp_path / f"in{suffix}", 2)
    made = embed(source, lesson(), SRT, tmp_path, "class one's é")
    assert made == tmp_path / f"class one's é{SUFFIX[suffix]}"
    # PyAV reads with libavformat, as players do.
    with av.open(str(made)) as media:
        chapters = media.chapters()
        assert [chapter["metadata"]["title"] for chapter in chapters] == list(TITLES)
        for chapter, start in zip(chapters, STARTS, strict=True):
            assert abs(chapter["start"] * Fraction(chapter["time_base"] or 0) * 1000 - start) <= 1
        (track,) = media.streams.subtitles
        assert track.disposition & av.stream.Disposition.default
        assert track.metadata["language"] == "eng"
        assert media.metadata["title"] == "Voice class"
        assert abs((media.duration or 0) / av.time_base - 2) < 0.1
    # The captions come back with their words and times.
    back = tmp_path / "back.srt"
    run(["-i", url(made), "-map", "0:s:0", "-c:s", "srt", url(back)], made)
    text = back.read_text(encoding="utf-8")
    for piece in ("00:00:00,250 --> 00:00:00,900", "Breathe in, 'slowly' &", "00:00:01,000 --> 00:00:01,800", "Äh"):
        assert piece in text


@pytest.mark.parametrize("suffix", [*VIDEO, ".m4a", ".mp3"])
def test_streams_are_copied_bit_for_bit(suffix: str, tmp_path: Path) -> None:
    source = make(tmp_path / f"in{suffix}", 1.8)
    made = embed(source, lesson(1.8), SRT, tmp_path, "out")
    for kind in ("video", "audio") if suffix in VIDEO else ("audio",):
        before, after = packets(source, kind), packets(made, kind)
        assert before
        if suffix == ".mov":  # uncompressed sound is cut into packets at will
            continue
        assert after == before


def test_sound_that_cannot_be_in_m4a_becomes_aac(tmp_path: Path) -> None:
    made = embed(make(tmp_path / "in.flac", 2), lesson(), "", tmp_path, "out")
    with av.open(str(made)) as media:
        assert media.streams.audio[0].codec_context.name == "aac"
        assert not media.streams.subtitles


def test_the_index_comes_first(tmp_path: Path) -> None:
    # ISO/IEC 14496-12: moov before mdat lets a player start before all has been read.
    data = embed(make(tmp_path / "in.mp4", 2), lesson(), SRT, tmp_path, "out").read_bytes()
    assert 0 < data.index(b"moov") < data.index(b"mdat")


def test_an_original_of_the_same_name_is_kept(tmp_path: Path) -> None:
    source = make(tmp_path / "class.mp4", 2)
    before = source.read_bytes()
    made = embed(source, lesson(), SRT, tmp_path, "class")
    assert made.name == "class-lesson.mp4"
    assert source.read_bytes() == before
    assert embed(source, lesson(), SRT, tmp_path, "class") == made  # a second run takes its own place
    assert sorted(p.name for p in tmp_path.iterdir()) == ["class-lesson.mp4", "class.mp4"]


def test_place_and_names_are_left_behind(tmp_path: Path) -> None:
    plain = make(tmp_path / "plain.mp4", 2)
    source = tmp_path / "in.mp4"
    tags = ["-metadata", "location=+48.1-016.3/", "-metadata", "artist=A. N. Other", "-metadata", "comment=ward 3"]
    run(["-i", url(plain), *tags, "-c", "copy", url(source)], plain)
    assert b"A. N. Other" in source.read_bytes()
    data = embed(source, lesson(), SRT, tmp_path, "out").read_bytes()
    for secret in (b"+48.1", b"A. N. Other", b"ward 3"):
        assert secret not in data


def test_a_cover_picture_is_no_video(tmp_path: Path) -> None:
    plain = make(tmp_path / "plain.m4a", 2)
    source = tmp_path / "in.m4a"
    cover = ["-f", "lavfi", "-i", "color=s=32x32:d=1", "-map", "0:a", "-map", "1:v", "-frames:v", "1"]
    run(
        ["-i", url(plain), *cover, "-c:a", "copy", "-c:v", "mjpeg", "-disposition:v", "attached_pic", url(source)],
        plain,
    )
    made = embed(source, lesson(), SRT, tmp_path, "out")
    assert made.suffix == ".m4a"
    with av.open(str(made)) as media:
        assert not media.streams.video


@pytest.mark.parametrize("suffix", [".mp4", ".mkv"])
def test_a_phone_held_upright_stays_upright(suffix: str, tmp_path: Path) -> None:
    plain = make(tmp_path / f"plain{suffix}", 2)
    source = tmp_path / f"in{suffix}"
    run(["-display_rotation", "90", "-i", url(plain), "-c", "copy", url(source)], plain)
    turns = []
    for path in (source, embed(source, lesson(), SRT, tmp_path, "out")):
        with av.open(str(path)) as media:
            turns.append(next(media.decode(video=0)).rotation)
    assert turns[0] == turns[1] != 0


@pytest.mark.parametrize("suffix", [".mp4", ".mkv"])
def test_sound_that_starts_late_stays_late(suffix: str, tmp_path: Path) -> None:
    made = embed(make(tmp_path / f"in{suffix}", 3, late=1.0), lesson(3), SRT, tmp_path, "out")
    with av.open(str(made)) as media:
        first = next(media.decode(audio=0))
        assert first.time == pytest.approx(1.0, abs=0.05)


@pytest.mark.parametrize(("language", "mark"), [("de", "deu"), ("pt-BR", "por"), ("xx", "und")])
def test_language_marks(language: str, mark: str, tmp_path: Path) -> None:
    made = embed(make(tmp_path / "in.mkv", 2), lesson(language=language), SRT, tmp_path, "out")
    with av.open(str(made)) as media:
        assert media.streams.subtitles[0].metadata.get("language", "und") == mark


def test_many_chapters_all_come_back(tmp_path: Path) -> None:
    # The short list of MP4 (chpl) stops at 255; the chapter track holds them all.
    many = tuple(
        Chapter(id=f"c{n}", title=f"Part {n}", kind="talk", start_ms=n * 10, end_ms=n * 10 + 10) for n in range(300)
    )
    big = lesson(3).model_copy(update={"chapters": many})
    made = embed(sound(tmp_path / "in.m4a", "sine=d=3"), big, "", tmp_path, "out")
    with av.open(str(made)) as media:
        assert len(media.chapters()) == 300


def test_what_cannot_be_read_or_written(tmp_path: Path) -> None:
    with pytest.raises(MediaError, match="no such file"):
        embed(tmp_path / "none.mp4", lesson(), SRT, tmp_path, "out")
    source = make(tmp_path / "in.m4a", 2)
    with pytest.raises(FolderError):
        embed(source, lesson(), SRT, tmp_path / "none", "out")
    with pytest.raises(MediaError, match="no sound"):
        embed(silent_film(tmp_path / "film.mp4"), lesson(), SRT, tmp_path, "out")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["film.mp4", "in.m4a"]
