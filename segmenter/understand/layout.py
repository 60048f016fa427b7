"""Lay a scripted class out in time: what would be heard of it, and the truth beside it."""

from __future__ import annotations

import random
import re
import statistics
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from segmenter.heard import Heard, Sound, SoundKind, Speech
from segmenter.lesson import CountKind, Recording, Word
from segmenter.understand.scripts import Counted, Dose, Item, Made, Opens, Said, Script, Value, value_of

Span = tuple[int, int]
SILENCE_MS = 1_500
"""Silence from this length on is a sound event, as the listening stage has it."""
BEAT_WANDER = 0.03
"""How unevenly people count: standard deviation against the beat (common practice, no source)."""


@dataclass(frozen=True)
class TrueChapter:
    """A chapter as a careful listener sets it."""

    opens: Opens
    start_ms: int
    end_ms: int


@dataclass(frozen=True)
class TrueCount:
    """A counted run with the beat it really had."""

    kind: CountKind
    numbers: tuple[int, ...]
    start_ms: int
    end_ms: int
    beat_s: float


@dataclass(frozen=True)
class Truth:
    """What should be found in one recording; `asked` has chapter, where, field, value; `sentences` all talk."""

    talk_only: bool
    end_ms: int
    chapters: tuple[TrueChapter, ...]
    sentences: tuple[tuple[int, int, str], ...]
    asked: frozenset[tuple[int, str, str, Value]]
    stops: tuple[int, ...]
    quiz: tuple[tuple[Span, Span], ...]
    cautions: tuple[Span, ...]
    counts: tuple[TrueCount, ...]


def laid_out(script: Script) -> tuple[Heard, Truth]:
    """Return what a perfect ear would hear of a class, and the truth.

    Words take the time their length and the voice's pace give them; between sentences is a breath. The small
    unevenness of speech is drawn from the class's name, so every run gives the same times.
    """
    chance = random.Random(script.name)  # noqa: S311
    pace = float(script.head.get("pace", "2.8"))
    at, words, sounds = 400, list[Word](), list[Sound]()
    spans: list[tuple[int, ...]] = []
    for item in script.items:
        match item:
            case Opens():
                at += new_subject_ms(chance) if spans else 0
                spans.append((at, at))
            case Said():
                spoken = _spoken(item.text, at, pace, chance)
                words += spoken
                spans.append((spoken[0].start_ms, spoken[-1].end_ms))
                at = spoken[-1].end_ms + breath_ms(chance)
            case Made():
                at += 250
                end = at + round(item.seconds * 1000)
                if item.kind != "silence":
                    sounds.append(_sound(item, at, end))
                spans.append((at, end))
                at = end + 300
            case Counted():
                at += 200
                starts, run = _beaten(item, at, pace, chance)
                words += run
                spans.append((*starts, run[-1].end_ms))
                at = round(max(run[-1].end_ms + 300, starts[-1] + item.beat_s * 900))
    return heard_of(words, sounds, at + 500), truth_of(script, spans, at + 500)


def breath_ms(chance: random.Random) -> int:
    """Draw a pause between two sentences: most are short, some as long as those before a new subject."""
    return round(min(1_400.0, 1000 * chance.lognormvariate(-1.0, 0.5)))


def new_subject_ms(chance: random.Random) -> int:
    """Draw what a new subject adds to that pause.

    Speakers tend to pause longer there (Hirschberg and Nakatani 1996, from memory), but often do not.
    """
    return 0 if chance.random() < 0.3 else round(chance.uniform(150, 1_100))


def heard_of(words: Sequence[Word], sounds: Sequence[Sound], end_ms: int) -> Heard:
    """Put words and sounds together, with the silences and the stretches of speech between them."""
    busy = sorted([*(w.span for w in words), *(s.span for s in sounds)])
    edges = [0, *(edge for span in busy for edge in span), end_ms]
    quiet = [
        Sound(kind="silence", confidence=0.9, how="nothing is said", start_ms=start, end_ms=end)
        for start, end in zip(edges[::2], edges[1::2], strict=True)
        if end - start >= SILENCE_MS
    ]
    speech: list[Speech] = []
    for word in words:
        if speech and word.start_ms - speech[-1].end_ms < 300:
            speech[-1] = Speech(start_ms=speech[-1].start_ms, end_ms=word.end_ms)
        else:
            speech.append(Speech(start_ms=word.start_ms, end_ms=word.end_ms))
    return Heard(
        start_ms=0,
        end_ms=end_ms,
        recording=Recording(path=None, sha256=None, seconds=end_ms / 1000),
        language="en",
        speech_model=None,
        words=tuple(words),
        sounds=tuple(sorted([*sounds, *quiet], key=lambda sound: sound.start_ms)),
        speech=tuple(speech),
    )


def truth_of(script: Script, spans: Sequence[tuple[int, ...]], end_ms: int) -> Truth:
    """Return the truth of a class whose items lie at `spans` (of a count: start of each number, and the end)."""
    placed = list(zip(script.items, spans, strict=True))
    opened = [at for at, item in enumerate(script.items) if isinstance(item, Opens)]
    # A chapter starts with the first thing in it that can be heard.
    starts = [0, *(spans[at + 1][0] for at in opened[1:]), end_ms]
    chapters = tuple(
        TrueChapter(item, start, end)
        for item, (start, end) in zip(
            (i for i in script.items if isinstance(i, Opens)), pairwise(starts), strict=True
        )
    )
    said = [(item, span) for item, span in placed if isinstance(item, Said)]
    counted = [(item, span) for item, span in placed if isinstance(item, Counted)]
    return Truth(
        talk_only=script.talk_only,
        end_ms=end_ms,
        chapters=chapters,
        sentences=tuple(_sentences(placed)),
        asked=frozenset(_asked(script.items)),
        stops=tuple(span[1] for item, span in said if "stop" in item.marks),
        quiz=tuple(_quiz(said)),
        cautions=tuple((span[0], span[1]) for item, span in said if "caution" in item.marks),
        counts=tuple(
            TrueCount(item.kind, item.values, span[0], span[-1], _beat(span[:-1])) for item, span in counted
        ),
    )


def plain(text: str) -> str:
    """Return a sentence without the pauses written into it."""
    return re.sub(r"\s*\([\d.]+\)", "", text)


def _spoken(text: str, at: int, pace: float, chance: random.Random) -> list[Word]:
    words: list[Word] = []
    for token in text.split():
        pause = re.fullmatch(r"\(([\d.]+)\)", token)
        if pause:
            at += round(float(pause[1]) * 1000)
            continue
        letters = len(re.sub(r"\W", "", token))
        length = round((130 + 48 * letters) * 2.8 / pace * chance.uniform(0.9, 1.1))
        words.append(Word(text=token, start_ms=at, end_ms=at + length))
        breath = (
            (160, 320)
            if token.endswith((".", "?", "!", ":", "…"))
            else (90, 220)
            if token.endswith(",")
            else (0, 40)
        )
        at += length + round(chance.uniform(*breath))
    return words


def _beaten(item: Counted, at: int, pace: float, chance: random.Random) -> tuple[list[int], list[Word]]:
    starts: list[int] = []
    words: list[Word] = []
    for number, group in enumerate(item.groups):
        begin = at + round(1000 * item.beat_s * (number + chance.gauss(0, BEAT_WANDER)))
        begin = max(begin, words[-1].end_ms if words else at)
        tempo = max(pace, len(group.split()) / item.beat_s / 0.75)
        spoken = _spoken(group, begin, tempo, chance)
        starts.append(spoken[value_of(group)[1]].start_ms)
        words += spoken
    return starts, words


def _sound(item: Made, start: int, end: int) -> Sound:
    kind: SoundKind = next(k for k in ("hold", "hum", "hiss", "glide", "train") if k == item.kind)
    first, last = (*item.numbers, None, None)[:2]
    return Sound(
        kind=kind,
        confidence=0.9,
        how="written in the script",
        start_ms=start,
        end_ms=end,
        pitch_hz=first if kind in {"hold", "hum"} else None,
        pitch_spread_st=0.3 if kind in {"hold", "hum"} else None,
        glide_hz=(first, last) if kind == "glide" and first and last else None,
        rate_hz=first if kind == "train" else None,
        level_db=0.0,
    )


def _sentences(placed: Sequence[tuple[Item, tuple[int, ...]]]) -> list[tuple[int, int, str]]:
    return [
        (span[0], span[-1], plain(item.text) if isinstance(item, Said) else " ".join(item.groups))
        for item, span in placed
        if isinstance(item, Said | Counted)
    ]


def _asked(items: Sequence[Item]) -> list[tuple[int, str, str, Value]]:
    chapter = -1
    rows: list[tuple[int, str, str, Value]] = []
    for item in items:
        if isinstance(item, Opens):
            chapter += 1
        elif isinstance(item, Said):
            rows += [(chapter, _where(dose), name, value) for dose in item.doses for name, value in dose.fields]
    return rows


def _where(dose: Dose) -> str:
    # What is done while the recording stands still is done at home.
    return "class" if dose.where == "class" else "home"


def _quiz(said: Sequence[tuple[Said, tuple[int, ...]]]) -> list[tuple[Span, Span]]:
    rows: list[tuple[Span, Span]] = []
    clue: Span | None = None
    for item, span in said:
        if "clue" in item.marks:
            clue = (clue[0] if clue else span[0], span[1])
        elif "answer" in item.marks and clue:
            rows.append((clue, (span[0], span[1])))
            clue = None
    return rows


def _beat(starts: Sequence[int]) -> float:
    return statistics.median(b - a for a, b in pairwise(starts)) / 1000
