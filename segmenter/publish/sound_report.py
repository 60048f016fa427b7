"""What a clinician should know of the sound of a recording, and what to do about it, in plain words."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from segmenter.lesson import Audio, Lesson
from segmenter.times import counted

IMPROVE: Final = "Build again with --improve-sound"
ADVICE: Final = MappingProxyType(
    {
        "low-loudness": f"{IMPROVE}: it brings the voice to a good level. Next time, put the microphone about an "
        "arm's length from your mouth.",
        "true-peak": f"{IMPROVE}: it keeps the loudest moments below that.",
        "clipping": "What crackles cannot be mended. Listen to these moments; if a word or an instruction is lost, "
        "say it again in the captions. Next time, turn the recording level down or move a little further away.",
        "low-snr": "Listen to the captions of quiet passages. Next time, close windows, switch off fans and music, "
        "and come closer to the microphone.",
        "wind": f"{IMPROVE}: it takes the lowest rumble off. Next time, turn your back to the wind, put a foam "
        "or fur cover on the microphone, or go indoors; put the recorder on something soft, not on the table.",
        "channel-silent": "People who listen with one ear may hear nothing. Save the recording as mono in the "
        "program that made it, then build again. Next time, try the cable and the plug first.",
        "channels-opposed": "On a phone or a tablet the voice may vanish. Save one channel as mono in the program "
        "that made it, then build again. Next time, use another cable or adapter.",
        "several-audio-tracks": "Check that the track that was used is the one with your voice.",
        "picture-unreadable": "Save the recording again as mp4 in the program that made it, then build again.",
        "late-sound": "Check that lips and voice go together.",
        "truncated": "Copy the recording again from where it was made.",
        "sound-ends-early": "Check the end: people will see a picture without sound.",
        "damaged-sound": "Copy the recording again from where it was made, and listen to it once.",
    }
)
"""What to do about each check of the sound, by its code."""


@dataclass(frozen=True)
class Measured:
    """One line of the report: what, how much, and what that means."""

    name: str
    value: str
    meaning: str


def measured(audio: Audio) -> tuple[Measured, ...]:
    """Return what was measured, each with a plain sentence."""
    rows = [
        Measured(
            "Loudness (EBU R 128)",
            _unknown(audio.loudness_lufs, "LUFS"),
            "How loud the whole recording is. About -16 suits speech at home; lower is quieter.",
        ),
        Measured(
            "Highest peak",
            _unknown(audio.true_peak_dbtp, "dBTP"),
            "The loudest moment. It should stay below -1.",
        ),
        Measured(
            "Voice over noise",
            _unknown(audio.snr_db, "dB"),
            "How far the voice stands above the room. 20 or more is comfortable; under 15, words get lost.",
        ),
        Measured(
            "Noise in quiet moments",
            _unknown(audio.noise_dbfs, "dBFS"),
            "How loud it is when nobody speaks; lower is quieter.",
        ),
    ]
    if audio.wind_share is not None:
        share = "none" if audio.wind_share == 0 else f"{max(audio.wind_share, 0.01):.0%} of the time"
        rows.append(Measured("Wind or rumble", share, "Noise below the voice that comes near it in level."))
    if audio.clipped_s is not None:
        seconds = "none" if audio.clipped_s == 0 else counted(audio.clipped_s, "second")
        rows.append(Measured("Crackling", seconds, "Seconds in which the sound was too loud for the recorder."))
    sides = {1: "one (mono)", 2: "left and right"}.get(audio.channels, str(audio.channels))
    if audio.silent_channel:
        sides += f"; {audio.silent_channel} is silent"
    rows.append(Measured("Channels", sides, "Where the sound comes from."))
    return tuple(rows)


def faults(lesson: Lesson) -> list[dict[str, object]]:
    """Return the checks that concern the sound, each with what to do about it, in order of `ADVICE`."""
    order = list(ADVICE)
    found = [check for check in lesson.checks if check.code in ADVICE]
    found.sort(key=lambda check: order.index(check.code))
    return [{"check": check, "advice": ADVICE[check.code]} for check in found]


def _unknown(value: float | None, unit: str) -> str:
    return "not measured" if value is None else f"{value:.1f} {unit}".replace("-", "−", 1)
