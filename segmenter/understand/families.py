"""Everyday words that place talk in a family of exercises when no exercise is named."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import lru_cache

from segmenter.lesson import Family

_WORDS: Mapping[Family, str] = {
    "breath": r"breath(?:s|e|ing)?|inhale|exhale|air|lungs?|puff(?:s|ing)?|blow(?:ing)?|breathe (?:in|out)|huff",
    "voice": r"voice|vowels?|aw|ahh*|ees?|ooh*|hum(?:s|ming)?|buzz(?:ing)?|loud(?:er|ly)?|sound|tone|call(?:s|ing)?|sing(?:ing)?",
    "pitch": r"pitch|glides?|gliding|siren|notes?|high(?:er|est)? to|low(?:er|est)? to|scale|melody|top of your range",
    "speech": r"syllables?|consonants?|words? (?:clear|crisp)\w*|crisp|pronounce|tongue twisters?|speech|articulat\w+|sentence",
    "swallow": r"swallow(?:s|ing|ed)?|saliva|gulp|gullet|adam's apple|voice box",
    "mouth": r"tongue|lips?|cheeks?|jaw|teeth|gums?|roof of (?:the|your) mouth|pucker|palate",
    "face": r"face|eyebrows?|brows?|forehead|frown|smil(?:e|ing)|grin|nose|nostrils?|wink|surprised",
    "neck": r"neck|chin|ear to|shoulders?|look (?:over|around)|turn your head|nod|shoulder blades?|posture",
    "thinking": r"brain|memory|clues?|riddles?|guess|quiz|word ?finding|remember|puzzle|categor\w+|opposites?",
    "balance": r"balance|stand(?:ing)? on|one leg|heel to toe|tightrope|weight (?:on|over|onto)|wobble|steady yourself|step(?:s|ping)?",
    "strength": r"squats?|sit to stand|stand up|thighs?|quads?|muscles? of (?:the|your) leg|bridge|lift your (?:leg|hips)|"
    r"straighten your knee|band|weights?|pelvic floor|tummy muscles|core|glutes?|bottom muscles",
    "mobility": r"stretch(?:es|ing)?|hamstrings?|calf|calves|ankles?|arm swing|rotate|circles? with your (?:arm|shoulder)|"
    r"hips?|knee(?:s)? to|reach(?:ing)? (?:up|over|forward)|march(?:ing)?",
    "hand": r"hands?|fingers?|thumbs?|wrists?|fists?|grip|knuckles?|palms?",
    "relax": r"relax(?:ing|ation)?|let go of|tension|calm|imagine|picture (?:a|yourself)|drift|rest your|settle",
}  # fmt: skip


@lru_cache(maxsize=1)
def _compiled() -> dict[Family, re.Pattern[str]]:
    return {family: re.compile(rf"\b(?:{words})\b") for family, words in _WORDS.items()}


@lru_cache(maxsize=20_000)
def family_scores(text: str) -> dict[Family, float]:
    """Return how many different words of each family a sentence holds, at most 2 a family.

    >>> family_scores("Let the shoulders hang, turn your head.")["neck"]
    2.0
    """
    plain = text.lower().replace("’", "'")
    found: dict[Family, float] = {}
    for family, pattern in _compiled().items():
        different = {match.group() for match in pattern.finditer(plain)}
        if different:
            found[family] = float(min(2, len(different)))
    return found
