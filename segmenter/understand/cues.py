"""Ways of speaking that tell what a sentence is for, whatever the exercise.

Each cue is a pattern over lower-case words with a weight. None decides alone: the
timeline adds them up over a whole stretch and weighs them against the sound.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import Literal

Cue = Literal[
    "turn", "opening", "closing", "news", "quiz", "answer", "why", "how", "show", "rest", "caution", "story"
]

_BODY = (
    "tongue|lips?|cheeks?|jaw|chin|neck|throat|shoulders?|head|mouth|face|eyes?|brows?|eyebrows?|nose|teeth|voice|"
    "breath|air|tummy|belly|ribs|chest|arms?|elbows?|wrists?|hands?|fingers?|thumbs?|fist|legs?|knees?|feet|foot|"
    "heels?|toes?|hips?|back|bottom|palms?|ball|straw|chair|towel|band|mirror"
)
_HURT = (
    "hurts?|painful|pains?|sore|dizzy|giddy|light-?headed|faint|woozy|queasy|scratchy|hoarse|strain|choke|choking|cough|"
    "coughing|wet voice|sounds? wet|gurgly|numb|tingl\\w+|unsteady|wobbly|breathless|short of breath|swim|swims|spin|spins|"
    "clicks?|cramps?|tired voice|uncomfortable|discomfort"
)
_ILLNESS = (
    "surgery|operation|blood pressure|heart|stroke|reflux|glaucoma|hernia|osteoporosis|arthritis|neck problem|"
    "replacement|denture|infection|asthma|copd|pregnan\\w+|stoma|tube"
)
_CARER = "doctor|therapist|clinician|physio\\w*|nurse|consultant|specialist|pathologist|dentist|surgeon|gp"
_DAY = (
    "monday|tuesday|wednesday|thursday|friday|saturday|sunday|next week|next month|tomorrow|fortnight|noon|o'clock"
)
_MOVES = (
    "breathe|press|push|pull|lift|raise|lower|turn|tilt|tuck|squeeze|swallow|hold|keep|open|close|stretch|slide|glide|"
    "hum|say|blow|purse|pucker|smile|roll|bend|straighten|stand|sit|lean|reach|point|rest|place|put|bring|take|let|"
    "start|begin|look|move|circle|tighten|relax|drop|tap|step|march|shift|curl|spread|touch|bite|stick|puff|yawn|sigh"
)

_CUES: dict[Cue, tuple[tuple[str, float], ...]] = {
    "turn": (
        (r"^(?:so |and |okay,? |right,? |all right,? |well,? |now,? |good,? )*(?:next|moving on|on to|onto|time (?:for|to))\b", 1.0),
        (r"\b(?:let's|let us|we'll|we will|we're going to|i'd like us to|shall we) (?:now |next |all |just )*"
         r"(?:move|go on|turn|do|try|start|begin|finish|loosen|wake|warm|work|settle|find|have a go|play|practi[sc]e|stretch|swap|change)\b", 0.8),
        (r"\b(?:next|following|last|final|new|another|one more|second|third|fourth|fifth|first) "
         r"(?:one|exercise|up|thing|on (?:our|the|my) list|job|task|item|drill)\b", 0.7),
        (r"\b(?:next|here) comes?\b|\bnext up\b|\bcoming up\b|\bon we go\b|\bmove on\b|\bonwards\b", 0.9),
        (r"\b(?:exercise|number) (?:one|two|three|four|five|six|seven|eight|nine|ten|\d+)\b", 0.6),
        (r"\bone more for\b|\bto (?:finish|end|start|begin)(?: with| off)?\b|\bfinally\b|\blastly\b", 0.6),
        (r"^(?:so |and |okay,? |right,? |well,? )*now\b|^right(?:,| then)|^okay(?:,| so| then)", 0.4),
        (r"\bthis (?:one|exercise|next one) is\b|\bis called\b|\bwhich (?:we|the \w+) call\b|\bknown as\b|\bthe name (?:of|for)\b", 0.5),
    ),
    "opening": (
        (r"\b(?:good (?:morning|afternoon|evening|day)|hello|hi|welcome)\b(?!.*\bback\b)", 1.5),
        (r"\b(?:welcome to|this is our|thank you for (?:joining|coming)|thanks for (?:joining|coming)|nice to see|lovely to see|"
         r"glad you)\b", 1.0),
        (r"\byou(?:'ll| will)? need\b|\bhave (?:a|your|some) .*(?:water|chair|mirror|straw|tissue)s? .*(?:nearby|ready|handy|to hand)\b", 0.7),
        (r"\bbefore we (?:start|begin)\b|\btoday (?:we|we'll|is|we're)\b|\bfind a (?:firm |good |sturdy )?chair\b|\ball of this is general\b", 0.7),
    ),
    "closing": (
        (r"\b(?:goodbye|bye|bye-bye|farewell|see you|that's us|that is us|until next|that's all|that is all|"
         r"that brings us|well done,? (?:all|everyone|everybody)|good work,? (?:all|everyone|everybody))\b", 1.5),
        (r"\b(?:thank you|thanks) (?:all |so much |very much )*(?:for|everyone|everybody|all)\b|\blook(?:ing)? forward to seeing\b", 1.0),
        (r"\b(?:look after|take care of) yoursel(?:f|ves)\b|\btake care,? (?:all|everyone|everybody|now)\b|\bbe kind to (?:your|yourselves)\b|\bsafe (?:journey|home)\b|\bstop the recording\b", 0.8),
    ),
    "news": (
        (rf"\b(?:{_DAY})\b", 0.7),
        (r"\b(?:news|announcements?|notices?|reminders?|housekeeping|newsletter|notice ?board|handouts?|sign[- ]?up|register|"
         r"forms?|tickets?|raffle|birthday|parking|car park|coats?|kettle|biscuits|cancelled|holiday)\b", 0.8),
        (r"\b(?:no|next|the) (?:class|session|group|meeting) (?:on|next|this|is|will|starts|moves)\b|\bwe(?:'ll)? meet\b|"
         r"\bbring (?:a|an|your|along)\b.*\b(?:next|week|time)\b|\bhalf past\b|\b(?:hall|room) (?:is|will|has)\b", 0.8),
    ),
    "quiz": (
        (r"\b(?:quiz|riddles?|clues?|guess|guessing|puzzles?|brain ?teasers?|word game|trivia)\b", 1.4),
        (r"\bi(?:'m| am) thinking of\b|\bi(?:'ll)? describe\b|\bwhat am i\b|\bname (?:as many|a|an|the|three|five)\b", 1.0),
        (r"\b(?:stir|wake|exercise|stretch|rest .* and) (?:up )?(?:the|your|our) (?:brains?|minds?|memory|grey matter)\b|"
         r"\bthinking (?:caps?|game|round|time)\b|\bthink (?:about )?it over\b|\bhave a think\b", 1.2),
        (r"\bopposite of\b|\bodd one out\b|\bfinish (?:my|the|this) sentence\b|\bwhat do (?:we|you) call\b|\bwhat's the word\b", 1.0),
    ),
    "answer": (
        (r"\b(?:the answer|it was|it's|it is|that was|that one was|i had|i was thinking of|did you (?:get|say)|"
         r"you were looking for)\b", 0.6),
    ),
    "why": (
        (r"\b(?:it|this|that|these) (?:\w+ )?(?:helps?|teach(?:es)?|trains?|strengthens?|wakes?|keeps?|makes?|builds?|works?|opens?|"
         r"loosens?|stops?|improves?|protects?|gives?|eases?|calms?)\b", 0.8),
        (r"\bbecause\b|\bthe (?:reason|point|idea|aim|purpose)\b|\bso that\b|\bwe do (?:this|it|these)\b|\bgood for\b|\bit's for\b", 0.7),
    ),
    "how": (
        (rf"^(?:and |then |now |so |just |please |gently |slowly )*(?:{_MOVES})\b", 0.7),
        (rf"\b(?:you|your)\b.*\b(?:{_BODY})\b", 0.5),
        (rf"\b(?:{_MOVES})\b.*\b(?:{_BODY})\b", 0.5),
    ),
    "show": (
        (r"\b(?:watch (?:me|this|my)|i'll (?:show|do|go)|let me (?:show|do)|here's (?:mine|how|what)|my turn|like this|like so|"
         r"listen to|see how|keep an eye on|demonstrate|i'll do)\b", 1.0),
        (r"^(?:and )?(?:again|once more|one more|ready|here we go|off we go)\b", 0.5),
    ),
    "rest": (
        (r"\b(?:and relax|relax|rest there|let (?:it|everything|that) go|go soft|shake (?:it|them) out|breathe normally|"
         r"have a (?:rest|breather|sip)|catch your breath|take a (?:rest|break|sip)|drop your shoulders|come back to the (?:middle|front|centre|center))\b", 0.8),
    ),
    "caution": (
        (rf"\b(?:if|when|should)\b.*\b(?:{_HURT})\b", 1.2),
        (rf"\b(?:if|when|unless)\b.*\b(?:{_ILLNESS})\b", 1.1),
        (r"\b(?:stop|leave (?:it|this)|skip (?:it|this)|sit down|ease off|miss (?:it|this) out)\b.*\b(?:if|when|as soon as)\b", 1.0),
        (rf"\b(?:ask|check with|speak to|talk to|tell|see|mention it to|follow|clear it with)\b.*\b(?:{_CARER})\b", 1.0),
        (rf"\byour (?:own )?(?:{_CARER})\b.*\b(?:comes? first|said|says|told|knows?|advice|wins)\b|"
         rf"\bwhatever your (?:own )?(?:{_CARER})\b", 1.0),
        (r"\b(?:do not|don't|never|avoid|without|no) (?:ever )?(?:hold(?:ing)? your breath|forc\w+|push(?:ing)? through|strain\w*|rush\w*|"
         r"bounc\w+|overdo\w*|lock\w*|lean(?:ing)? back|twist\w*|jerk\w*)\b", 1.0),
        (r"\b(?:don't|do not|never) (?:hold|stop) (?:your )?(?:breath|breathing)\b", 1.2),
        (r"\b(?:only your (?:own )?saliva|saliva only|nothing to (?:eat|drink)|no food|not with food|without food|empty mouth)\b", 1.1),
        (r"\b(?:be (?:very )?(?:careful|gentle)|take care (?:with|not|of)|careful (?:with|of|not)|keep (?:a )?hold of|hold on to the|"
         r"hand (?:on|near) (?:the|a|your) (?:chair|worktop|table|wall|rail)|chair against the wall|someone (?:with|near|beside) you|"
         r"somebody (?:in the house|with|near|beside))\b", 0.9),
        (r"\bnot (?:one )?for (?:you|anyone|people|anybody) (?:if|who|with)\b|\bonly if (?:you|your|it|plain|that)\b.*\b(?:fine|safe|allowed|cleared|can)\b", 1.0),
        (rf"\b(?:{_HURT})\b.*\b(?:stop|rest|leave|skip|sit|tell|enough)\b", 1.1),
    ),
    "story": (
        (r"\b(?:my (?:sister|brother|husband|wife|neighbour|neighbor|dog|cat|mother|father|grandson|granddaughter|garden)|"
         r"last (?:week|year|summer|winter|night)|i remember|reminds me|the weather|when i was|years ago|on holiday|on television)\b", 1.0),
    ),
}  # fmt: skip


@lru_cache(maxsize=1)
def _compiled() -> dict[Cue, tuple[tuple[re.Pattern[str], float], ...]]:
    return {role: tuple((re.compile(pattern), weight) for pattern, weight in cues) for role, cues in _CUES.items()}


@lru_cache(maxsize=20_000)
def cue_scores(text: str) -> dict[Cue, float]:
    """Return how strongly a sentence shows each cue, 0 to about 3; those without any are left out.

    >>> sorted(cue_scores("If you feel dizzy, stop and sit down."))
    ['caution']
    """
    plain = " ".join(re.sub(r"[^\w\s'.,-]", " ", text.lower().replace("’", "'")).split())
    scores: dict[Cue, float] = {}
    for role, cues in _compiled().items():
        total = sum(weight for pattern, weight in cues if pattern.search(plain))
        if total:
            scores[role] = total
    return scores
