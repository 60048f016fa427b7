"""What was really done in a stretch of class: holds, counted stretches, repetitions."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Sequence

from segmenter.heard import Sound
from segmenter.intervals import overlap
from segmenter.lesson import CountRun, Hold, Shown, Side, Word
from segmenter.understand.numbers import ends_clause, plain

VOICED = frozenset({"hold", "hum", "glide", "hiss"})
"""Sounds that are an exercise in themselves."""
SILENT_MS = 2_000
"""A silence this long after a cue to act is the act itself."""
CUE_MS = 1_500
"""How soon after the cue that silence begins."""
EARLY_MS = 400
"""How far a silence may begin before the end of its cue: words end late, sounds fade."""
SIDE_MS = 15_000
"""How long a named side holds for what follows."""


def _all(words: str) -> frozenset[str]:
    return frozenset(words.split())


_CUES = _all(
    "swallow hold squeeze press push lift stretch tuck stay tighten clench pull open bite lower raise turn tilt "
    "gulp smile pucker there stick reach"
)
_NO_CUE = _all(
    "don't doesn't won't can't isn't it's not before after if when stop relax rest breathe think guess answer "
    "pause never without"
)
_NAMING = _all("the a an to your each every that this hard strong")
"""Before a cue, these make a noun of it: "the swallow", "to swallow"."""
_SIDE_AFTER = _all("now then away thing so okay well everyone here there from up way")


def shown(
    words: Sequence[Word], sounds: Sequence[Sound], start_ms: int, end_ms: int, counts: Sequence[CountRun]
) -> Shown:
    """Return what was done in ``[start_ms, end_ms)``.

    Parameters
    ----------
    words : sequence of Word
        The words of the class.
    sounds : sequence of Sound
        What the sound shows.
    start_ms, end_ms : int
        The stretch.
    counts : sequence of CountRun
        Counted numbers (`find_counts`).

    Returns
    -------
    Shown
        Repetitions are the held sounds; without any, the silent efforts; without those, the last number of
        counted repetitions, the counted holds, or the breaths counted out. With two sides named they are
        those of one side. None when nothing of it was heard.
    """
    span = (start_ms, end_ms)
    own = [sound for sound in sounds if overlap(sound.span, span) * 2 > sound.end_ms - sound.start_ms]
    runs = tuple(run for run in counts if overlap(run.span, span) * 2 > run.end_ms - run.start_ms)
    first, last = (bisect_left(words, ms, key=_start) for ms in (start_ms - SIDE_MS, end_ms))
    near = words[first:last]
    voiced = [_hold(sound, "voiced", near) for sound in own if sound.kind in VOICED]
    silent = [_hold(sound, "silent", near) for sound in own if sound.kind == "silence" and _is_effort(sound, near)]
    counted = [
        _counted(run, near)
        for run in runs
        if run.kind in {"seconds", "down"} and not any(overlap(run.span, hold.span) for hold in (*voiced, *silent))
    ]
    return Shown(
        reps=_reps(voiced, silent, counted, runs),
        holds=tuple(sorted([*voiced, *silent, *counted], key=lambda hold: (hold.start_ms, hold.end_ms))),
        counts=runs,
    )


def _reps(
    voiced: Sequence[Hold], silent: Sequence[Hold], counted: Sequence[Hold], runs: Sequence[CountRun]
) -> int | None:
    said = [max(run.numbers) for run in runs if run.kind == "reps"]
    if voiced or silent or (counted and not said):
        return _of_one_side(voiced or silent or counted)
    if said:
        return max(said)
    breaths = [run for run in runs if run.kind == "breath"]
    return (len(breaths) + 1) // 2 or None


def _of_one_side(holds: Sequence[Hold]) -> int:
    """Three to the left and three to the right are three."""
    left, right = (sum(hold.side == side for hold in holds) for side in ("left", "right"))
    if left and right and left + right == len(holds):
        return max(left, right)
    return len(holds)


def _hold(sound: Sound, how: str, words: Sequence[Word]) -> Hold:
    is_voiced = how == "voiced"
    return Hold(
        start_ms=sound.start_ms,
        end_ms=sound.end_ms,
        seconds=(sound.end_ms - sound.start_ms) / 1000,
        how="voiced" if is_voiced else "silent",
        pitch_hz=sound.pitch_hz if is_voiced else None,
        pitch_spread_st=sound.pitch_spread_st if is_voiced else None,
        glide_hz=sound.glide_hz if is_voiced else None,
        level_db=sound.level_db if is_voiced else None,
        side=_side(words, sound.start_ms),
    )


def _counted(run: CountRun, words: Sequence[Word]) -> Hold:
    return Hold(
        start_ms=run.start_ms,
        end_ms=run.end_ms,
        seconds=(run.end_ms - run.start_ms) / 1000,
        how="counted",
        side=_side(words, run.start_ms),
    )


def _is_effort(sound: Sound, words: Sequence[Word]) -> bool:
    """Whether the last words before a silence ask to do something right then ("and swallow")."""
    if sound.end_ms - sound.start_ms < SILENT_MS:
        return False
    before = [w for w in words if sound.start_ms - CUE_MS <= w.end_ms <= sound.start_ms + EARLY_MS]
    if not before:
        return False
    last = words.index(before[-1])
    clause = [plain(before[-1].text)]
    for word in reversed(words[max(0, last - 5) : last]):
        if ends_clause(word.text):
            break
        clause.append(plain(word.text))
    # "Hold it", "and swallow now": the cue is among the last three words; "before you swallow" is none.
    asked = any(word in _CUES and not set(clause[at + 1 : at + 2]) & _NAMING for at, word in enumerate(clause[:3]))
    return asked and not any(word in _NO_CUE for word in clause[1:5])


def _side(words: Sequence[Word], at_ms: int) -> Side | None:
    """The side named last before; "right" alone at the head of a clause, or "right now", names none."""
    for at in range(len(words) - 1, -1, -1):
        word = words[at]
        if word.start_ms > at_ms:
            continue
        if word.start_ms < at_ms - SIDE_MS:
            return None
        text = plain(word.text)
        if text == "left":
            return "left"
        if text == "right" and not _is_filler(words, at):
            return "right"
    return None


def _is_filler(words: Sequence[Word], at: int) -> bool:
    following = plain(words[at + 1].text) if at + 1 < len(words) else ""
    opens = at == 0 or ends_clause(words[at - 1].text) or words[at].start_ms - words[at - 1].end_ms > 600
    return (
        (opens and (ends_clause(words[at].text) or following in _SIDE_AFTER))
        or following in {"now", "away", "there"}
        or (at > 0 and plain(words[at - 1].text) in {"all", "that's", "just", "is", "it's"})
    )


def _start(word: Word) -> int:
    return word.start_ms
