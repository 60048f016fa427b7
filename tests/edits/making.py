"""Random drafts and random edits of them."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any, get_args

from hypothesis import strategies as st

from segmenter.edits.kinds import (
    AcceptUsual,
    AddHold,
    AddStop,
    BreakCaption,
    Edit,
    Hide,
    JoinCaption,
    MarkChecked,
    Merge,
    MoveBoundary,
    MoveStop,
    Reclassify,
    RemoveHold,
    RemoveName,
    RemoveStop,
    ReplaceWords,
    Retitle,
    SetAsked,
    SetStill,
    SettleCheck,
    SetWord,
    Split,
    TitleLesson,
)
from segmenter.lesson import (
    Ask,
    Caution,
    Chapter,
    Check,
    CountRun,
    Family,
    Hold,
    Kind,
    Lesson,
    Part,
    Passage,
    Practice,
    QuizItem,
    Shown,
    Word,
)
from tests.lessons import bare

LENGTH_MS = 240_000
STEP_MS = 4_000
SPOKEN = (
    "Hold",
    "the",
    "massacre,",
    "five",
    "times",
    "Anna.",
    "Breathe",
    "out",
    "slowly",
    "pause",
    "here",
    "Anna's",
)


@st.composite
def drafts(draw: st.DrawFn) -> Lesson:
    """A draft of four minutes: chapters with everything in them, words, checks."""
    cuts = draw(st.lists(st.integers(1, LENGTH_MS // 1000 - 1), max_size=7, unique=True).map(sorted))
    edges = [0, *(cut * 1000 for cut in cuts), LENGTH_MS]
    chapters = tuple(_chapter(number, start, end) for number, (start, end) in enumerate(pairwise(edges)))
    words = tuple(
        Word(text=SPOKEN[n % len(SPOKEN)], start_ms=n * STEP_MS + 50, end_ms=n * STEP_MS + 450)
        for n in range(LENGTH_MS // STEP_MS)
    )
    checks = tuple(
        Check(code=f"check-{n}", level="look", message="Did Anna mean left?", start_ms=n * 9_000, end_ms=n * 9_000)
        for n in range(draw(st.integers(0, 5)))
    )
    return bare(chapters, seconds=LENGTH_MS / 1000).model_copy(update={"words": words, "checks": checks})


def _chapter(number: int, start: int, end: int) -> Chapter:
    middle = (start + end) // 2
    ask = Ask(where="class", start_ms=start, end_ms=middle, reps=(3, 5), said="three to five, Anna")
    passage = Passage(start_ms=start, end_ms=middle, text="Is it Anna?")
    return Chapter(
        id=f"c{number}", title=f"Chapter {number}", kind="exercise", family="voice", start_ms=start, end_ms=end,
        parts=(Part(kind="how", start_ms=start, end_ms=middle), Part(kind="show", start_ms=middle, end_ms=end)),
        asked=(ask,),
        shown=Shown(
            reps=4,
            holds=(Hold(start_ms=middle, end_ms=end, seconds=(end - middle) / 1000, how="voiced"),),
            counts=(CountRun(start_ms=start, end_ms=middle, kind="reps", numbers=(1, 2)),),
        ),
        practice=(Practice(at_ms=middle, resume_ms=end, asked=ask),),
        cautions=(
            Caution(text="Stop if it hurts, Anna.", source="spoken", start_ms=start, end_ms=middle),
            Caution(text="Rest.", source="catalogue", reference="common practice, no source"),
        ),
        quiz=(QuizItem(clue=passage, answer=None),),
    )  # fmt: skip


MOMENTS = st.integers(0, LENGTH_MS + 5_000)
TITLES = st.text(alphabet="abc Äß<&'\"\u202e=", min_size=1, max_size=12).filter(lambda text: bool(text.strip()))
_FAMILIES = st.sampled_from([*get_args(Family), None])
_KINDS = st.sampled_from(list(get_args(Kind)))
_RANGES = st.sampled_from([None, (1, 1), (2, None), (None, 9)])
_ASKS = st.tuples(st.sampled_from(["class", "home"]), _RANGES).map(
    lambda pair: Ask(where=pair[0], reps=pair[1], start_ms=0, end_ms=10)  # type: ignore[arg-type]
)
_LENGTHS = st.one_of(st.none(), MOMENTS)
_WORDS = st.sampled_from(SPOKEN)


def _made(kind: Callable[..., Edit], /, **fields: st.SearchStrategy[Any]) -> st.SearchStrategy[Edit]:
    # Not `builds`: it would also fill in the names that fields have in JSON.
    return st.fixed_dictionaries(fields).map(lambda values: kind(**values))


EDITS: st.SearchStrategy[Edit] = st.one_of(
    _made(TitleLesson, at_ms=st.just(0), title=TITLES),
    _made(Retitle, at_ms=MOMENTS, until_ms=_LENGTHS, title=TITLES),
    _made(Reclassify, at_ms=MOMENTS, kind=_KINDS, family=_FAMILIES),
    _made(SetAsked, at_ms=MOMENTS, asked=st.lists(_ASKS, max_size=3).map(tuple)),
    _made(AcceptUsual, at_ms=MOMENTS, asked=_ASKS, source=TITLES),
    _made(SetStill, at_ms=MOMENTS, still_ms=MOMENTS),
    _made(Hide, at_ms=MOMENTS, hidden=st.booleans()),
    _made(MoveBoundary, at_ms=MOMENTS, to_ms=MOMENTS),
    _made(Split, at_ms=MOMENTS, title=st.one_of(st.none(), TITLES)),
    _made(Merge, at_ms=MOMENTS),
    _made(AddHold, at_ms=MOMENTS, end_ms=MOMENTS),
    _made(RemoveHold, at_ms=MOMENTS),
    _made(AddStop, at_ms=MOMENTS, resume_ms=_LENGTHS),
    _made(MoveStop, at_ms=MOMENTS, to_ms=MOMENTS),
    _made(RemoveStop, at_ms=MOMENTS),
    _made(SetWord, at_ms=MOMENTS, was=_WORDS, text=TITLES),
    _made(ReplaceWords, at_ms=st.just(0), was=_WORDS, text=TITLES),
    _made(RemoveName, at_ms=st.just(0), was=st.just("Anna")),
    _made(BreakCaption, at_ms=MOMENTS, was=_WORDS),
    _made(JoinCaption, at_ms=MOMENTS, was=_WORDS),
    _made(SettleCheck, at_ms=st.sampled_from([0, 9_000, 18_000]), code=st.just("check-1"), settled=st.booleans()),
    _made(MarkChecked, at_ms=st.just(0), draft=st.just("abc"), checked=st.booleans()),
)
