"""All that speaks for or against each reading of each sentence, gathered in one table."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

from segmenter.heard import Heard, Sound
from segmenter.intervals import overlap
from segmenter.lesson import Ask, CountRun, Family, Word
from segmenter.understand.catalogue import Catalogue
from segmenter.understand.counts import find_counts
from segmenter.understand.cues import Cue, cue_scores
from segmenter.understand.dose import read_doses
from segmenter.understand.dose_clauses import Utterance
from segmenter.understand.families import family_scores
from segmenter.understand.mentions import Mention, find_mentions
from segmenter.understand.prompts import Prompt, find_prompts
from segmenter.understand.sentences import Sentence, split_sentences

EFFORT = frozenset({"hold", "glide", "hum", "hiss", "train"})
"""Sounds that an exercise makes."""
THINK_MS = 2_000
"""A silence this long after a clue leaves time to think."""
SHORT_ANSWER = 9
"""Words that an answer seldom exceeds."""


@dataclass(frozen=True)
class Facts:
    """What was heard, read once: everything later steps look at."""

    words: tuple[Word, ...]
    sentences: list[Sentence]
    mentions: list[Mention]
    asks: Sequence[Ask]
    utterances: Sequence[Utterance]
    prompts: Sequence[Prompt]
    counts: list[CountRun]
    sounds: tuple[Sound, ...]
    end_ms: int


@dataclass
class Line:
    """One sentence with its evidence; `until_ms` is where the next one starts."""

    sentence: Sentence
    until_ms: int
    pause_before_ms: int
    cues: dict[Cue, float]
    families: dict[Family, float]
    named: dict[str, float] = field(default_factory=dict)
    efforts: int = 0
    counted: bool = False
    class_ask: bool = False
    home_ask: bool = False
    prompt: bool = False
    returned: bool = False
    waiting: bool = False
    answers: bool = False

    @property
    def activity(self) -> float:
        """How much the sentence belongs to doing an exercise, 0 to 2."""
        told = 0.5 * min(1.0, self.cues.get("how", 0.0)) + 0.2 * min(1.0, self.cues.get("why", 0.0))
        told += 0.3 * bool(self.cues.get("caution")) + 0.3 * min(1.0, self.cues.get("show", 0.0))
        done = 1.0 * (self.efforts > 0) + 1.0 * self.counted + 0.7 * (self.class_ask or self.home_ask)
        return min(2.0, told + done + 1.0 * (self.prompt or self.returned or self.waiting))


def gather(heard: Heard, catalogue: Catalogue) -> Facts:
    """Find sentences, mentions, asks, prompts and counts in what was heard.

    Only the presenter's words, and those of which the speaker is not known, are read: what a
    participant asks or remarks is no instruction.
    """
    words = tuple(word for word in heard.words if word.speaker != "other")
    doses = read_doses(words)
    return Facts(
        words=words,
        sentences=split_sentences(words),
        mentions=find_mentions(words, catalogue),
        asks=doses.asks,
        utterances=doses.utterances,
        prompts=find_prompts(words),
        counts=find_counts(words),
        sounds=heard.sounds,
        end_ms=heard.end_ms,
    )


def lines_of(facts: Facts) -> list[Line]:
    """Lay the facts beside the sentences they belong to."""
    lines: list[Line] = []
    for number, sentence in enumerate(facts.sentences):
        following = facts.sentences[number + 1] if number + 1 < len(facts.sentences) else None
        before = facts.sentences[number - 1].end_ms if number else 0
        lines.append(
            Line(
                sentence=sentence,
                until_ms=following.start_ms if following else facts.end_ms,
                pause_before_ms=max(0, sentence.start_ms - before),
                cues=cue_scores(sentence.text),
                families=family_scores(sentence.text),
            )
        )
    _add_names(lines, facts.mentions)
    _add_doing(lines, facts)
    _add_answers(lines)
    return lines


def _add_names(lines: Sequence[Line], mentions: Sequence[Mention]) -> None:
    for line in lines:
        for mention in mentions:
            if line.sentence.first <= mention.first < line.sentence.last:
                line.named[mention.exercise] = max(line.named.get(mention.exercise, 0.0), mention.strength)


def _add_doing(lines: Sequence[Line], facts: Facts) -> None:
    for line in lines:
        spoken = (line.sentence.start_ms, max(line.sentence.end_ms, line.sentence.start_ms + 1))
        around = (line.sentence.start_ms, line.until_ms)
        line.efforts = sum(sound.kind in EFFORT and _starts_in(sound.start_ms, around) for sound in facts.sounds)
        line.counted = any(len(run.numbers) >= 3 and overlap(run.span, spoken) for run in facts.counts)
        line.class_ask = any(ask.where == "class" and overlap(ask.span, spoken) for ask in facts.asks)
        line.home_ask = any(ask.where == "home" and overlap(ask.span, spoken) for ask in facts.asks)
        line.prompt = any(p.kind == "pause" and overlap((p.start_ms, p.end_ms), spoken) for p in facts.prompts)
        line.returned = any(p.kind == "return" and overlap((p.start_ms, p.end_ms), spoken) for p in facts.prompts)
    waiting = False
    for line in lines:
        waiting = (waiting and not line.returned) or line.prompt
        line.waiting = waiting


def _add_answers(lines: Sequence[Line]) -> None:
    for line in lines[1:]:
        short = line.sentence.last - line.sentence.first <= SHORT_ANSWER
        line.answers = short and line.pause_before_ms >= THINK_MS and bool(line.cues.get("answer"))


def _starts_in(ms: int, span: tuple[int, int]) -> bool:
    return span[0] <= ms < span[1]
