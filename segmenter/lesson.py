"""The lesson: what every stage speaks, and what ``lesson.json`` holds.

All parts are frozen; a change returns a new value (``model_copy(update=...)``). Points
in time are whole milliseconds in memory (``start_ms``) and seconds with three decimals
in JSON (``start``). Unknown is None, never a guess.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from typing import Annotated, Any, Literal, Self

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainSerializer,
    ValidationError,
    ValidationInfo,
    WithJsonSchema,
    model_validator,
)

from segmenter.errors import LessonError
from segmenter.times import clock, ms_from_seconds, seconds

SCHEMA: Literal["lesson/1"] = "lesson/1"

Kind = Literal["opening", "exercise", "quiz", "talk", "closing"]
Family = Literal[
    "breath", "voice", "pitch", "speech", "swallow", "mouth", "face", "neck", "thinking",
    "balance", "strength", "mobility", "hand", "relax",
]  # fmt: skip
FAMILY_NAMES: Mapping[Family, str] = {
    "breath": "Breathing", "voice": "Voice", "pitch": "Pitch", "speech": "Clear speech", "swallow": "Swallowing",
    "mouth": "Mouth and tongue", "face": "Face", "neck": "Neck and shoulders", "thinking": "Thinking",
    "balance": "Balance", "strength": "Strength", "mobility": "Movement", "hand": "Hands", "relax": "Relaxing",
}  # fmt: skip
"""Each family in plain words."""
PartKind = Literal["why", "how", "show", "count", "practice", "rest", "chat"]
Side = Literal["left", "right", "both"]
Where = Literal["class", "home"]
HoldHow = Literal["voiced", "silent", "counted"]
CountKind = Literal["seconds", "reps", "breath", "down"]
CaptionKind = Literal["speech", "sound"]
CheckLevel = Literal["note", "look", "stop"]
Speaker = Literal["presenter", "other"]


def _read_ms(value: Any, info: ValidationInfo) -> Any:
    # JSON speaks seconds, Python speaks milliseconds; pydantic tells which one is at the door.
    if info.mode == "json" and isinstance(value, int | float) and not isinstance(value, bool):
        return ms_from_seconds(value)
    return value


def _in_order(value: tuple[float | None, float | None]) -> tuple[float | None, float | None]:
    lo, hi = value
    if lo is None and hi is None:
        raise ValueError("a range needs at least one end; write null for an unknown range")
    if lo is not None and hi is not None and lo > hi:
        raise ValueError(f"a range runs from low to high, not {lo} to {hi}")
    return value


Ms = Annotated[
    int,
    BeforeValidator(_read_ms),
    Field(ge=0),
    PlainSerializer(seconds, return_type=float, when_used="json"),
    WithJsonSchema({"type": "number", "minimum": 0, "description": "seconds from the start of the recording"}),
]
Measured = Annotated[float, PlainSerializer(lambda value: round(value, 3), return_type=float, when_used="json")]
Share = Annotated[Measured, Field(ge=0, le=1)]
Count = Annotated[int, Field(ge=0)]
CountRange = Annotated[tuple[Count | None, Count | None], AfterValidator(_in_order)]
"""``[lo, hi]``: ``[5, 5]`` exactly five, ``[8, null]`` at least eight, ``[null, 10]`` at most ten."""
SecondsRange = Annotated[
    tuple[Annotated[Measured, Field(ge=0)] | None, Annotated[Measured, Field(ge=0)] | None],
    AfterValidator(_in_order),
]


def _json_name(field: str) -> str:
    return field.removesuffix("_ms")


class Frozen(BaseModel):
    """Base of every part of a lesson: immutable; names without ``_ms`` in JSON."""

    model_config = ConfigDict(
        frozen=True,
        extra="ignore",  # a later version may add fields within the same schema number
        alias_generator=_json_name,
        validate_by_name=True,
        validate_by_alias=True,
        serialize_by_alias=True,
    )


class Timed(Frozen):
    """Something that lasts from `start_ms` to `end_ms` (half-open)."""

    start_ms: Ms
    end_ms: Ms

    @model_validator(mode="after")
    def _ordered(self) -> Self:
        if self.end_ms < self.start_ms:
            raise ValueError(f"ends at {clock(self.end_ms)}, before it starts at {clock(self.start_ms)}")
        return self

    @property
    def span(self) -> tuple[int, int]:
        """The interval ``(start_ms, end_ms)``."""
        return self.start_ms, self.end_ms


class Video(Frozen):
    """Picture of the recording, in pixels and frames a second."""

    width: int
    height: int
    fps: Measured | None


class Audio(Frozen):
    """Sound of the recording: EBU R 128 loudness, true peak, and an estimate of speech over noise.

    `noise_dbfs` is the level of quiet moments, `wind_share` the share of the time in which wind or rumble comes
    near the voice, `clipped_s` in how many seconds the recorder was overloaded.
    """

    rate: int
    channels: int
    loudness_lufs: Measured | None
    true_peak_dbtp: Measured | None
    snr_db: Measured | None
    noise_dbfs: Measured | None = None
    wind_share: Share | None = None
    clipped_s: Count | None = None
    silent_channel: Literal["left", "right"] | None = None


class Recording(Frozen):
    """The file a lesson was made from (None: only a transcript was given), and the day its camera wrote into it."""

    path: str | None
    sha256: str | None
    seconds: Measured
    recorded: str | None = None
    video: Video | None = None
    audio: Audio | None = None


class Word(Timed):
    """One spoken word. `heard` is the word as recognised, when it was repaired; `why` says the reason.

    `speaker` is None where it is not known who speaks: then the word is read like the presenter's.
    """

    text: str
    probability: Share | None = None
    heard: str | None = None
    why: str | None = None
    speaker: Speaker | None = None


class Caption(Timed):
    """What is shown on screen for a while; lines are parted by a newline."""

    text: str
    kind: CaptionKind = "speech"


class Part(Timed):
    """What happens in a stretch of a chapter."""

    kind: PartKind


class Ask(Timed):
    """A dose as it was asked for, in class or for home. What was not said is None.

    `pattern` is breathing in, hold, out, hold in counts. `said` quotes the words. `usual` is the source of a
    dose that was not said but knowingly taken over by a person from usual practice; None for one that was said.
    """

    where: Where
    reps: CountRange | None = None
    hold_s: SecondsRange | None = None
    sets: CountRange | None = None
    rest_s: SecondsRange | None = None
    side: Side | None = None
    pattern: tuple[Measured | None, Measured | None, Measured | None, Measured | None] | None = None
    effort: str | None = None
    per_day: CountRange | None = None
    days_per_week: CountRange | None = None
    said: str | None = None
    usual: str | None = None
    confidence: Share = 1.0


class Hold(Timed):
    """One held effort as it was really done."""

    seconds: Measured
    how: HoldHow
    pitch_hz: Measured | None = None
    pitch_spread_st: Measured | None = None
    glide_hz: tuple[Measured, Measured] | None = None
    level_db: Measured | None = None
    side: Side | None = None


class CountRun(Timed):
    """One run of spoken numbers; `missing` are the numbers that were left out."""

    kind: CountKind
    numbers: tuple[int, ...]
    beat_s: Measured | None = None
    beat_spread_s: Measured | None = None
    missing: tuple[int, ...] = ()


class Shown(Frozen):
    """What was really done in the recording."""

    reps: Count | None = None
    holds: tuple[Hold, ...] = ()
    counts: tuple[CountRun, ...] = ()


class Practice(Frozen):
    """A moment where a player stops: at `at_ms`, going on from `resume_ms`.

    `seconds` is the time the ask needs (reps x (hold + rest)); None when it cannot be known.
    """

    at_ms: Ms
    resume_ms: Ms
    asked: Ask | None = None
    seconds: Measured | None = None


class Caution(Frozen):
    """A warning: spoken in class, or offered by the catalogue (then with its source in `reference`)."""

    text: str
    start_ms: Ms | None = None
    end_ms: Ms | None = None
    source: Literal["spoken", "catalogue"]
    reference: str | None = None


class Passage(Timed):
    """A stretch of speech, quoted."""

    text: str


class QuizItem(Frozen):
    """One clue with its answer and the time left to think."""

    clue: Passage
    answer: Passage | None = None
    think_s: Measured | None = None


class Chapter(Timed):
    """A stretch of the class with one purpose. `reasons` tell why it was found.

    `still_ms` is the moment whose picture stands for it, chosen by a person; None leaves the choice to the page.
    A `hidden` one is kept from viewers. `by_person` names what a person changed, `credit` the class it came from.
    """

    id: str
    title: str
    kind: Kind
    family: Family | None = None
    exercise: str | None = None
    confidence: Share = 1.0
    parts: tuple[Part, ...] = ()
    asked: tuple[Ask, ...] = ()
    shown: Shown = Shown()
    practice: tuple[Practice, ...] = ()
    cautions: tuple[Caution, ...] = ()
    quiz: tuple[QuizItem, ...] = ()
    still_ms: Ms | None = None
    hidden: bool = False
    by_person: tuple[str, ...] = ()
    reasons: tuple[str, ...] = ()
    credit: str | None = None


class Check(Frozen):
    """Something a person should look at before the lesson goes out."""

    code: str
    level: CheckLevel
    message: str
    start_ms: Ms | None = None
    end_ms: Ms | None = None


class MadeBy(Frozen):
    """Versions and settings that made the draft."""

    segmenter: str
    speech_model: str | None
    settings: dict[str, Any] = {}


class Lesson(Frozen):
    """A whole lesson. Chapters are in order, do not overlap and cover the recording; `checked` is by a person."""

    schema_name: Literal["lesson/1"] = Field(default=SCHEMA, alias="schema")
    title: str
    language: str
    recording: Recording
    chapters: tuple[Chapter, ...]
    words: tuple[Word, ...] = ()
    captions: tuple[Caption, ...] = ()
    checks: tuple[Check, ...] = ()
    checked: str | None = None  # the draft that was looked through
    made_by: MadeBy

    @property
    def duration_ms(self) -> int:
        """Length of the recording."""
        return ms_from_seconds(self.recording.seconds)

    @model_validator(mode="after")
    def _chapters_cover(self) -> Self:
        at = 0
        for chapter in self.chapters:
            if chapter.start_ms != at:
                raise ValueError(
                    f"chapter {chapter.id} starts at {clock(chapter.start_ms)}, "
                    f"but the one before it ends at {clock(at)}"
                )
            at = chapter.end_ms
        if self.chapters and at != self.duration_ms:
            raise ValueError(f"the last chapter ends at {clock(at)}, the recording at {clock(self.duration_ms)}")
        if len({chapter.id for chapter in self.chapters}) != len(self.chapters):
            raise ValueError("two chapters have the same id")
        return self

    def exercises(self) -> Iterator[Chapter]:
        """The chapters that are exercises or quizzes, in order."""
        return (chapter for chapter in self.chapters if chapter.kind in {"exercise", "quiz"})

    def words_in(self, start_ms: int, end_ms: int) -> tuple[Word, ...]:
        """The words whose middle lies in ``[start_ms, end_ms)``."""
        return tuple(w for w in self.words if start_ms <= (w.start_ms + w.end_ms) // 2 < end_ms)


def to_json(part: Frozen) -> str:
    """Return a part of a lesson as indented JSON with seconds, ending in a newline."""
    return part.model_dump_json(indent=2) + "\n"


def lesson_from_json(text: str | bytes, where: str | None = None) -> Lesson:
    """Read a lesson.

    Parameters
    ----------
    text : str or bytes
        JSON of the contract ``lesson/1``.
    where : str or None
        File name for messages.

    Raises
    ------
    LessonError
        If it is not JSON, or breaks the contract; all faults are listed.
    """
    try:
        return Lesson.model_validate_json(text)
    except ValidationError as error:
        faults = [
            f"{'.'.join(str(step) for step in fault['loc']) or 'lesson'}: {fault['msg']}"
            for fault in error.errors(include_url=False, include_input=False)
        ]
        shown = "; ".join(faults[:8]) + (f"; and {len(faults) - 8} more" if len(faults) > 8 else "")
        raise LessonError(
            f"this is not a lesson that can be read: {shown}",
            where,
            "Build it again from the recording, or restore an earlier copy",
        ) from error


def json_schema() -> str:
    """Return the JSON Schema (draft 2020-12) of ``lesson.json``."""
    schema = Lesson.model_json_schema(mode="serialization", by_alias=True)
    head = {"$schema": "https://json-schema.org/draft/2020-12/schema", "$id": SCHEMA}
    return json.dumps({**head, **schema}, indent=2)
