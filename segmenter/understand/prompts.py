"""Where viewers of the recording are asked to stop it and practise, and where they are welcomed back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from segmenter.lesson import Ask, Word
from segmenter.understand.dose import NAMED, find_asks
from segmenter.understand.dose_clauses import utterances_in
from segmenter.understand.dose_verdicts import Weighed, within
from segmenter.understand.dose_words import BODY, DOING
from segmenter.understand.numbers import NUMBER_WORDS
from segmenter.understand.sentences import Sentence

NEAR_MS = 1_500
"""A sentence that follows a pause prompt this soon may still tell what to do meanwhile."""
JOINED_MS = 230
"""Unpunctuated words this near belong to one sentence."""
SOON_MS = 150_000
"""A welcome back later than this after a prompt greets somebody else."""
JUST_MS = 20_000
"""A weak sign of return ("on we go") counts only this soon after a prompt."""

_FILM = (
    r"(?:the |this |my |that )?(?:video|recording|film|tape|player|clip|playback|movie|dvd|class on your screen)"
)
_HERE = r"(?:here|now|there|at this point|right (?:here|now)|for (?:a|one|two|half)|while|and|until|on your|so|if you're at home|please|then|$|,)"
_MORE = (
    r"(?:do|doing|try|practi[sc]e|have (?:a|another) go|carry on|finish|work (?:on|through|at)|repeat|complete|as long as|"
    r"take (?:your|all the) time|on your own|join (?:us|me)|come back|more|the other side|until it feels|in your own time|"
    r"(?:press|hit|push) play|your (?:own )?(?:ten|five|set|sets|reps|turn))"
)
_AT_HOME = r"(?:at home|watching (?:this|the|along)|watching at home|on the recording|recording people|viewers?|those of you at home)"
_STRONG = re.compile(
    rf"\b(?:pause|stop|halt|freeze|park|leave|hold) {_FILM}\b(?! (?:call|measure))|\bfreeze (?:the |this )?(?:picture|screen|frame)\b"
    rf"|\b(?:pause|stop|freeze|halt|hold|pours|paws|pose) me\b ?(?={_HERE})|\b(?:pause|pours|paws) me\b"
    r"|\b(?:put|pop|leave|set|place|keep) (?:me|us|it|this|the (?:video|recording|film|tape|class|player)) on (?:pause|hold)\b"
    r"|\b(?:hit|press|push|tap|touch|use|find|reach for|click)(?: on)? (?:the |your |that )?(?:pause|stop|space ?bar)\b(?: button)?"
    rf"|\b(?:switch|turn) (?:me|{_FILM}) off (?:for|while|and|here|now|until)"
    r"|\blet (?:the (?:video|recording|film|tape)|me) wait\b|\bbefore (?:you press|pressing|you hit|hitting) play\b"
    r"|\b(?:pause|stopping|stop) (?:point|place)\b|\b(?:moment|place|point|time|spot|chance) (?:for you )?to (?:pause|stop (?:me|the))\b"
    r"|\bpause (?:the|this) (?:picture|screen)\b|\bpause,? practi[sc]e\b"
)
_WEAK = re.compile(
    rf"\b(?:pause|stop|halt|freeze) (?:it |this )?(?:here|now|there|at this point|right here)\b(?=.*\b{_MORE}\b)"
    rf"|\b(?:pause|stop|halt) it (?:here|now|there)\b"
    rf"|^(?:so |now |and |please |just |then |right |okay |everyone |,)*(?:pause|stop)(?: and|,|,? then) (?:please )?(?=.*\b{_MORE}\b)(?!.*\b(?:relax|breathe|let go|lower)\b)"
    rf"|\b{_AT_HOME}\b.*\b(?:pause|halt|stop (?:me|us|it|here|now|there|the|this)|stop$)\b|\b(?:pause|halt)\b.*\b{_AT_HOME}\b"
    rf"|\b(?:press|hit|push|tap) (?:the |your |that )?button\b(?! on the)(?=.*\b{_MORE}\b)"
    r"|\b(?:like|want|ask) (?:you|everyone|everybody)(?: at home)? to (?:pause|stop (?:me|here))(?=$| here| now|,| and)"
    r"|\b(?:press|tap|click|touch|hit) \w+(?: \w+)? to (?:pause|stop)\b"
    r"|\b(?:can|could|just|may|please|you) pause\b(?! (?:between|at|before|after|for|on|in|the (?:movement|swallow|breath)|each|briefly|and (?:feel|breathe|hold)))(?=$| here| now|,| and| while| if| please)"
)
_SHOWN = (
    r"(?:(?:the |this |my |that |your )?(?:video|recording|film|tape|player|clip|playback|movie|dvd|picture|screen|replay|programme|"
    r"show|machine|lesson|broadcast|teacher)|me|us|my voice)"
)
"""What a viewer can halt: the recording, or the person in it."""
_HALTS: tuple[tuple[float, str], ...] = (
    (2.0, rf"\b(?:paus|freez|suspend|halt|interrupt)(?:e|ing)? (?:\w+ )?(?:{_SHOWN}|it|this|here|now|there)\b"),
    (2.0, rf"\b(?:stop|stopping|unplug) (?:{_SHOWN})\b|\bpause on {_SHOWN}\b"),
    (1.0, r"\bstop it\b"),
    (
        2.0,
        r"\b(?:press|hit|push|tap|touch|click|finger|thumb)\b(?: \w+){0,3} (?:pause|stop|button|key|space ?bar|bar)\b",
    ),
    (
        2.0,
        rf"\b(?:put|pop|leave|set|keep|park|hold|place|let) {_SHOWN}(?: \w+){{0,2}} (?:on (?:hold|pause)|aside|frozen|waiting|wait|stand|standing|still)\b",
    ),
    (2.0, rf"\b(?:switch|turn|take|shut|click) (?:{_SHOWN}|it) off\b"),
    (2.0, rf"\b(?:{_SHOWN}|it|this) on (?:hold|pause|wait|freeze)\b"),
    (
        1.5,
        r"\b(?:the|that|your|a) pause(?: button| key| sign)?\b(?! (?:at|between|before|after|in|for|of))|\b(?:remote|space ?bar|mouse|two (?:little )?(?:bars|lines))\b",
    ),
    (1.5, r"\bstop (?:here|now|there|watching|playing|listening)\b"),
    (2.0, rf"\b(?:switch|turn|shut|click) off {_SHOWN}\b"),
    (1.5, rf"\b(?:rest|leave|park|hold|keep|let) {_SHOWN}(?: \w+)? (?:here|there)\b"),
    (1.5, r"\b(?:rest|park) (?:the|this) (?:video|recording|film|tape|replay)\b"),
    (1.0, r"^(?:\w+ ){0,2}(?:pause|halt|stop)\b"),
    (
        1.5,
        r"\b(?:leave|lose|park|silence|mute|shut|stick|knock|drop|hold|keep|pop|set|click|tap|press) (?:me|us)\b",
    ),
    (2.0, r"\b(?:video|recording|film|tape|screen|picture|player|telly) off\b"),
)
"""Ways to halt what is watched, with how much each tells."""
_PRACTISE = re.compile(
    r"\b(?:do|try|take|have|finish|perform|repeat|make|practi[sc]e|complete|give|get|find|go (?:through|over|and|walk)|float|let|work) "
    r"(?:\w+ ){0,4}?(?:\d+|one|two|three|four|five|six|seven|eight|nine|ten|twelve|fifteen|twenty|thirty|dozen|more|again|both|other|rest|same|"
    r"your (?:own|set|turn)|times|minute|second)\b|\b(?:come back|rejoin\w*|start (?:me|it|us) (?:up|again)|turn me back|set me going|press play|on your own|"
    r"your own time|in peace|until|till|while you|before you|without me|as long as|in your own)\b"
)
_VIEWERS = re.compile(
    rf"\b{_AT_HOME}\b|\b(?:in the house|by yoursel\w+|on your own|home people|following (?:on|along)|(?:you|those|them|ones) (?:\w+ )?(?:at|in|on|with) (?:\w+ ){{0,2}}"
    r"(?:home|house|telly|tv|tape|replay|video|recording|sheds?|own)|watching)\b"
)
_AWAY = re.compile(
    r"\b(?:i'll (?:wait|be here|stay here|sit here|see you)|i will wait|on your own|without me|by yoursel\w+|in your own (?:time|home)|carry on|over to you|"
    r"(?:when|until|till) you're (?:done|ready|back|finished)|and then (?:come|press|play)|start (?:me|it) (?:up )?again)\b"
)
_MOMENT = re.compile(
    r"\b(?:here|now|there|at this (?:point|stage|juncture)|for (?:a|one|two|half)|a minute|place|moment)\b"
)
ENOUGH = 2.5
"""From here on, what is said adds up to a request to stop the recording."""
_NOT_A_PROMPT = re.compile(
    r"\bpause for (?:thought|breath|effect|a (?:breath|sip|drink))\b|\bpause and (?:reflect|think|breathe|notice|feel|listen)\b|\b(?:small|little|short|tiny|natural|slight|brief|long|longer) pause\b|"
    r"\bpause (?:between|at the (?:top|bottom|end)|before|after each)\b|\bwithout (?:a )?paus\w+|\b(?:don't|do not|never|no need to|didn't|needn't) (?:pause|stop|press|hit)\b|"
    r"\bstop (?:here |now |it |straight away |right away )?(?:if|when|as soon as|the moment)\b|\b(?:stop|pause) me if\b|\bhold me (?:to|back|up)\b|"
    r"(?<!now's )(?<!is )\b(?:when|if|after|before|once|whenever|every time) (?:you|we|i|they) (?:pause|stop|press|hit|paused|stopped)\b|"
    r"\bat any (?:time|point|stage|moment)\b|\bany ?time (?:you|it)\b|\bwhenever (?:you|it)\b|\bas often as\b|\bfeel free to (?:pause|stop).*\bif\b|"
    r"\b(?:i'll|i will|i'm going to|i am going to|let me|shall i|i must|i should|we'll|we have to|can i|could i|i have to|i need to|i'd better) (?:just |now |also |quickly )?"
    r"(?:pause|stop|halt|freeze|switch|turn|press|hit)\b|\b(?:i'll|i will) (?:tell|ask|say|remind|let you know|invite)\b|\bwhen i say\b|"
    r"\bnext (?:week|month|time)\b|\bhad to (?:pause|stop)\b|\byour (?:camera|video)\b|\bpause (?:button|key) (?:is|was|lives)\b|(?<!might )(?<!would )(?<!you'd )(?<!may )\b(?:wants?|likes?|needs?|used|have) to (?:pause|stop)\b"
)  # fmt: skip
_RETURN = re.compile(
    r"\bwelcome back\b|\b(?:good|lovely|nice|great|glad|happy|pleased) to (?:have|see) (?:you|everyone|everybody) (?:back|again)\b|"
    r"\b(?:we're|we are|you're|you are|everyone's|everybody's|all) back\b(?! to (?:the|your) (?:middle|front|chair))|\bback (?:together|with (?:me|us)|in the room|again with)\b|"
    r"\bthanks? (?:you )?for coming back\b|\bwith us again\b|\bhow did (?:that|you|it|those|they) (?:go|get on|feel|do)\b|"
    r"\b(?:hope|trust|bet|imagine) (?:that )?(?:you|all|they|those|it)\b.*\b(?:managed?|went|practi[sc]ed|behaved|did|done|got|finished|paused|felt)\b|"
    r"\bif you paused\b|\bhello again\b|\bhere we are again\b|\bpick up where we\b|\bplay pressed\b|\bback in (?:your|their) (?:seats?|chairs?)\b"
)  # fmt: skip
_RETURN_WEAK = re.compile(
    r"^(?:so |and |now |right |okay |good |lovely |,)*(?:on we go|ready for the next|where were we|all done|finished|everybody done|everyone done|"
    r"well done|nice work|good work|did you (?:do|manage|get|finish)|let's carry on|let's go on|we carry on|we go on|done)\b"
)
_STILL = re.compile(
    r"^(?:and |then |so |just |now |please )*(?:do|try|take|finish|come back|have (?:a|another)|repeat|practi[sc]e|press|hit|keep going|carry on|"
    r"work|join|play|start me|switch me|turn me|i'll (?:wait|be here)|i will wait|we'll wait|as many|give yourself)\b|^(?:\w+ ){1,4}(?:more|times|seconds|each side)\b"
)  # fmt: skip


_OPENING = frozenset("right so now okay there we and ah oh good thank thanks you well hello i".split())  # noqa: SIM905


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


def find_prompts(words: Sequence[Word], weighed: Sequence[Weighed] = ()) -> list[Prompt]:
    """Find where viewers are sent off to practise and where the class takes them up again.

    A welcome counts as a return only after a pause prompt; at the start of a class it greets.
    A pause's span covers all that is asked for, so that a player stops after the last word.

    Parameters
    ----------
    words : sequence of Word
        The whole class in order.
    weighed : sequence of Weighed
        What the numbers among them measure, as the trained model has it.

    Returns
    -------
    list of Prompt
        In order of time.
    """
    prompts: list[Prompt] = []
    sentences = utterances_in(words)
    paused_ms: int | None = None
    taken = 0
    for number, sentence in enumerate(sentences):
        if number < taken:
            continue
        text = _text(sentence)
        following = sentences[number + 1] if number + 1 < len(sentences) else None
        sure = _pause(text, _text(following) if following is not None else "")
        if sure is not None:
            taken = _until(sentences, number)
            prompts.append(_prompt(words, sentences, number, taken, sure, weighed))
            paused_ms = prompts[-1].end_ms
        elif paused_ms is not None and (
            certain := _returns(text, sentence.start_ms - paused_ms)
            or _takes_up(text, sentence, number == taken, paused_ms)
        ):
            prompts.append(Prompt(sentence.start_ms, sentence.end_ms, "return", None, sentence.text, certain))
            paused_ms = None
    return prompts


def _text(sentence: Sentence) -> str:
    text = " ".join(re.sub(r"[^\w\s',]", " ", sentence.text.lower().replace("’", "'")).split()).rstrip(",")
    return re.sub(r"\b(?:paws|pores|pours)\b(?= (?:me|it|the|this|here|now|and|for))", "pause", text)


def _pause(text: str, following: str = "") -> float | None:
    """How surely a sentence asks to stop the recording; what follows may tell ("Pause. Six more.", "And we're back.")."""
    if _NOT_A_PROMPT.search(text):
        return None
    practise = re.search(rf"\b{_MORE}\b", text)
    if _STRONG.search(text):
        return 0.95 if practise else 0.85
    if _WEAK.search(text):
        return 0.7
    halts = max((worth for worth, pattern in _HALTS if re.search(pattern, text)), default=0.0)
    back = _is_back(following)
    goes_on = (
        not back
        and len(text.split()) <= 4
        and bool(_PRACTISE.search(following))
        and not text.endswith("stop there")
    )
    away = bool(_AWAY.search(text))
    rest = (
        1.5 * back
        + 1.0 * goes_on
        + 0.7 * away
        + 1.0 * bool(practise or _PRACTISE.search(text))
        + 0.7 * bool(_VIEWERS.search(text))
        + 0.5 * bool(_MOMENT.search(text))
    )
    away_only = back and away and bool(_PRACTISE.search(text))
    return 0.6 if (halts or away_only) and halts + rest >= ENOUGH else None


def _is_back(text: str) -> bool:
    """Whether the next sentence takes those up who were away."""
    short = len(text.split()) <= 7 and bool(re.search(r"\b(?:back|again|returned|rejoined)\b", text))
    return bool(_RETURN.search(text)) or (
        short and not set(text.split()) & (BODY - {"back", "hand", "hands"} | DOING)
    )


def _returns(text: str, since_ms: int) -> float | None:
    if since_ms <= SOON_MS and _RETURN.search(text):
        return 0.9
    return 0.6 if since_ms <= JUST_MS and _RETURN_WEAK.search(text) else None


def _takes_up(text: str, sentence: Sentence, is_next: bool, paused_ms: int) -> float | None:
    """A few words right after the silence ("Right.", "We proceed.") take the class up again."""
    words = text.replace(",", " ").split()
    short = len(words) <= 6 and words[:1] and words[0] in _OPENING
    quiet = sentence.start_ms - paused_ms >= NEAR_MS
    return 0.5 if is_next and short and quiet and not set(words) & (BODY | DOING) else None


def _until(sentences: Sequence[Sentence], number: int) -> int:
    """The sentence after the last one that still belongs to the request."""
    last = number
    for at in range(number + 1, min(number + 4, len(sentences))):
        text = _text(sentences[at])
        gap = sentences[at].start_ms - sentences[last].end_ms
        if (
            gap < JOINED_MS
            and not sentences[last].text.rstrip().endswith((".", "?", "!", "…"))
            and not _RETURN.search(text)
            and not (text.split()[:1] and text.split()[0] in _OPENING | {"yes"})
        ):
            last = at  # only a halt inside an unpunctuated sentence
            continue
        near = gap <= NEAR_MS
        still = _STILL.search(text) or _pause(text) or _is_last_word(sentences, at, text)
        first = text.split()[:1]
        more = (
            first
            and first[0] not in _OPENING
            and (_AWAY.search(text) or first[0] in NUMBER_WORDS | {"your", "another"})
        )
        if not near or _RETURN.search(text) or not (still or more):
            break
        last = at
    return last + 1


def _is_last_word(sentences: Sequence[Sentence], at: int, text: str) -> bool:
    """Whether a request goes on ("And give the fingers a shake.") up to the silence in which it is followed."""
    if text.split()[:1] not in (["and"], ["then"], ["or"]) or at + 1 == len(sentences):
        return False
    following = sentences[at + 1]
    return following.start_ms - sentences[at].end_ms > NEAR_MS or bool(_RETURN.search(_text(following)))


def _prompt(
    words: Sequence[Word],
    sentences: Sequence[Sentence],
    number: int,
    until: int,
    sure: float,
    weighed: Sequence[Weighed],
) -> Prompt:
    own = sentences[number:until]
    first, last = own[0].first, own[-1].last
    ask = practice_ask(find_asks(words[first:last], within(weighed, first, last), away=True))
    if ask is None and number and own[0].start_ms - sentences[number - 1].end_ms <= NEAR_MS:
        # "At home do six more. Pause me while you do them."
        earlier = sentences[number - 1]
        first, last = earlier.first, earlier.last
        asks = find_asks(words[first:last], within(weighed, first, last))
        ask = practice_ask([a for a in asks if a.where == "home"])
    text = " ".join(sentence.text for sentence in own)
    return Prompt(own[0].start_ms, max(s.end_ms for s in own), "pause", ask, text, sure)


def practice_ask(asks: Sequence[Ask]) -> Ask | None:
    """One dose of what is asked for; what is done while the recording stands still is done at home."""
    if not asks:
        return None
    kept: dict[str, object] = {"where": "home"}
    for ask in asks:
        for name in (*NAMED, "side", "effort"):
            if getattr(ask, name) is not None:
                kept.setdefault(name, getattr(ask, name))
    kept["end_ms"] = max(ask.end_ms for ask in asks)
    kept["said"] = " … ".join(ask.said for ask in asks if ask.said)
    return asks[0].model_copy(update=kept)
