"""Speech to words with times: windows of talk, each recognised alone, checked that none was lost."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Protocol

from segmenter.hear import beats
from segmenter.hear.loops import plain, said_once, stuck, unsaid
from segmenter.hear.recogniser import Recognised, RecognisedWord, Recogniser, WhisperRecogniser
from segmenter.hear.samples import Samples, Signal
from segmenter.hear.windows import (
    LENGTH_MS,
    Window,
    alone,
    cut,
    muted,
    quietest_point,
    sound_of,
    talk_without,
)
from segmenter.hear.wordtimes import Level, in_order, parted, refined
from segmenter.heard import Sound, Speech
from segmenter.intervals import Interval, covered, length, merge, overlap, subtract
from segmenter.lesson import Check, Word
from segmenter.progress import Report, unheard
from segmenter.times import clock, ms_from_seconds

__all__ = ["Recognised", "RecognisedWord", "Recogniser", "Spoken", "WhisperRecogniser", "transcribe"]

SETTINGS = "2"  # part of every journal key: raise it when words of the same sound may change
_NEAR_MS = 500  # a word covers speech this far around it
_LOST_MS = 600  # shorter uncovered speech beside words is a breath or a cough
_SHORT_MS, _APART_MS = 200, 150  # a whole stretch this long ("And rest.") with no word this near may be lost too
_SURE_SPEECH, _SURE_WORD = 0.7, 0.4
_AROUND, _FAR_MS = 3, 700  # words on either side that may be the same ones, timed a little off
_SURE_LANGUAGE = 1.2  # summed probability after which windows are no longer asked for their language
_LEAST_PART_MS = 5_000
_STRAY_MS = 400  # a word timed into silence is often stretched; this is its usual length at most


class Journal(Protocol):
    """Keeps one finished window an entry, so that a stopped run goes on where it stood."""

    def get(self, key: str) -> str | None:
        """Return the entry, None when there is none."""

    def put(self, key: str, value: str) -> None:
        """Keep an entry."""


class NoJournal:
    """Keeps nothing."""

    def get(self, key: str) -> str | None:
        """Return None."""

    def put(self, key: str, value: str) -> None:
        """Forget the entry."""


@dataclass(frozen=True)
class Spoken:
    """The words of a recording, its language (BCP 47, "und" when nobody talks), and what to look at."""

    words: tuple[Word, ...]
    language: str
    checks: tuple[Check, ...]


def transcribe(
    samples: Samples,
    sounds: Sequence[Sound],
    speech: Sequence[Speech],
    recogniser: Recogniser,
    *,
    language: str | None,
    journal: Journal,
    report: Report = unheard,
) -> Spoken:
    """Return the words of a recording with their times.

    Parameters
    ----------
    samples : Samples
        The sound.
    sounds : sequence of Sound
        Effort sounds; held ones are silenced, as they drown the words around them.
    speech : sequence of Speech
        Where somebody talks. Each stretch ends in the words or in the checks.
    recogniser : Recogniser
        The engine.
    language : str or None
        Language of the class; None finds it out.
    journal : Journal
        Finished windows; those it knows are not recognised again.
    report : Report
        Told the share done and the words so far.
    """
    return _Transcription(samples, sounds, speech, recogniser, language, journal, report).run()


class _Transcription:
    def __init__(
        self,
        samples: Samples,
        sounds: Sequence[Sound],
        speech: Sequence[Speech],
        recogniser: Recogniser,
        language: str | None,
        journal: Journal,
        report: Report,
    ) -> None:
        self.samples = samples
        self.mutes = muted([(sound.kind, sound.span) for sound in sounds])
        self.speech = speech
        self.talk = talk_without([stretch.span for stretch in speech], self.mutes)
        self.recogniser = recogniser
        self.language = language
        self.journal = journal
        self.report = report
        self.languages: dict[str, float] = {}
        self.words: list[Word] = []
        self.checks: list[Check] = []

    def run(self) -> Spoken:
        windows = self._cut(self.talk)
        if len(windows) == 1 and not self.mutes and self.samples.duration_ms <= LENGTH_MS:
            windows = [Window(((0, self.samples.duration_ms),))]  # what needs no cutting is heard best as it is
        for i, window in enumerate(windows):
            self.words += self._heard(window)
            self.report(0.95 * (i + 1) / len(windows), f"{len(self.words)} words")
        self._count_again()
        self._recover()
        self._recover_short()
        words = tuple(in_order(sorted(self.words, key=lambda word: (word.start_ms, word.end_ms))))
        self.report(1.0, f"{len(words)} words")
        return Spoken(words, self.language or self._likeliest() or "und", tuple(self.checks))

    def _cut(self, talk: Sequence[Interval], most_ms: int = LENGTH_MS) -> list[Window]:
        duration, quietest = self.samples.duration_ms, partial(quietest_point, self.samples)
        return cut(talk, duration, quietest, most_ms=most_ms)

    def _heard(self, window: Window) -> list[Word]:
        found = self._recognise(window)
        if stuck([word.text for word in found.words]):
            return self._without_loops(window)
        if unsaid(found.words):
            return self._without_unsaid(window)
        return self._timed(found, window)

    def _recognise(self, window: Window, prompt: str | None = None) -> Recognised:
        signal = sound_of(self.samples, window, self.mutes)
        language = self.language or self._settled()
        key = _key(signal, self.recogniser.name, language, prompt)
        found = self._kept(key)
        if found is None:
            found = self.recogniser.recognise(signal, language, prompt)
            self.journal.put(key, found.to_json())
        if language is None:
            weight = found.language_probability * min(1.0, window.length_ms / 5000)
            self.languages[found.language] = self.languages.get(found.language, 0.0) + weight
        return found

    def _kept(self, key: str) -> Recognised | None:
        kept = self.journal.get(key)
        try:
            return None if kept is None else Recognised.from_json(kept)
        except ValueError:
            return None  # damaged: heard again

    def _likeliest(self) -> str | None:
        return max(self.languages, key=lambda tag: self.languages[tag]) if self.languages else None

    def _settled(self) -> str | None:
        tag = self._likeliest()
        return tag if tag is not None and self.languages[tag] >= _SURE_LANGUAGE else None

    def _timed(self, found: Recognised, window: Window) -> list[Word]:
        start, end = window.span
        level = Level.of(self.samples.read(start, end), start, self.mutes)
        words: list[Word] = []
        for one in _joined(found.words):
            text = one.text.strip()
            if not re.search(r"\w", text):
                continue
            first = min(window.start_in_recording(ms_from_seconds(max(0.0, one.start_s))), end)
            last = max(first, window.end_in_recording(ms_from_seconds(max(0.0, one.end_s))))
            if not level.runs(first, last):
                first, last = self._out_of_mutes(first, last)
            whole = Word(text=text, start_ms=first, end_ms=last, probability=min(1.0, max(0.0, one.probability)))
            words += parted(whole, level)
        return [self._beside_mutes(word) for word in refined(in_order(words), level)]

    def _out_of_mutes(self, start_ms: int, end_ms: int) -> Interval:
        """Bring a word that was timed into silenced sound, where nothing can be heard, to the talk beside it."""
        for mute in self.mutes:
            if overlap((start_ms, end_ms), mute) >= 0.8 * max(1, end_ms - start_ms):
                long = min(end_ms - start_ms, _STRAY_MS)
                if mute[1] - end_ms <= start_ms - mute[0]:
                    return mute[1], mute[1] + long
                return max(0, mute[0] - long), mute[0]
        return start_ms, end_ms

    def _beside_mutes(self, word: Word) -> Word:
        """The longer part of a word that is still laid over silenced sound, since nothing else sounds there."""
        start, end = max(subtract([word.span], self.mutes), key=length, default=word.span)
        return word.model_copy(update={"start_ms": start, "end_ms": end})

    def _without_loops(self, window: Window) -> list[Word]:
        """Words of a window in which the recogniser got stuck: each phrase recognised alone."""
        words: list[Word] = []
        for stretch in self._talk_in(window):
            small = alone(stretch, self.samples.duration_ms)
            found = self._recognise(small)
            again = self._timed(found, small)
            if stuck([word.text for word in found.words]):
                again = said_once(again)
                self._look("words-repeated", stretch, "The same words were heard over and over here")
            words += again
        return words

    def _without_unsaid(self, window: Window) -> list[Word]:
        """Words of a window in which more was written than said: heard in two parts, less what has no time."""
        words: list[Word] = []
        for part in self._cut(self._talk_in(window), max(_LEAST_PART_MS, int(0.6 * window.length_ms))):
            found = self._recognise(part)
            made_up = unsaid(found.words)
            said = tuple(word for word in found.words if word not in made_up)
            words += self._timed(replace(found, words=said), part)
        return words

    def _talk_in(self, window: Window) -> list[Interval]:
        shared = [(max(a, c), min(b, d)) for a, b in self.talk for c, d in window.pieces]
        return [(start, end) for start, end in shared if start < end]

    def _count_again(self) -> None:
        """Hear counts once more, primed, where another word stands in the place of a number."""
        if not (self.language or self._likeliest() or "").startswith("en"):
            return
        for passage in beats.passages(self.talk):
            heard = beats.said(self.words, passage)
            expected = beats.doubtful(heard)
            if not expected:
                continue
            primed: list[Word] = []
            for window in self._cut(passage):
                primed += self._timed(self._recognise(window, beats.PROMPT), window)
            right = beats.settled(heard, beats.said(primed, passage), expected)
            mended = {id(heard[at][0]): word for at, word in right.items()}
            self.words = [mended.get(id(word), word) for word in self.words]

    def _recover(self) -> None:
        """Recognise speech that no word covers once more, alone; what stays silent becomes a check."""
        for stretch in self._uncovered():
            window = alone(stretch, self.samples.duration_ms)
            again = [
                word
                for word in self._heard(window)
                if covered((word.start_ms, max(word.end_ms, word.start_ms + 1)), [stretch]) > 0.5
            ]
            self.words += again
            if not again or any(length(part) >= _LOST_MS for part in subtract([stretch], _reach(again))):
                self._look("speech-not-in-words", stretch, "Somebody seems to talk here, but no words were heard")

    def _recover_short(self) -> None:
        """Recognise short stretches that stand apart without a word once more; a likely word becomes a check."""
        reach = merge((word.start_ms - _APART_MS, word.end_ms + _APART_MS) for word in self.words)
        told = merge((check.start_ms or 0, check.end_ms or 0) for check in self.checks)
        untouched = set(subtract(self.talk, merge([*reach, *told])))
        short = [part for part in self.talk if part in untouched and length(part) >= _SHORT_MS]
        for window in self._cut(short):
            again = [word for word in self._heard(window) if (word.probability or 0.0) >= _SURE_WORD]
            for stretch in (part for part in short if covered(part, window.pieces) > 0.5):
                found = [word for word in again if overlap(word.span, stretch)]
                if self._said_beside(found, stretch):
                    continue
                self.words += found
                likely = max((s.confidence for s in self.speech if overlap(s.span, stretch)), default=0.0)
                if not found and likely >= _SURE_SPEECH:
                    self._look("speech-not-in-words", stretch, "A word seems to be said here, but none was heard")

    def _said_beside(self, found: Sequence[Word], stretch: Interval) -> bool:
        """Whether the words are those right before or after, which were timed a little off."""
        before = sorted((w for w in self.words if w.end_ms <= stretch[0]), key=lambda w: w.start_ms)[-_AROUND:]
        after = sorted((w for w in self.words if w.start_ms >= stretch[1]), key=lambda w: w.start_ms)[:_AROUND]
        near = [w for w in before if stretch[0] - w.end_ms < _FAR_MS] + [
            w for w in after if w.start_ms - stretch[1] < _FAR_MS
        ]
        return bool(found) and {plain(w.text) for w in found} <= {plain(w.text) for w in near}

    def _uncovered(self) -> list[Interval]:
        lost = subtract(self.talk, _reach(self.words))
        return [part for part in lost if length(part) >= _LOST_MS]

    def _look(self, code: str, span: Interval, message: str) -> None:
        text = f"{message} ({clock(span[0])} to {clock(span[1])})"
        self.checks.append(Check(code=code, level="look", message=text, start_ms=span[0], end_ms=span[1]))


def _reach(words: Sequence[Word]) -> list[Interval]:
    return merge((max(0, word.start_ms - _NEAR_MS), word.end_ms + _NEAR_MS) for word in words)


def _key(signal: Signal, name: str, language: str | None, prompt: str | None) -> str:
    digest = hashlib.sha256(signal.tobytes())
    digest.update("|".join(["", name, str(language), SETTINGS, *([prompt] if prompt else [])]).encode())
    return digest.hexdigest()


def _joined(words: Sequence[RecognisedWord]) -> list[RecognisedWord]:
    """Join what was written together: "follow" and "-up" are one word, "-3" belongs to the count before it."""
    whole: list[RecognisedWord] = []
    for word in words:
        if whole and word.text and not word.text[0].isspace():
            last = whole[-1]
            whole[-1] = RecognisedWord(
                last.text + word.text, last.start_s, word.end_s, min(last.probability, word.probability)
            )
        else:
            whole.append(word)
    return whole
