"""Where viewers of the recording are asked to stop it and practise, and where they are welcomed back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from segmenter.lesson import Ask, Word
from segmenter.understand.dose import find_asks
from segmenter.understand.sentences import split_sentences

_FILM = (
    r"(?:the |this |your )?(?:video|recording|film|tape|picture|player|clip|playback|screen|class on your screen)"
)
_PAUSE = re.compile(
    rf"\b(?:pause|stop|halt|freeze|hold|park) (?:{_FILM}|me\b(?! from)|it (?:here|now|there))"
    r"|\b(?:put|leave|pop|set) (?:me|the (?:video|recording|film|tape)|this|it) on (?:pause|hold)\b"
    r"|\b(?:hit|press|push|tap|touch|use|find|reach for) (?:the |your )?(?:pause|stop)\b"
    r"|\b(?:press|hit|push|tap) (?:the |your |that )?button\b"
    rf"|\b(?:switch|turn) (?:me|{_FILM}) off (?:for|while|and|here|now)"
    r"|\b(?:pause|stop) (?:here|now|there)\b(?=.*\b(?:do|try|practi[sc]e|have a go|carry on|finish|take|work|repeat|more|own)\b)"
    r"|\b(?:is|here's|this is|at) (?:your|a good|the|a fine) (?:pause|moment to pause|place to (?:pause|stop)|point to (?:pause|stop)|time to pause)\b"
    r"|^(?:so |now |and |please |just |then )*pause(?: and|,| please|$)(?! for (?:thought|breath|a moment between))"
)
_NOT_A_PROMPT = re.compile(
    r"\b(?:pause for (?:thought|breath)|(?:small|little|short|tiny|natural|slight) pause|pause between|without (?:a )?paus\w+|"
    r"don't (?:pause|stop)|no need to (?:pause|stop)|stop (?:here |now )?if\b|when (?:you|we) (?:pause|stop)|hold me to)\b"
)
_RETURN = re.compile(
    r"\bwelcome back\b|\b(?:good|lovely|nice|great|glad|happy) to (?:have|see) you (?:back|again)\b|\b(?:we're|we are|you're|you are) back\b"
    r"|\bback (?:together|with me|in the room|again)\b|\bthanks for coming back\b|\bhow did (?:that|you|it) (?:go|get on)\b"
    r"|\b(?:hope|trust) (?:you|that|all|they|those)\b.*\b(?:managed|went|practi[sc]ed|behaved|did|got|finished)\b"
    r"|\bif you paused\b|\bhello again\b|\bhere we are again\b|\bpick up where we\b"
)


@dataclass(frozen=True)
class Prompt:
    """A request to stop the recording (with the dose asked for), or a welcome back."""

    start_ms: int
    end_ms: int
    kind: Literal["pause", "return"]
    ask: Ask | None
    text: str
    confidence: float

    @property
    def span(self) -> tuple[int, int]:
        """The interval ``(start_ms, end_ms)``."""
        return self.start_ms, self.end_ms


def find_prompts(words: Sequence[Word]) -> list[Prompt]:
    """Find where viewers are sent off to practise and where the class takes them up again.

    A welcome counts as a return only after a pause prompt; at the start of a class it greets.
    A pause's span covers all that is asked for, so that a player stops after the last word.

    Returns
    -------
    list of Prompt
        In order of time.
    """
    prompts: list[Prompt] = []
    sentences = split_sentences(words)
    open_pause = False
    for number, sentence in enumerate(sentences):
        text = " ".join(re.sub(r"[^\w\s',]", " ", sentence.text.lower().replace("’", "'")).split())
        if _PAUSE.search(text) and not _NOT_A_PROMPT.search(text):
            last = sentence
            for following in sentences[number + 1 : number + 3]:
                near = following.start_ms - last.end_ms <= 1_500
                lower = following.text.lower()
                if not near or _RETURN.search(lower) or _PAUSE.search(lower) or not _still_asks(lower):
                    break
                last = following
            asks = find_asks(words[sentence.first : last.last])
            ask = _practice_ask(asks)
            spoken = " ".join(s.text for s in sentences[number : sentences.index(last) + 1])
            prompts.append(Prompt(sentence.start_ms, last.end_ms, "pause", ask, spoken, 0.9 if ask else 0.75))
            open_pause = True
        elif open_pause and _RETURN.search(text):
            prompts.append(Prompt(sentence.start_ms, sentence.end_ms, "return", None, sentence.text, 0.9))
            open_pause = False
    return prompts


def _practice_ask(asks: Sequence[Ask]) -> Ask | None:
    # What is done while the recording stands still is done without the class.
    return asks[-1].model_copy(update={"where": "home"}) if asks else None


def _still_asks(lower: str) -> bool:
    return bool(
        re.search(r"^(?:and |then |do |try |take |finish |come |have )|\b(?:more|times|seconds|each side)\b", lower)
    )
