"""From the text of captions to the words that are spoken: no tags, no names of speakers, no notes on sounds."""

from __future__ import annotations

import html
import re
from collections import Counter
from collections.abc import Iterable, Sequence

from segmenter.hear.wordtimes import counted

_TAG = re.compile(r"</?[A-Za-z][^<>]{0,200}>|<(?:\d+:)?\d+:\d+\.\d+>|</>|\{\\[^{}\n]{0,80}\}|\{/?[bius]\}")
_UNSEEN = re.compile(r"[\x00-\x08\x0e-\x1f\x7f\u200b-\u200f\u202a-\u202e\u2060-\u2064\ufeff]")
_LONE = re.compile(r"[\ud800-\udfff]")
_TURN = re.compile(r"^\s*(?:>{2,}|&gt;&gt;|[-–—](?=\s*\w))\s*")
_LABEL = re.compile(r"^(?P<name>[^\W_][\w.'’-]*(?:[ ][\w.'’()-]+){0,3})\s*:(?=\s|$)\s*")
_TITLES = {"dr", "mr", "ms", "mrs", "miss", "prof", "professor", "speaker", "sister", "nurse"}
_NEVER_NAMES = frozenset(re.findall(r"\w+", """
    remember note notes exercise exercises step steps tip tips next first second third last finally number
    set sets round ready okay ok so now then again example question answer clue warning caution important
    reminder part repeat rule rules one two three four five six seven eight nine ten yes no well and but or
    the a an your this that these here today time week day home level option goal position breath
"""))  # fmt: skip
_SOUNDS = (
    "music|musical|applause|clapping|clap|laughter|laughs?|laughing|chuckles?|silence|inaudible"
    "|unintelligible|unclear|indistinct|noise|crosstalk|coughs?|coughing|sneezes?|sighs?|inhales?|exhales?|gasps?|pause"
    "|blank_audio|no speech|foreign|speaking in foreign language|bell|ringing|static|beep|humming|clears throat"
)
_SOUND = re.compile(
    rf"[\[(]\s*(?:[\w'’-]+\s+){{0,3}}(?:{_SOUNDS})(?:\s+[\w'’:.-]+){{0,3}}\s*[.!]?\s*[\])]|[♪♫♩♬]", re.IGNORECASE
)
_BARE = re.compile(r"^[^\w]+$")


def speaker_names(texts: Iterable[str]) -> frozenset[str]:
    """Return what stands before a colon at the start of lines and names a speaker.

    "Remember: breathe" and "Humming: ..." are spoken. A label names a speaker when it comes back, is in
    capitals or has a title, or is one word that the text uses nowhere else as a common word.

    Parameters
    ----------
    texts : iterable of str
        The text of all cues.
    """
    labels: Counter[str] = Counter()
    common: set[str] = set()
    for text in texts:
        for line in text.split("\n"):
            bare = _TURN.sub("", _bare(line))
            if match := _LABEL.match(bare):
                labels[match["name"]] += 1
            common |= {word for word in re.findall(r"[^\W\d_]+", bare) if word.islower()}
    return frozenset(name for name, times in labels.items() if _is_name(name, times, common))


def _is_name(name: str, times: int, common: set[str]) -> bool:
    parts = name.replace(".", "").split()
    small = [part.lower() for part in parts]
    if any(part in _NEVER_NAMES for part in small) or not any(char.isalpha() for char in name):
        return False
    if small[0] in _TITLES:
        return True
    if not all(part[0].isupper() or part[0] == "(" or part.isdecimal() for part in parts):
        return False
    if times > 2 or (name.isupper() and len(name) > 1):
        return True
    if any(part in common or part.endswith("ing") for part in small):
        return False
    return times > 1 or len(parts) == 1


def spoken_text(text: str, names: frozenset[str] = frozenset()) -> str:
    """Return what is spoken in a cue, on one line.

    Tags (W3C WebVTT, "WebVTT cue text"; ``{\\an8}`` and the like, common practice, no source), speaker
    names, and notes such as ``[music]`` are left out; character references are read.

    >>> spoken_text("<v Ann>Now <i>hum</i> &amp; hold.</v>\\n[soft music]")
    'Now hum & hold.'
    >>> spoken_text("Ann: Breathe in.", frozenset({"Ann"}))
    'Breathe in.'
    """
    lines = []
    for line in text.split("\n"):
        bare = _TURN.sub("", _bare(line))
        match = _LABEL.match(bare)
        if match and match["name"] in names:
            bare = bare[match.end() :]
        lines.append(_SOUND.sub(" ", bare))
    return " ".join(" ".join(lines).split())


def _bare(line: str) -> str:
    plain = html.unescape(_TAG.sub("", line))
    # Lone surrogates come from JSON escapes and cannot be written to any file.
    return _LONE.sub("\ufffd", _UNSEEN.sub("", plain)).strip()


def tokens(text: str) -> list[str]:
    """Return the words of a text; signs that stand alone join the word before, counts are parted.

    >>> tokens("Breathe in … and – hold 2-3-4.")
    ['Breathe', 'in…', 'and–', 'hold', '2', '3', '4.']
    """
    found: list[str] = []
    ahead = ""
    for piece in text.split():
        if _BARE.match(piece):
            if found:
                found[-1] += piece
            else:
                ahead += piece
            continue
        found += counted(piece) or [ahead + piece]
        ahead = ""
    return found


def spoken_ms(token: str) -> int:
    """Estimated time a word takes in unhurried talk.

    About four syllables a second and 150 words a minute together with pauses (rates of reading aloud, from memory);
    a syllable has about three letters. A figure takes as long as its spoken digits.
    """
    letters = sum(char.isalpha() for char in token)
    figures = sum(char.isdecimal() for char in token)
    return 100 + 60 * letters + 200 * figures


def pause_ms(token: str) -> int:
    """Estimated pause after a word, from its last sign (common practice, no source)."""
    last = token.rstrip("\"'”’)]»")[-1:]
    return 600 if last in {".", "?", "!", "…"} else 250 if last in {",", ";", ":", "–", "—"} else 0


def needed_ms(words: Sequence[str]) -> int:
    """Estimated time that words and the pauses between them take."""
    return sum(spoken_ms(word) + pause_ms(word) for word in words)
