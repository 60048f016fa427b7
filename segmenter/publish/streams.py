"""Which container holds the streams of a recording as they are, and whether browsers play them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import av.stream

from segmenter.containers import is_known, open_recording
from segmenter.errors import MediaError

# What players of each container can be trusted with; ffmpeg itself would write more.
_IN_MP4 = {"h264", "hevc", "av1", "vp9", "mpeg4", "aac", "mp3", "ac3", "eac3", "alac", "opus"}
_IN_M4A = {"aac", "alac", "mp3", "ac3", "eac3"}
_IN_WEBM = {"vp8", "vp9", "av1", "vorbis", "opus"}
# Chromium, Firefox and Safari all play these (MDN, "Web video codec guide"; from memory). AV1 and HEVC need
# newer machines, so a copy is made of them.
_WEB_MP4 = {"h264", "aac", "mp3"}
_WEB_WEBM = {"vp8", "vp9", "vorbis", "opus"}
_PLAIN_PIXELS = {"yuv420p", "yuvj420p"}

SUFFIXES = (".mp4", ".mov", ".mkv", ".webm", ".m4a")
"""Of the copies of a recording that are put into lesson folders."""
_DECODERS = {"libdav1d": "av1", "libopus": "opus", "libvorbis": "vorbis", "mp3float": "mp3"}
"""Decoders whose name is not that of their codec."""
_HDR = {16, 18}
"""Transfer by PQ and HLG (ITU-T H.273, table 3)."""
STANDARD_RANGE = "zscale=t=linear:npl=100,tonemap=hable,zscale=p=bt709:t=bt709:m=bt709:r=tv,format=yuv420p"
"""High range to standard range: without it colours look washed out."""


@dataclass(frozen=True)
class Stream:
    """One stream: its number in the file, its codec, and what its tags say."""

    index: int
    codec: str
    language: str | None = None
    title: str | None = None
    pixels: str | None = None
    hdr: bool = False


@dataclass(frozen=True)
class Streams:
    """The streams of a recording; cover pictures are left out."""

    container: str
    video: tuple[Stream, ...]
    audio: tuple[Stream, ...]
    subtitles: tuple[Stream, ...]

    @property
    def codecs(self) -> set[str]:
        """Codecs of picture and sound."""
        return {stream.codec for stream in (*self.video, *self.audio)}


@dataclass(frozen=True)
class Form:
    """How a recording is wrapped: file suffix, ffmpeg's muxer, codecs, and caption codecs that are kept."""

    suffix: str
    muxer: str
    captions: str
    sound: str = "copy"
    picture: str = "copy"
    options: tuple[str, ...] = ()
    keeps: frozenset[str] = frozenset()


_MP4 = Form(".mp4", "mp4", "mov_text", keeps=frozenset({"mov_text"}))
_MOV = Form(".mov", "mov", "mov_text", keeps=frozenset({"mov_text"}))
_MKV = Form(".mkv", "matroska", "srt", keeps=frozenset({"subrip", "srt", "ass", "ssa", "webvtt"}))
_WEBM = Form(".webm", "webm", "webvtt", keeps=frozenset({"webvtt"}))
_AAC = ("-b:a", "160k")


def streams_of(source: Path) -> Streams:
    """Read what streams a recording has.

    Raises
    ------
    MediaError
        If it is no recording that can be read, or has no sound.
    """
    with open_recording(source) as media:
        if not media.streams.audio:
            raise MediaError("this recording has no sound", source, "Choose one with an audio track")
        cover = av.stream.Disposition.attached_pic
        return Streams(
            media.format.name,
            tuple(_stream(s) for s in media.streams.video if not s.disposition & cover and is_known(s)),
            tuple(_stream(s) for s in media.streams.audio),
            tuple(_stream(s) for s in media.streams.subtitles),
        )


def _stream(stream: av.stream.Stream) -> Stream:
    context = stream.codec_context
    name = context.name if context is not None else ""
    language = stream.metadata.get("language")
    return Stream(
        index=stream.index,
        codec=_DECODERS.get(name, name),
        language=None if language in {None, "", "und"} else language,
        title=stream.metadata.get("title"),
        pixels=getattr(context, "pix_fmt", None),
        hdr=getattr(context, "color_trc", 0) in _HDR,
    )


def form_for(source: Path, streams: Streams | None = None) -> Form:
    """Choose the container that holds the streams of `source` as they are.

    MP4 family stays MP4, or QuickTime when a codec is at home only there; WebM stays WebM;
    Matroska stays Matroska; sound alone becomes m4a, encoded anew only when it cannot be in one.

    Raises
    ------
    MediaError
        As `streams_of`, where its streams are not given.
    """
    streams = streams or streams_of(source)
    if "matroska" in streams.container:
        webm = source.suffix.lower() in {".webm", ".weba"} and streams.codecs <= _IN_WEBM
        return _WEBM if webm else _MKV
    if streams.video:
        if streams.codecs <= _IN_MP4:
            return _MP4
        # QuickTime files stay what they are; Matroska takes whatever else there is.
        return _MOV if "mov" in streams.container else _MKV
    if streams.codecs <= _IN_M4A:
        return Form(".m4a", "mp4", "mov_text", keeps=_MP4.keeps)
    return Form(".m4a", "mp4", "mov_text", sound="aac", options=_AAC, keeps=_MP4.keeps)


def web_form(source: Path, streams: Streams) -> Form | None:
    """Return how to make a copy that browsers play; None when the lesson's own file plays already."""
    own = form_for(source, streams)
    plain = all(s.pixels in _PLAIN_PIXELS and not s.hdr for s in streams.video)
    if plain and own.suffix in {".mp4", ".m4a"} and (own.sound == "aac" or streams.codecs <= _WEB_MP4):
        return None
    if plain and own.suffix == ".webm" and streams.codecs <= _WEB_WEBM:
        return None
    sound_plays = {s.codec for s in streams.audio} <= _WEB_MP4
    picture_plays = plain and {s.codec for s in streams.video} <= _WEB_MP4
    options: list[str] = [] if sound_plays else list(_AAC)
    if not picture_plays:
        options += ["-preset", "veryfast", "-crf", "21", "-profile:v", "high", "-pix_fmt", "yuv420p"]
        even = "scale=trunc(iw/2)*2:trunc(ih/2)*2"  # 4:2:0 needs even sides
        options += ["-vf", f"{STANDARD_RANGE},{even}" if any(s.hdr for s in streams.video) else even]
    return Form(
        "-web.mp4",
        "mp4",
        "mov_text",
        "copy" if sound_plays else "aac",
        "copy" if picture_plays else "libx264",
        tuple(options),
        _MP4.keeps,
    )
