"""Marks for the language of a track."""

from __future__ import annotations

# ISO 639-1 to 639-2/T, which is what MP4 and Matroska tracks are marked with.
_THREE = {
    "ar": "ara", "bg": "bul", "ca": "cat", "cs": "ces", "cy": "cym", "da": "dan", "de": "deu", "el": "ell",
    "en": "eng", "es": "spa", "et": "est", "eu": "eus", "fa": "fas", "fi": "fin", "fr": "fra", "ga": "gle",
    "he": "heb", "hi": "hin", "hr": "hrv", "hu": "hun", "id": "ind", "is": "isl", "it": "ita", "ja": "jpn",
    "ko": "kor", "lt": "lit", "lv": "lav", "nb": "nob", "nl": "nld", "nn": "nno", "no": "nor", "pl": "pol",
    "pt": "por", "ro": "ron", "ru": "rus", "sk": "slk", "sl": "slv", "sr": "srp", "sv": "swe", "ta": "tam",
    "th": "tha", "tr": "tur", "uk": "ukr", "ur": "urd", "vi": "vie", "zh": "zho",
}  # fmt: skip


def three_letters(language: str) -> str:
    """Return the three-letter mark of a language tag; ``und`` when it is not known.

    >>> three_letters("pt-BR"), three_letters("xx")
    ('por', 'und')
    """
    return _THREE.get(language.partition("-")[0].lower(), "und")


_QUICKTIME = {"deu": "ger", "nld": "dut", "swe": "sve", "ell": "gre", "isl": "ice", "zho": "chi"}


def quicktime(mark: str) -> str:
    """Return a three-letter mark as ffmpeg takes it for QuickTime files, whose list of languages is older.

    >>> quicktime("deu"), quicktime("eng")
    ('ger', 'eng')
    """
    return _QUICKTIME.get(mark, mark)
