"""Searching: the right moments, in a sensible order, whatever a person types."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from nltk.stem import PorterStemmer

from segmenter.library.index import refresh
from segmenter.library.search import search
from segmenter.understand.catalogue import load_catalogue
from tests.lessons import lesson_of, spoken
from tests.library.shelf import a_class, put


@pytest.fixture(scope="module")
def library(tmp_path_factory: pytest.TempPathFactory) -> Path:
    root = tmp_path_factory.mktemp("library")
    put(root / "2026-01-05 voice", a_class("January", ["chin-tuck", "siren"]))
    put(root / "2026-04-01 legs", a_class("April", ["single-leg-stance", "chin-tuck"]))
    refresh(root, load_catalogue())
    return root


def test_an_exercise_and_a_side_lead_to_the_moment_in_which_the_side_is_spoken_of(library: Path) -> None:
    moments = search(library, "chin tuck left")
    assert [(m.folder, m.at_ms) for m in moments] == [("2026-04-01 legs", 22_250), ("2026-01-05 voice", 2_250)]
    assert all("left" in moment.text for moment in moments)
    assert moments[1].link(library).endswith("/2026-01-05%20voice/index.html#t=2.25")


def test_an_exercise_is_found_by_any_of_its_names(library: Path) -> None:
    known = load_catalogue().by_id("siren")
    for name in (known.name, known.plain, *known.says):
        found = search(library, name)
        assert found, name
        assert (found[0].chapter, found[0].kind) == ("Siren", "chapter")


def test_forms_of_a_word_beginnings_and_doses_count(library: Path) -> None:
    assert search(library, "tucking")[0].chapter == "Chin tuck"
    assert search(library, "pian")[0].chapter == "Siren"
    assert search(library, "stance 5 times")[0].chapter == "Single leg stance"
    assert search(library, "piano counter") == []


@pytest.mark.parametrize(
    "text", ["", "  ", '"', "said:x", "NEAR(a b)", "a AND", "chin*", "-tuck", "(", "😀", "a" * 5000]
)
def test_no_sign_is_read_as_an_order(text: str, library: Path) -> None:
    assert isinstance(search(library, text), list)


@given(text=st.text(max_size=60))
@settings(max_examples=150, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_nothing_that_is_typed_is_a_fault(text: str, library: Path) -> None:
    search(library, text)


def test_it_finds_what_a_reading_of_every_sentence_finds(tmp_path: Path) -> None:
    """Against a plain reading with NLTK's Porter stemmer in its original form, as SQLite's "porter" is."""
    sentences = [
        "Lift the shoulders slowly.", "The shoulder blades slide down.", "Breathing in, lifting the ribs.",
        "Slowly sliding the tongue.", "Breathe out and rest.", "Rested shoulders, easy breath.",
    ]  # fmt: skip
    for number, text in enumerate(sentences):
        put(tmp_path / f"{number}", lesson_of(spoken(text, 500), title="Talk"))
    refresh(tmp_path, load_catalogue())
    stem = PorterStemmer(mode=PorterStemmer.ORIGINAL_ALGORITHM).stem
    stems = [{stem(word) for word in re.findall(r"\w+", text.lower())} for text in sentences]
    for asked in ("shoulders", "lift", "slide", "breathing", "rest", "slow slide", "shoulder rest"):
        wanted = {
            str(number) for number, said in enumerate(stems) if {stem(word) for word in asked.split()} <= said
        }
        assert {moment.folder for moment in search(tmp_path, f"{asked} .")} >= wanted, asked
        exact = {moment.folder for moment in search(tmp_path, asked) if moment.kind == "said"}
        assert exact >= wanted, asked


def test_one_long_chapter_does_not_hide_the_others(tmp_path: Path) -> None:
    put(tmp_path / "long", lesson_of(spoken("Breathe in. Breathe out. " * 40, 500), title="Breath talk"))
    put(tmp_path / "short", lesson_of(spoken("Now breathe with me.", 500), title="Other"))
    refresh(tmp_path, load_catalogue())
    assert [moment.folder for moment in search(tmp_path, "breathe")].count("long") == 2
    assert "short" in {moment.folder for moment in search(tmp_path, "breathe")}
