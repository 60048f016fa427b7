"""Cuts and starts are searched together, within what must be and what must not."""

from __future__ import annotations

from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from segmenter.publish.caption_cuts import Bounds, Cut, cut
from segmenter.publish.limits import CEILING_WPM, EARLY_ON_MS, LATE_OFF_MS, LINE, LONGEST_MS, SHORTEST_MS
from segmenter.publish.phrases import Token, may_part


def said(text: str, start_ms: int, each_ms: int) -> list[Token]:
    return [
        Token(word, start_ms + n * each_ms, start_ms + n * each_ms + each_ms * 9 // 10)
        for n, word in enumerate(text.split())
    ]


def rates(tokens: list[Token], cuts: list[Cut], end_ms: int) -> list[float]:
    """Words a minute of each cue, shown until the next one comes."""
    found = []
    for at, one in enumerate(cuts):
        following = cuts[at + 1].start_ms if at + 1 < len(cuts) else end_ms
        spoken_end = max(token.end_ms for token in tokens[one.first : one.last])
        there = min(following - one.start_ms, LONGEST_MS, spoken_end + LATE_OFF_MS - one.start_ms)
        found.append((one.last - one.first) * 60_000 / there)
    return found


def test_a_fast_cue_borrows_from_calm_ones_around_it() -> None:
    calm, quick = (
        "Sit up tall on your chair with both feet down.",
        "Let your arms and shoulders hang down beside you.",
    )
    tokens = said(calm, 0, 420)
    tokens += said(quick, 4_200, 315)
    tokens += said(calm, 7_035, 420)
    cuts = cut(tokens, Bounds(until={len(tokens): 13_000}))
    assert [tokens[one.first].text for one in cuts] == ["Sit", "Let", "Sit"]
    as_spoken = 9 * 60_000 / (7_035 - 4_200)
    assert max(rates(tokens, cuts, 13_000)) <= CEILING_WPM < as_spoken


def test_a_quick_scrap_shares_a_cue_with_its_calm_neighbour() -> None:
    tokens = said("And so we go.", 0, 250) + said("Breathe in slowly through your nose.", 1_000, 450)
    cuts = cut(tokens, Bounds(until={len(tokens): 5_000}))
    assert [one.lines for one in cuts] == [("And so we go.", "Breathe in slowly through your nose.")]


def test_a_pause_gives_its_time_to_what_stands_before_it() -> None:
    quick = said("Now lift both of your arms up high to the sky,", 0, 280)
    tokens = quick + said("and let them come down again beside your hips.", 4_200, 400)
    cuts = cut(tokens, Bounds(until={len(tokens): 9_000}))
    assert [tokens[one.first].text for one in cuts] == ["Now", "and"]
    assert max(rates(tokens, cuts, 9_000)) <= CEILING_WPM


words = st.lists(
    st.tuples(
        st.sampled_from(["we", "breathe", "in,", "out.", "slowly", "to", "the", "Seven"]), st.integers(0, 900)
    ),
    max_size=40,
)
numbers = st.frozensets(st.integers(1, 39))


@settings(max_examples=80)
@given(words, numbers, numbers, numbers)
def test_what_must_be_is_and_what_must_not_is_not(
    spoken: list[tuple[str, int]], forced: frozenset[int], exact: frozenset[int], never: frozenset[int]
) -> None:
    tokens: list[Token] = []
    for text, pause in spoken:
        start = (tokens[-1].end_ms if tokens else 0) + pause
        tokens.append(Token(text, start, start + 240))
    end = tokens[-1].end_ms + 2_000 if tokens else 0
    whole = frozenset(at + 1 for at in exact if at + 1 not in forced | exact and at + 1 < len(tokens))
    cuts = cut(tokens, Bounds(forced | exact, whole, exact, never, {len(tokens): end}))
    assert [at for one in cuts for at in range(one.first, one.last)] == list(range(len(tokens)))
    edges = {one.first for one in cuts}
    assert {at for at in forced | exact if at < len(tokens)} <= edges
    assert not whole & edges
    for one in cuts:
        shift = one.start_ms - tokens[one.first].start_ms
        assert one.start_ms >= 0
        assert abs(shift) <= (0 if one.first in exact else EARLY_ON_MS)
        assert shift >= 0 or one.first not in never
        assert len(one.lines) <= 2
        assert all(len(line) <= LINE for line in one.lines)
        assert " ".join(one.lines) == " ".join(token.text for token in tokens[one.first : one.last])


def test_a_phrase_is_parted_before_a_cue_runs_too_fast() -> None:
    quick = "We take one easy breath and ride it on a steady ah until it is gone."
    calm = "Tip the chin down to the chest and swallow as hard as you can while it stays there."
    tokens = said(quick, 0, 312)
    tokens += said(calm, tokens[-1].start_ms + 312, 360)
    end = tokens[-1].end_ms
    cuts = cut(tokens, Bounds(until={len(tokens): end}))
    assert max(rates(tokens, cuts, end)) <= CEILING_WPM
    texts = [token.text for token in tokens]
    assert sum(not may_part(texts, one.first) for one in cuts) <= 1


def test_speech_that_nobody_can_slow_still_breaks_at_phrases() -> None:
    text = "Put your hands on your knees and lean a little forward, then push the floor away with your feet. " * 4
    tokens = said(text, 0, 200)  # 300 words a minute
    cuts = cut(tokens, Bounds(until={len(tokens): tokens[-1].end_ms + 2_000}))
    texts = [token.text for token in tokens]
    assert all(may_part(texts, one.first) for one in cuts)
    assert all(b.start_ms - a.start_ms >= SHORTEST_MS for a, b in pairwise(cuts))
