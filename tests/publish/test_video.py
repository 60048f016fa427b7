"""The copy in the folder plays as the original does, with chapters and captions another reader finds."""

import hashlib
import json
import shutil
import subprocess
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import av
import pytest

from segmenter.errors import FolderError, MediaError
from segmenter.lesson import Chapter, Lesson, MadeBy, Recording
from segmenter.programs import run, url
from segmenter.publish.chapters import one_line
from segmenter.publish.video import embed, web_copy
from segmenter.times import ms_from_clock
from tests.lessons import AWKWARD
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


@pytest.mark.parametrize("suffix", [".mp4", ".mov", ".mkv", ".webm", ".m4a"])
def test_chapters_of_minutes_keep_start_and_end(suffix: str, tmp_path: Path) -> None:
    # ISO/IEC 14496-12, 8.6.1.2: a sample lasts 32 bits of its track's unit at most.
    long = lesson(180)
    spans = ((0, 61_000), (61_000, 100_500), (100_500, 180_000))
    chapters = tuple(
        c.model_copy(update={"start_ms": start, "end_ms": end})
        for c, (start, end) in zip(long.chapters, spans, strict=True)
    )
    source = make(tmp_path / f"in{suffix}", 180)
    made = embed(source, long.model_copy(update={"chapters": chapters}), SRT, tmp_path, "out")
    with av.open(str(made)) as media:
        read = [
            tuple(round(c[edge] * Fraction(c["time_base"] or 0) * 1000) for edge in ("start", "end"))
            for c in media.chapters()
        ]
    assert read == list(spans)


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


def test_quicktime_knows_languages_by_older_marks(tmp_path: Path) -> None:
    made = embed(make(tmp_path / "in.mov", 2), lesson(language="de"), SRT, tmp_path, "out")
    assert made.suffix == ".mov"  # uncompressed sound is at home there
    with av.open(str(made)) as media:
        assert [s.metadata.get("language") for s in (*media.streams.audio, *media.streams.subtitles)] == ["ger"] * 2


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


LONG = "Slow breath — " * 24
AWKWARD_TITLES = [one_line(title) for title in (*AWKWARD, LONG[:300], "a=b;c#d\\e", "שלום עולם 123")]


def _titled(seconds: float = 4.0) -> Lesson:
    step = round(seconds * 1000) // len(AWKWARD_TITLES)
    ends = [*(step * (n + 1) for n in range(len(AWKWARD_TITLES) - 1)), round(seconds * 1000)]
    chapters = tuple(
        Chapter(id=f"c{n}", title=name, kind="exercise", start_ms=step * n, end_ms=end)
        for n, (name, end) in enumerate(zip(AWKWARD_TITLES, ends, strict=True))
    )
    return lesson(seconds).model_copy(update={"chapters": chapters})


@pytest.mark.parametrize("suffix", [".mp4", ".mov", ".mkv", ".webm", ".m4a"])
def test_awkward_titles_come_back_whole(suffix: str, tmp_path: Path) -> None:
    made = embed(make(tmp_path / f"in{suffix}", 4), _titled(), SRT, tmp_path, "out")
    with av.open(str(made)) as media:
        assert [chapter["metadata"]["title"] for chapter in media.chapters()] == AWKWARD_TITLES


@pytest.mark.skipif(shutil.which("mkvmerge") is None, reason="mkvtoolnix is not installed (Debian: mkvtoolnix)")
@pytest.mark.parametrize("suffix", [".mp4", ".mkv", ".webm", ".m4a"])
def test_mkvtoolnix_finds_the_same(suffix: str, tmp_path: Path) -> None:
    """A reader that shares no code with ffmpeg: chapters by mkvextract, tracks by mkvmerge."""
    made = embed(make(tmp_path / f"in{suffix}", 4), _titled(), SRT, tmp_path, "out")
    tool = str(shutil.which("mkvmerge"))
    told = json.loads(subprocess.run([tool, "-J", made], capture_output=True, check=True).stdout)
    if suffix in {".mkv", ".webm"}:  # it does not read the text tracks of MP4
        (track,) = [t for t in told["tracks"] if t["type"] == "subtitles"]
        assert track["properties"]["language"] == "eng"
        assert track["properties"]["default_track"]
    source = made
    if suffix not in {".mkv", ".webm"}:
        source = tmp_path / "through.mkv"
        subprocess.run([tool, "-q", "-o", source, made], check=True)
    found = subprocess.run(
        [str(shutil.which("mkvextract")), source, "chapters", "-"], capture_output=True, check=True
    )
    tree = ElementTree.fromstring(found.stdout.decode("utf-8-sig"))  # noqa: S314 - made just above
    titles = [node.text for node in tree.iter("ChapterString")]
    starts = [node.text or "" for node in tree.iter("ChapterTimeStart")]
    for title, whole in zip(titles, AWKWARD_TITLES, strict=True):
        # It reads the short list of MP4, which holds 255 bytes a title; the text track holds it whole.
        long = suffix in {".mp4", ".m4a"} and len(whole.encode()) > 255
        assert title == whole or (long and whole.startswith((title or "?").rstrip("\ufffd")))
    wanted = [c.start_ms for c in _titled().chapters]
    assert [ms_from_clock(text[:12]) for text in starts] == wanted


def test_several_sound_tracks_keep_language_name_and_order(tmp_path: Path) -> None:
    source = tmp_path / "in.mkv"
    tones = ["-f", "lavfi", "-i", "sine=440:d=2", "-f", "lavfi", "-i", "sine=880:d=2"]
    tags = [
        "-metadata:s:a:0",
        "language=deu",
        "-metadata:s:a:1",
        "language=eng",
        "-metadata:s:a:1",
        "title=Described",
    ]
    picture = ["-f", "lavfi", "-i", "testsrc=s=64x48:r=10:d=2"]
    maps = ["-map", "0:v", "-map", "1:a", "-map", "2:a", "-disposition:a:0", "0", "-disposition:a:1", "default"]
    run([*picture, *tones, *maps, *tags, "-c:v", "libx264", "-c:a", "aac", "-y", url(source)], source)
    for name in ("in.mkv", "in.mp4"):
        path = tmp_path / name
        if path != source:
            run(["-i", url(source), "-map", "0", "-c", "copy", "-y", url(path)], source)
        with av.open(str(embed(path, lesson(), SRT, tmp_path, "out"))) as media:
            assert [s.metadata.get("language") for s in media.streams.audio] == ["deu", "eng"]
            default = av.stream.Disposition.default
            assert [bool(s.disposition & default) for s in media.streams.audio] == [False, True]
            if path.suffix == ".mkv":
                assert media.streams.audio[1].metadata["title"] == "Described"


def test_nobody_guesses_what_a_second_sound_track_speaks(tmp_path: Path) -> None:
    source = tmp_path / "in.mkv"
    run(["-f", "lavfi", "-i", "sine=440:d=2", "-map", "0", "-map", "0", "-c:a", "aac", url(source)], source)
    with av.open(str(embed(source, lesson(), SRT, tmp_path, "out"))) as media:
        assert [s.metadata.get("language", "und") for s in media.streams.audio] == ["eng", "und"]


def test_captions_in_other_languages_are_kept_and_old_ones_replaced(tmp_path: Path) -> None:
    plain = make(tmp_path / "plain.mkv", 2)
    old = tmp_path / "old.srt"
    old.write_text(SRT, encoding="utf-8")
    source = tmp_path / "in.mkv"
    tags = ["-metadata:s:s:0", "language=eng", "-metadata:s:s:1", "language=pol"]
    maps = ["-map", "0", "-map", "1", "-map", "1", "-c", "copy", *tags]
    run(["-i", url(plain), "-i", url(old), *maps, "-y", url(source)], source)
    with av.open(str(embed(source, lesson(), SRT, tmp_path, "out"))) as media:
        assert [s.metadata["language"] for s in media.streams.subtitles] == ["eng", "pol"]
        default = av.stream.Disposition.default
        assert [bool(s.disposition & default) for s in media.streams.subtitles] == [True, False]


def _bright(path: Path) -> Path:
    """Ten-bit HEVC in the wide colours of ITU-R BT.2100, as newer phones record."""
    colours = ["-vf", "setparams=color_primaries=bt2020:color_trc=arib-std-b67:colorspace=bt2020nc:range=tv"]
    hevc = ["-c:v", "libx265", "-x265-params", "log-level=none", "-pix_fmt", "yuv420p10le", "-tag:v", "hvc1"]
    picture = ["-f", "lavfi", "-i", "testsrc=s=96x64:r=10:d=1", "-f", "lavfi", "-i", "sine=440:d=1"]
    run([*picture, *hevc, *colours, "-c:a", "aac", "-y", url(path)], path)
    return path


@pytest.mark.parametrize("suffix", [".mp4", ".mov", ".mkv"])
def test_high_range_colours_survive(suffix: str, tmp_path: Path) -> None:
    made = embed(_bright(tmp_path / f"in{suffix}"), lesson(1.4), SRT, tmp_path, "out")
    with av.open(str(made)) as media:
        context = media.streams.video[0].codec_context
        # ITU-T H.273: 9 is BT.2020, 18 is HLG.
        assert (context.color_primaries, context.color_trc, context.colorspace) == (9, 18, 9)
        assert context.pix_fmt == "yuv420p10le"


@pytest.mark.parametrize("suffix", [".mp4", ".webm", ".m4a"])
def test_no_copy_for_browsers_where_they_play_it(suffix: str, tmp_path: Path) -> None:
    assert web_copy(make(tmp_path / f"in{suffix}", 1), lesson(1.4), SRT, tmp_path, "out") is None
    assert [p.name for p in tmp_path.iterdir()] == [f"in{suffix}"]


def test_only_what_browsers_cannot_play_is_encoded_anew(tmp_path: Path) -> None:
    source = make(tmp_path / "in.mov", 1)  # H.264 with uncompressed sound
    made = web_copy(source, lesson(1.4), SRT, tmp_path, "out")
    assert made == tmp_path / "out-web.mp4"
    assert packets(made, "video") == packets(source, "video")
    with av.open(str(made)) as media:
        assert media.streams.audio[0].codec_context.name == "aac"
        assert len(media.chapters()) == 3
        assert len(media.streams.subtitles) == 1


def test_high_range_becomes_plain_for_browsers_and_stands_upright(tmp_path: Path) -> None:
    plain = _bright(tmp_path / "plain.mp4")
    source = tmp_path / "in.mp4"
    run(["-display_rotation", "90", "-i", url(plain), "-c", "copy", url(source)], plain)
    made = web_copy(source, lesson(1.4), SRT, tmp_path, "out")
    assert made is not None
    with av.open(str(made)) as media:
        context = media.streams.video[0].codec_context
        assert (context.name, context.pix_fmt, context.color_trc) == ("h264", "yuv420p", 1)
        assert (context.width, context.height) == (64, 96)
        assert next(media.decode(video=0)).rotation == 0


def test_long_chapters_keep_their_times_in_a_film_of_any_rate(tmp_path: Path) -> None:
    # 25 pictures and 48,000 samples a second: the muxer's own choice of time scale lost chapters above 89 s.
    path = tmp_path / "in.mp4"
    picture = ["-f", "lavfi", "-i", "color=s=64x48:r=25:d=200", "-f", "lavfi", "-i", "sine=440:r=48000:d=200"]
    run([*picture, *VIDEO[".mp4"], "-preset", "ultrafast", "-pix_fmt", "yuv420p", "-y", url(path)], path)
    starts = (0, 10_000, 190_000)
    chapters = tuple(
        Chapter(id=f"c{n}", title=f"Part {n}", kind="exercise", start_ms=start, end_ms=end)
        for n, (start, end) in enumerate(zip(starts, (*starts[1:], 200_000), strict=True))
    )
    long = lesson(200.0).model_copy(update={"chapters": chapters})
    with av.open(str(embed(path, long, SRT, tmp_path, "out"))) as media:
        found = [round(chapter["start"] * float(chapter["time_base"] or 0) * 1000) for chapter in media.chapters()]
    assert found == list(starts)
