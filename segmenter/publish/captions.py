"""Captions: spoken words and held sounds, set so that people can read them in time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from segmenter.intervals import subtract
from segmenter.lesson import Caption, CaptionKind, Check, Lesson
from segmenter.publish.chapters import vtt_text
from segmenter.publish.phrases import Token, best_cuts, break_cost, lines_of, tokens_of
from segmenter.times import clock, spoken_length, stamp

WORDS_A_MINUTE = 160
"""Reading speed for adult special-interest media (DCMP Captioning Key, presentation rate)."""
SHORTEST_MS = 1_330
"""About 40 frames (DCMP Captioning Key; from memory)."""
LONGEST_MS = 6_000
"""Longest time on screen (DCMP Captioning Key; from memory)."""
BLINK_MS = 1_000
"""A shorter gap between cues looks jerky (BBC Subtitle Guidelines; from memory)."""
PAUSE_MS = 1_500
"""A silence that a cue never reaches across, or it would show words long before they are spoken."""
MOST_WORDS = LONGEST_MS * WORDS_A_MINUTE // 60_000
OTHER = "(participant)"
FAST_RUN_GAP_MS = 30_000
"""Fast captions nearer than this share one check."""


@dataclass(frozen=True)
class _Cue:
    text: str
    kind: CaptionKind
    start_ms: int
    spoken_end_ms: int
    words: int

    @property
    def need_ms(self) -> int:
        return max(SHORTEST_MS, math.ceil(self.words * 60_000 / WORDS_A_MINUTE))


def compose(lesson: Lesson) -> tuple[tuple[Caption, ...], tuple[Check, ...]]:
    """Make captions from the words of a lesson and its held sounds.

    Returns
    -------
    captions : tuple of Caption
        In order, none overlapping; every spoken word is in exactly one.
    checks : tuple of Check
        Stretches where speech is faster than people read (``caption-fast``); nothing is cut there.
    """
    tokens = tokens_of(lesson.words)
    sounds = _sounds(lesson, tokens)
    tokens = _with_speakers(lesson, tokens)
    cues = sorted([*_spoken(lesson, tokens, sounds), *sounds], key=lambda cue: cue.start_ms)
    captions = _timed(cues, lesson.duration_ms)
    return captions, _fast(captions)


def vtt(lesson: Lesson) -> str:
    """Return the captions as WebVTT (W3C WebVTT, "File structure"); text is escaped."""
    blocks = ["WEBVTT"]
    for number, caption in enumerate(_writable(lesson), 1):
        times = f"{stamp(caption.start_ms)} --> {stamp(caption.end_ms)}"
        blocks.append(f"{number}\n{times}\n{vtt_text(_lines(caption))}")
    return "\n\n".join(blocks) + "\n"


def srt(lesson: Lesson) -> str:
    """Return the captions as SRT: counter, times with a comma, text, blank line (RFC 9559 family, codec text)."""
    blocks = []
    for number, caption in enumerate(_writable(lesson), 1):
        times = f"{stamp(caption.start_ms, ',')} --> {stamp(caption.end_ms, ',')}"
        # SRT has no escapes: an arrow in the text would read as a timing line.
        blocks.append(f"{number}\n{times}\n{_lines(caption).replace('-->', '→')}\n")
    return "\n".join(blocks)


def _writable(lesson: Lesson) -> list[Caption]:
    kept = [c for c in lesson.captions if c.end_ms > c.start_ms and _lines(c)]
    return sorted(kept, key=lambda c: (c.start_ms, c.end_ms))


def _lines(caption: Caption) -> str:
    # An empty line ends a cue (W3C WebVTT, "WebVTT cue block"); NUL is no text at all.
    lines = (" ".join(line.replace("\0", " ").split()) for line in caption.text.splitlines())
    return "\n".join(line for line in lines if line)


def _with_speakers(lesson: Lesson, tokens: Sequence[Token]) -> list[Token]:
    """Put a label before the words of somebody other than the presenter.

    A speaker who is not known is described in parentheses (DCMP Captioning Key, speaker identification).
    """
    starts = set(_turns(lesson, "other"))
    marked: list[Token] = []
    for token in tokens:
        if token.start_ms in starts:
            starts.discard(token.start_ms)
            marked.append(Token(OTHER, token.start_ms, token.start_ms))
        marked.append(token)
    return marked


def _turns(lesson: Lesson, of: str | None = None) -> list[int]:
    """Where words change between the presenter's and others'; `of` keeps only changes to these."""
    words = sorted(lesson.words, key=lambda w: (w.start_ms, w.end_ms))
    before: list[str] = ["presenter", *(word.speaker or "presenter" for word in words)]
    changes = zip(words, before, strict=False)
    return [w.start_ms for w, last in changes if (w.speaker or "presenter") != last and of in {None, w.speaker}]


def _sounds(lesson: Lesson, tokens: Sequence[Token]) -> list[_Cue]:
    """Cues for holds; a counted hold is heard in its numbers and needs none.

    In square brackets, lower case (DCMP Captioning Key, sound effects).
    """
    spoken = [(token.start_ms, token.end_ms) for token in tokens]
    cues: list[_Cue] = []
    for chapter in lesson.chapters:
        for hold in sorted(chapter.shown.holds, key=lambda h: h.start_ms):
            free = [s for s in subtract([hold.span], spoken) if s[1] - s[0] >= SHORTEST_MS]
            if hold.how == "counted" or not free or (cues and free[0][0] < cues[-1].spoken_end_ms):
                continue
            name = "silence" if hold.how == "silent" else "long held sound"
            text = f"[{name}, {spoken_length(round(hold.seconds * 1000))}]"
            start, end = free[0]
            cues.append(_Cue(text, "sound", start, min(end, start + LONGEST_MS), len(text.split())))
    return cues


def _spoken(lesson: Lesson, tokens: Sequence[Token], sounds: Sequence[_Cue]) -> list[_Cue]:
    starts = {c.start_ms for c in lesson.chapters} | {p.resume_ms for c in lesson.chapters for p in c.practice}
    # A cue never runs on into an answer: it would give the answer away (DCMP speaker identification; BBC 4.2.4).
    starts |= {item.answer.start_ms for c in lesson.chapters for item in c.quiz if item.answer}
    starts |= set(_turns(lesson))
    walls = sorted(starts | {cue.start_ms for cue in sounds})
    counted = [run.span for c in lesson.chapters for run in c.shown.counts]
    cues: list[_Cue] = []
    first = 0
    for at in range(1, len(tokens) + 1):
        if at < len(tokens) and not _parted(tokens[at - 1], tokens[at], walls):
            continue
        until = tokens[at].start_ms if at < len(tokens) else max(lesson.duration_ms, tokens[-1].end_ms)
        until = min([until, *(cue.start_ms for cue in sounds if cue.start_ms >= tokens[at - 1].end_ms)])
        cues += _cut(tokens[first:at], until, counted)
        first = at
    return cues


def _middle(token: Token) -> int:
    return (token.start_ms + token.end_ms) // 2


def _parted(one: Token, other: Token, walls: Sequence[int]) -> bool:
    if other.start_ms - one.end_ms >= PAUSE_MS:
        return True
    return any(_middle(one) < wall <= _middle(other) for wall in walls)


def _cut(run: Sequence[Token], until: int, counted: Sequence[tuple[int, int]]) -> list[_Cue]:
    in_count = [any(s <= _middle(t) < e for s, e in counted) for t in run]

    def cost(first: int, last: int) -> float:
        part = run[first:last]
        if len(part) > 1 and (lines_of(part) is None or part[-1].end_ms - part[0].start_ms > LONGEST_MS):
            return math.inf
        following = run[last].start_ms if last < len(run) else until
        there = following - part[0].start_ms
        need = max(SHORTEST_MS, len(part) * 60_000 / WORDS_A_MINUTE)
        total = 5.0 + max(0.0, need - there) / 60
        # Two sentences do not share a cue unless both are short (DCMP).
        total += sum(4.0 for token in part[:-1] if token.ends_sentence)
        if last < len(run):
            total += break_cost(part[-1], run[last].start_ms - part[-1].end_ms)
        numbers = sum(in_count[first:last])
        if numbers > 1:
            # Numbers keep in step with the voice: as few in a cue as can still be read.
            total += 16.0 * (numbers - 1)
        return total

    cues = []
    for first, last in best_cuts(len(run), cost, MOST_WORDS):
        part = run[first:last]
        text = "\n".join(lines_of(part) or (" ".join(t.text for t in part),))
        cues.append(_Cue(text, "speech", part[0].start_ms, max(t.end_ms for t in part), len(part)))
    return cues


def _timed(cues: Sequence[_Cue], duration_ms: int) -> tuple[Caption, ...]:
    starts = _starts(cues)
    captions = []
    for at, cue in enumerate(cues):
        start = starts[at]
        following = starts[at + 1] if at + 1 < len(cues) else max(duration_ms, cue.spoken_end_ms, start + 1)
        wanted = max(cue.spoken_end_ms, start + (cue.need_ms if cue.kind == "speech" else 0))
        end = min(wanted, start + LONGEST_MS, following)
        if 0 < following - end < BLINK_MS and at + 1 < len(cues):
            # No gap, or a real one (BBC 4.5).
            end = following if following - start <= LONGEST_MS else max(end, start + 1)
        captions.append(Caption(start_ms=start, end_ms=max(end, start + 1), text=cue.text, kind=cue.kind))
    return tuple(captions)


def _starts(cues: Sequence[_Cue]) -> list[int]:
    starts: list[int] = []
    for at, cue in enumerate(cues):
        start = cue.start_ms
        if at and cue.kind == "sound" and cues[at - 1].kind == "speech":
            # A sound lasts: its caption can wait until the words before it are read.
            latest = max(cue.start_ms, cue.spoken_end_ms - SHORTEST_MS)
            start = max(start, min(latest, starts[-1] + cues[at - 1].need_ms))
        if starts:
            start = max(start, starts[-1] + 1)
        starts.append(start)
    return starts


def _fast(captions: Sequence[Caption]) -> tuple[Check, ...]:
    fast = [
        (caption, rate)
        for caption in captions
        if caption.kind == "speech"
        and (rate := len(caption.text.split()) * 60_000 / (caption.end_ms - caption.start_ms)) > WORDS_A_MINUTE
    ]
    runs = [[fast[0]]] if fast else []
    for (one, _), other in pairwise(fast):
        if other[0].start_ms - one.end_ms > FAST_RUN_GAP_MS:
            runs.append([])
        runs[-1].append(other)
    return tuple(
        Check(
            code="caption-fast",
            level="note",
            start_ms=run[0][0].start_ms,
            end_ms=run[-1][0].end_ms,
            message=(
                f"From {clock(run[0][0].start_ms)} to {clock(run[-1][0].end_ms)} speech is faster than many people "
                f"read: {len(run)} caption{'s' * (len(run) != 1)} above {WORDS_A_MINUTE} words a minute. "
                "No word was left out."
            ),
        )
        for run in runs
    )
