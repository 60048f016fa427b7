"""The page's words: two whole languages, and doses that say the same as everywhere else."""

from __future__ import annotations

import re
import string
import struct
import zlib
from importlib.resources import files
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st

from segmenter.lesson import FAMILY_NAMES, Ask, PartKind, Side
from segmenter.publish.page.fonts import woff
from segmenter.publish.page.pack import pack, unpack
from segmenter.publish.page.phrases import dose, length
from segmenter.publish.page.texts import LANGUAGES, texts
from segmenter.publish.wording import DEFER, DO_NOT_START, STOP_AND_REST, STOP_FOR_HELP, dose_text
from segmenter.times import spoken_length

OTHERS = [language for language in LANGUAGES if language != "en"]


def places(text: str) -> set[str]:
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


@pytest.mark.parametrize("language", OTHERS)
def test_language_is_complete(language: str) -> None:
    first, other = texts("en"), texts(language)
    assert list(other) == list(first)
    assert {key: places(other[key]) for key in first} == {key: places(first[key]) for key in first}
    assert not [key for key, text in other.items() if not text.strip()]
    # Signs and names may be alike; sentences may not: one that is was forgotten.
    alike = [key for key in first if other[key] == first[key] and len(re.findall(r"[A-Za-z]{3,}", first[key])) > 1]
    assert alike == []


def test_safety_lines_and_families_are_the_ones_said_elsewhere() -> None:
    table = texts("en")
    assert [table[k] for k in ("defer", "stop_help", "stop_rest", "not_start")] == [
        DEFER, STOP_FOR_HELP, STOP_AND_REST, DO_NOT_START,
    ]  # fmt: skip
    assert {family: table[f"family_{family}"] for family in FAMILY_NAMES} == dict(FAMILY_NAMES)
    assert all(f"part_{kind}" in table for kind in get_args(PartKind))
    assert all(f"side_{side}" in table for side in get_args(Side))


def spans(least: int) -> st.SearchStrategy[tuple[int | None, int | None]]:
    numbers = st.integers(least, 40)
    pair = st.tuples(numbers, numbers).map(lambda both: (min(both), max(both)))
    return st.one_of(pair, st.tuples(numbers, st.none()), st.tuples(st.none(), numbers))


@given(
    st.builds(
        lambda **said: Ask(start_ms=0, end_ms=0, **said),
        where=st.sampled_from(["class", "home"]),
        reps=st.none() | spans(1),
        hold_s=st.none() | spans(1),
        sets=st.none() | spans(1),
        rest_s=st.none() | spans(1),
        side=st.sampled_from([None, "left", "right", "both"]),
        pattern=st.none() | st.tuples(*[st.none() | st.integers(0, 9).map(float)] * 4),
        effort=st.none() | st.sampled_from(["gentle", "like a loud  voice"]),
        per_day=st.none() | spans(1),
        days_per_week=st.none() | spans(1),
    )
)
def test_english_dose_is_the_one_of_every_other_file(ask: Ask) -> None:
    assert dose(ask, texts("en")) == dose_text(ask)


def test_german_dose() -> None:
    ask = Ask(
        where="home", start_ms=0, end_ms=9, reps=(5, 10), hold_s=(2.5, 2.5), per_day=(1, 1), days_per_week=(7, 7)
    )
    assert dose(ask, texts("de")) == "5 bis 10-mal, 2,5 Sekunden halten, 1-mal am Tag, jeden Tag"


@pytest.mark.parametrize("ms", [0, 999, 1_000, 59_600, 60_000, 61_000, 3_600_000])
def test_length_is_the_one_of_every_other_file(ms: int) -> None:
    assert length(ms, texts("en")) == spoken_length(ms)


def test_typeface_comes_out_of_its_packing_as_it_went_in() -> None:
    """Read back by the tables of W3C WOFF 1.0, sections 3 and 5; the browser tests show it is drawn."""
    source = (files("fontpkg_atkinson_hyperlegible") / "files" / "AtkinsonHyperlegible-Bold.ttf").read_bytes()
    packed = woff(source)
    signature, flavour, total, count, zero, unpacked = struct.unpack_from(">4sIIHHI", packed)
    assert (signature, flavour, total, zero) == (b"wOFF", 0x00010000, len(packed), 0)
    assert len(packed) < 0.6 * len(source)
    assert unpacked == 12 + 16 * count + sum(
        (struct.unpack_from(">I", packed, 44 + 20 * n + 12)[0] + 3) // 4 * 4 for n in range(count)
    )
    for n in range(count):
        tag, offset, short, long, check = struct.unpack_from(">4sIIII", packed, 44 + 20 * n)
        assert offset % 4 == 0
        table = packed[offset : offset + short]
        table = zlib.decompress(table) if short < long else table
        assert table == source[struct.unpack_from(">I", source, 12 + 16 * n + 8)[0] :][:long]
        # Checksum of a table, OpenType specification, "Calculating checksums"; head carries its own exception.
        words = struct.unpack(f">{(len(table) + 3) // 4}I", table + bytes(-len(table) % 4))
        assert tag == b"head" or sum(words) & 0xFFFFFFFF == check


@given(st.recursive(st.text() | st.integers(), st.lists, max_leaves=20))
def test_packed_data_comes_back(value: object) -> None:
    text, size = pack(value)
    assert unpack(text) == value
    assert size > 0
    assert re.fullmatch(r"[A-Za-z0-9+/]+=*", text)
