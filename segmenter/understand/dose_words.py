"""The words around doses: what a number measures, where it holds, and what is mere talk."""

from __future__ import annotations

import re
from typing import Literal

Unit = Literal["second", "minute", "count", "times", "set", "rep", "day", "more", "these", "each", "total"]


def _all(words: str) -> frozenset[str]:
    return frozenset(words.split())


UNITS: dict[str, Unit] = {
    **dict.fromkeys(_all("second seconds sec secs s"), "second"),
    **dict.fromkeys(_all("minute minutes min mins"), "minute"),
    **dict.fromkeys(_all("count counts beats"), "count"),
    **dict.fromkeys(_all("time times x ×"), "times"),
    **dict.fromkeys(_all("set sets lots lot batches blocks series rows helpings"), "set"),
    **dict.fromkeys(_all("day days mornings evenings nights afternoons"), "day"),
    **dict.fromkeys(_all("more extra"), "more"),
    **dict.fromkeys(
        _all(
            "passes rep reps repetition repetitions repeat repeats go goes rounds round cycles breaths swallows squeezes glides sirens "
            "presses lifts turns circles rolls raises slides taps hums calls puffs huffs coughs sighs smiles puckers pushes "
            "pulls steps stands bends shrugs nods tucks stretches pumps kicks claps marches holds ones tries attempts trills "
            "curls tilts yawns sips blinks pinches twists squats laps repeaters sweeps clenches openings attempts hisses ahs "
            "oohs vowels"
        ),
        "rep",
    ),
}
"""What a number measures, by the noun after it."""

QUIET = _all("quiet plain normal easy ordinary regular usual old quieter calm relaxed")
"""Breaths of this kind are a rest."""

NOUN_ALONE = _all("steps calls vowels sips laps stands turns ones tries smiles")
"""Nouns that need a word of doing beside them: there are "three steps to this" too."""

STOPPERS = _all(
    "and or to for in on at with if is are was were then but so you we i that while when as from by until till before after "
    "the my your because will would has have had do did not than a per"
)
"""Words over which a number does not reach for its noun."""

LEADS = _all(
    "do doing does make makes try give want like need repeat becomes become says say aim aiming manage reach that's only "
    "showing just another target dose practise practice take start begin go it's work managing build complete finish be is"
)
"""Words of doing: a bare number right after one of them is a number of repetitions."""

DOING = _all(
    "do doing repeat practise practice practising practicing try keep hold make add aim exercise exercises homework give take "
    "squeeze press lift swallow glide hum say breathe stretch turn march stand push pull tuck roll tap open close let's we'll "
    "i'd i'll you please again this these them those it work build finish complete go blow raise shrug slide sing "
    "circle swing bend rotate nod step reach clench wiggle point flex touch cross curl cough huff puff purse pucker smile frown "
    "wink yawn sigh sip trill buzz hiss bite chew stick clap tilt tighten straighten lean shift write count whistle shake read"
)
"""Words that make a sentence one about doing exercises."""

MOVES = DOING - _all(
    "do doing repeat practise practice practising practicing keep make exercise exercises homework let's we'll i'd i'll you please "
    "again this these that those them it work build finish complete go write sing read touch cross open close point clap"
) | _all(
    "kiss shout call walk pace tip drop puff chew gargle lick yell grunt knock drum flick flutter pop hop lunge dip"
)
"""Verbs whose plural noun is what is done: "ten kisses"."""

POINTING = _all("it this that these those them again")
"""Those of them that point at an exercise, but also at anything else."""

HOLDING = _all(
    "hold holding holds keep stay squeeze press stretch push tuck sustain balance lean tense clench pull march stand tap last "
    "lasting long aim aiming target hiss hum ah practise practice do continue build work going hang stop reach sing glide lift blow"
)
"""Words beside which a time is the length of an effort."""

RESTING = _all("rest resting off break breather recover recovery between gap pause between relax ease apart")
WAITING = _all(
    "wait think thinking chat talk talking back gone took takes boil boils mute bear hang minute's sorry late early arrive "
    "explain left ago clock tea coffee lunch questions chatting bus parking"
)
"""Words beside which a time is just time."""

BEFORE_NO_DOSE = _all(
    "number exercise chapter part page room item past half since aged age channel volume bus question clue week level "
    "line verse photo figure grade stage type version lesson session track section house flat table row day phase key "
    "turning first next number saves round"
)
AFTER_NO_DOSE = _all(
    "o'clock am pm a.m p.m year years year-old week weeks month months hour hours percent per-cent % degrees pound pounds "
    "dollar dollars euros pence people things points miles mile metres meters feet foot inches inch centimetres centimeters "
    "kilos january february march april may june july august september october november december th st words letters thirty "
    "fifteen forty-five past quarter hundred thousand of-us stone litres tablets tables chairs clients patients participants "
    "members cups biscuits grandchildren children ladies gentlemen"
)
NOT_DONE = _all(
    "things questions announcements notes weeks days hours people points reasons parts exercises minutes seconds sheets chairs "
    "cups classes sessions pages chapters verses words letters types kinds sorts ways sides hands feet legs fingers balls "
    "fists groups options stages ideas items clues games jokes songs towels straws cushions eggs lips teeth eyes"
)
"""Plural nouns that are not done, though a word of doing may stand before their number."""

NEGATORS = _all("not don't never without needn't isn't won't doesn't didn't no instead rather can't wouldn't")

HOME = re.compile(
    r"\b(?:(?:at|for|from|back|once you're) home|on your own|by yourselves|by yourself|your homework|for homework|homework|"
    r"home ?work|home (?:dose|number|target)|(?:your|my|the) (?:sheet|handout|home sheet)|every (?:single )?(?:day|morning|evening|night)|daily|"
    r"each (?:day|morning|evening|night)|(?:a|per|of the|each|in the) week|(?<!what )(?<!have )(?<!such )(?<!take )(?<!for )(?:a|per) day(?! off| out| like| when| or two| at)|(?:times|sets) each day|when you're home|"
    r"before bed|in (?:a|one) day|bedtime|after (?:breakfast|lunch|supper|dinner|tea)|tonight|later (?:on|today)|two more later|most days|most nights|"
    r"during the week|between (?:now and|classes|sessions)|until (?:i see you|i've seen you|next time|we meet|your next)|"
    r"the usual dose|your target|join us again|then come back|come back to (?:me|us)|end of the (?:week|month)|in your (?:own )?(?:kitchen|bathroom|living room)|(?:morning|night)s?,? and (?:at )?"
    r"(?:night|evening|morning)s?|recording people|watching the recording|"
    r"(?:pause|stop|freeze|halt|leave|park) (?:me|(?:the|this|your) (?:video|recording|tape|film|picture|player))(?: (?:right )?(?:here|now|there))?|(?:pause|stop|halt) it (?:right )?(?:here|now|there)|(?:press|hit|push) (?:pause|stop))\b"
)
CLASS = re.compile(
    r"\b(?:in (?:this|the) (?:room|class|session|video)|in class|with me|(?:all|rounds|times|them|these|those|one|two|three|four|five|six|eight|ten|this|it|breaths?) together|together now|today|right now|for now|"
    r"this (?:morning|afternoon|time round)|i'm (?:only |just )?(?:doing|showing)|(?<!stop )(?<!pause )(?<!halt )(?<!it )here(?!'s| is| we go| comes?| are)|(?<=\w )now)\b"
)
CLASS_WEAK = re.compile(r"\b(?:we'll|we will|let's|let us|i'll|i will|we're|we do|shall we)\b")
"""Words that speak of class unless the clause says home."""

CORRECTION = re.compile(
    r"\b(?:sorry|hang on|i mean|i meant|make (?:it|that)|scratch that|correction|i tell a lie|actually|or rather|"
    r"let's say|let us say|excuse me|call it|better still|no(?! more| fewer| less| need| longer|body)|wait|oops|beg your pardon|let me start again)\b"
)
LONG_AGO = re.compile(
    r"\b(?:ago|yesterday|last (?:week|year|month|night|time|summer|winter|spring|autumn|christmas|\w+day)|used to|these days|"
    r"(?:study|studies|trial|trials|researchers?|research|scientists|paper|experts)|well done|"
    r"(?:hope|trust)(?: that)? (?:you|all|they|those|it)|all (?:\w+ of (?:them|these) )?behaved|"
    r"take (?:your|my|the) (?:tablets?|pills?|medicine|inhaler)|costs?|aged?|birthday|born|married|anniversary|raffle|tickets?|pounds?)\b"
)
"""Words of long ago, of research and of daily business: a clause with them tells of something."""

BODY = _all(
    "tongue lip lips cheek cheeks jaw chin neck throat shoulder shoulders head mouth face eye eyes brow brows eyebrow eyebrows "
    "nose teeth voice breath breaths air tummy belly ribs chest arm arms elbow elbows wrist wrists hand hands finger fingers "
    "thumb thumbs fist leg legs knee knees foot feet heel heels toe toes hip hips back bottom palm palms ball straw towel band "
    "chest lungs forehead ankle ankles calf thigh side sides"
)
"""Parts of the body, and the few things held in the hand."""

OURS = _all(
    "target dose homework number sheet goal aim set hold rest pause exercise routine stretch count rule plan minimum maximum "
    "most inhale exhale in-breath out-breath round other last full whole same usual rest remaining next recording handout"
)
"""Nouns that speak of the exercises when they are the subject: "your target is ten"."""

QUESTION = re.compile(
    r"^(?:and |so |now |well |okay |right )*(?:did|have|has|had|how|who|whose|was|were|is|are|what|why|when|where|which|any|am|"
    r"does|anyone|anybody|everyone|remember|know)\b"
)
"""A sentence that starts so and ends in a question mark asks for an answer, not for exercise."""

FREQUENCY_FILLER = _all(
    "please and so that's ideally for this one do it just is plenty enough at home again then everyone if you can too as well "
    "or would be nice lovely good with me try to aim i'd like them these those that of course well make sure but even on "
    "practise practice repeat exercise keep up doing your homework only about perhaps maybe once "
    "until next visit we meet time see"
)
"""Words that may stand around a bare "three times a day" which is meant as a dose."""
