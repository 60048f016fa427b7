"""Small WebVTT files and the cues that must survive of them.

The points are those of the public suite web-platform-tests (folder ``webvtt/parsing/file-parsing``, BSD 3-clause;
file names there stand beside each case); the texts are written anew from the rules of W3C WebVTT.
"""

from __future__ import annotations

from dataclasses import dataclass

CueTimes = tuple[int, int, str]


@dataclass(frozen=True)
class Case:
    """A file, the cues a browser gets from it, and the rules its author broke."""

    name: str
    text: str
    cues: tuple[CueTimes, ...]
    broken: tuple[str, ...] = ()


ONE = "00:01.000 --> 00:02.000\nhello"
GOT = ((1_000, 2_000, "hello"),)


def _bad(name: str, head: str) -> Case:
    return Case(name, f"{head}\n\n{ONE}\n", (), ("signature",))


CASES = (
    # signature-*
    Case("signature-no-newline", "WEBVTT", ()),
    Case("signature-space", f"WEBVTT a class\n\n{ONE}", GOT),
    Case("signature-tab", f"WEBVTT\ta class\n\n{ONE}", GOT),
    Case("signature-bom", f"\ufeffWEBVTT\n\n{ONE}", GOT),
    _bad("signature-lowercase", "webvtt"),
    _bad("signature-missing", ""),
    _bad("signature-garbage", "WEBVTTx"),
    _bad("signature-null", "WEBVTT\0"),
    _bad("signature-formfeed", "WEBVTT\f"),
    _bad("signature-two-boms", "\ufeff\ufeffWEBVTT"),
    _bad("signature-leading-space", " WEBVTT"),
    _bad("signature-websrt", "WEBSRT"),
    # header-*
    Case("header-lines", f"WEBVTT\nkind: captions\n\n{ONE}", GOT, ("header-lines",)),
    Case("header-timings", f"WEBVTT\n{ONE}", GOT, ("header-lines",)),
    # newlines, nulls, whitespace-chars
    Case("newlines-cr", f"WEBVTT\r\r{ONE}".replace("\n", "\r"), GOT),
    Case("newlines-crlf", f"WEBVTT\n\n{ONE}".replace("\n", "\r\n"), GOT),
    Case("nulls", "WEBVTT\n\n00:01.000 --> 00:02.000\na\0b", ((1_000, 2_000, "a\ufffdb"),)),
    Case("whitespace-tabs", "WEBVTT\n\n00:01.000\t-->\t00:02.000\thello\nhello", GOT, ("settings",)),
    # timings-*
    Case("timings-60-seconds", "WEBVTT\n\n00:01.000 --> 00:60.000\nlost", (), ("times",)),
    Case("timings-60-minutes", "WEBVTT\n\n00:60:01.000 --> 01:00:02.000\nlost", (), ("times",)),
    Case("timings-omitted-hours", f"WEBVTT\n\n00:{ONE[:9]} --> 00:00:02.000\nhello", GOT),
    Case("timings-many-hours", "WEBVTT\n\n100:00:00.000 --> 100:00:01.500\nx", ((360_000_000, 360_001_500, "x"),)),
    Case("timings-negative", "WEBVTT\n\n-00:01.000 --> 00:02.000\nlost", (), ("times",)),
    Case("timings-garbage", "WEBVTT\n\n00:01.000 x --> 00:02.000\nlost", (), ("times",)),
    Case("timings-comma", "WEBVTT\n\n00:01,000 --> 00:02,000\nlost", (), ("times",)),
    Case("timings-too-short", "WEBVTT\n\n00:01.00 --> 00:02.000\nlost\n\n0:01.000 --> 0:02.000\nlost", (),
         ("times", "times")),
    Case("timings-too-long", "WEBVTT\n\n00:01.0000 --> 00:02.000\nlost\n\n000:01.000 --> 00:02.000\nlost", (),
         ("times", "times")),
    Case("timings-one-digit-hours", "WEBVTT\n\n0:00:01.000 --> 0:00:02.000\nhello", GOT, ("times", "times")),
    Case("timings-eof", "WEBVTT\n\n00:01.000 -->", (), ("times",)),
    Case("timings-no-blanks", "WEBVTT\n\n00:01.000-->00:02.000\nhello", GOT, ("times",)),
    Case("timings-backwards", "WEBVTT\n\n00:02.000 --> 00:01.000\nhello", ((2_000, 1_000, "hello"),),
         ("times-end",)),
    # arrows, ids
    Case("arrows-in-id", "WEBVTT\n\n-->\n" + ONE, GOT, ("times", "arrow")),
    Case("arrows-in-text", f"WEBVTT\n\n{ONE}\n-->\nlost", GOT, ("arrow", "times")),
    Case("arrow-starts-next", f"WEBVTT\n\n{ONE}\n00:03.000 --> 00:04.000\nnext", (*GOT, (3_000, 4_000, "next")),
         ("arrow",)),
    Case("ids", f"WEBVTT\n\na\n{ONE}\n\n b \n{ONE}", GOT * 2),
    Case("ids-twice", f"WEBVTT\n\na\n{ONE}\n\na\n{ONE}", GOT * 2, ("cue-id",)),
    Case("ids-two-lines", f"WEBVTT\n\na\nb\n{ONE}", GOT, ("stray-text",)),
    # comment-in-cue-text, comments
    Case("comment", f"WEBVTT\n\nNOTE hello\n\nNOTE\nmany\nlines\n\n{ONE}", GOT),
    Case("comment-in-cue-text", f"WEBVTT\n\n{ONE}\nNOTE no comment", ((1_000, 2_000, "hello\nNOTE no comment"),)),
    Case("comment-with-arrow", f"WEBVTT\n\nNOTE\nso\n{ONE}", GOT, ("arrow",)),
    Case("empty-line-in-text", f"WEBVTT\n\n{ONE}\n\nlost", GOT, ("stray-text",)),
    Case("empty-text", "WEBVTT\n\n00:01.000 --> 00:02.000\n\n", ((1_000, 2_000, ""),), ("empty",)),
    # settings-*
    Case("settings", f"WEBVTT\n\n{ONE[:23]} line:-1 position:10%,line-left size:50% align:start\nhello", GOT),
    Case("settings-percent", f"WEBVTT\n\n{ONE[:23]} size:101%\nhello", GOT, ("settings",)),
    Case("settings-align", f"WEBVTT\n\n{ONE[:23]} align:middle\nhello", GOT, ("settings",)),
    Case("settings-vertical", f"WEBVTT\n\n{ONE[:23]} vertical:up\nhello", GOT, ("settings",)),
    Case("settings-twice", f"WEBVTT\n\n{ONE[:23]} size:5% size:6%\nhello", GOT, ("settings",)),
    # regions-*, stylesheets
    Case("style", f"WEBVTT\n\nSTYLE\n::cue {{ color: red }}\n\n{ONE}", GOT),
    Case("style-late", f"WEBVTT\n\n{ONE}\n\nSTYLE\n::cue {{ color: red }}", GOT, ("late-block",)),
    Case("region", f"WEBVTT\n\nREGION\nid:a width:40% lines:3\nscroll:up\n\n{ONE}", GOT),
    Case("region-no-id", f"WEBVTT\n\nREGION\nwidth:40%\n\n{ONE}", GOT, ("region",)),
    # cue text: tags, entities
    Case("entities", "WEBVTT\n\n00:01.000 --> 00:02.000\na &lt;b&gt; &amp; c --&gt; d",
         ((1_000, 2_000, "a <b> & c --> d"),)),
    Case("entities-raw", "WEBVTT\n\n00:01.000 --> 00:02.000\nR&D", ((1_000, 2_000, "R&D"),), ("character",)),
    Case("tag-raw", "WEBVTT\n\n00:01.000 --> 00:02.000\n5 < 6", ((1_000, 2_000, "5 "),), ("character",)),
    Case("tags", "WEBVTT\n\n00:01.000 --> 00:02.000\n<v Ann><i.loud>Hold</i> it", ((1_000, 2_000, "Hold it"),)),
    Case("tag-unclosed", "WEBVTT\n\n00:01.000 --> 00:02.000\n<b>hello", GOT, ("tag",)),
    Case("tag-unknown", "WEBVTT\n\n00:01.000 --> 00:02.000\n<blink>hello</blink>", GOT, ("tag", "tag")),
    Case("tag-crossed", "WEBVTT\n\n00:01.000 --> 00:02.000\n<b><i>hel</b></i>lo", GOT, ("tag", "tag")),
    Case("voice-nameless", "WEBVTT\n\n00:01.000 --> 00:02.000\n<v>hello</v>", GOT, ("tag",)),
    Case("timestamps", "WEBVTT\n\n00:01.000 --> 00:02.000\nhe<00:01.500>llo", GOT),
    Case("timestamps-outside", "WEBVTT\n\n00:01.000 --> 00:02.000\nhe<00:02.500>llo", GOT, ("inner-times",)),
    # order
    Case("order", f"WEBVTT\n\n00:03.000 --> 00:04.000\nlate\n\n{ONE}", ((3_000, 4_000, "late"), *GOT),
         ("times-order",)),
)  # fmt: skip
