"""The catalogue of exercises: its content against published figures, and its faults by line."""

import pickle
import re
from pathlib import Path
from typing import get_args

import pytest

from segmenter.errors import CatalogueError
from segmenter.lesson import Family
from segmenter.resources import shipped
from segmenter.understand.catalogue import Exercise, load_catalogue, read_exercises

CATALOGUE = load_catalogue()
ONE = """\
- id: wink
  name: Wink
  plain: close one eye
  family: face
  held: reps
  sides: each
  says: [close one eye]
  usual:
    text: 5 times
    reps: [5, 5]
    source: "common practice, no source"
"""


def write(folder: Path, text: str, name: str = "own.yaml") -> Path:
    file = folder / name
    file.write_text(text, encoding="utf-8")
    return file


def faults(file: Path) -> list[str]:
    with pytest.raises(CatalogueError) as caught:
        read_exercises([file])
    return caught.value.problem.splitlines()


def test_every_family_is_there_and_in_its_own_file() -> None:
    assert len(CATALOGUE.exercises) >= 120
    assert {exercise.family for exercise in CATALOGUE.exercises} == set(get_args(Family))
    for file in shipped("catalogue").glob("*.yaml"):
        assert {exercise.family for exercise in read_exercises([file])} == {file.stem}


def test_every_exercise_and_every_caution_names_its_source() -> None:
    for exercise in CATALOGUE.exercises:
        for source in (exercise.usual.source, *(caution.source for caution in exercise.cautions)):
            # A year, a service or page, or an honest word that there is none.
            assert re.search(
                r"\d{4}|page|leaflet|handouts?|sheet|booklet|NICE|from memory|common practice, no source", source
            ), (exercise.id, source)


def test_what_can_hurt_carries_its_caution() -> None:
    """Risks named by the leaflets and papers cited in the catalogue; the choice of rows is common practice."""
    for exercise in CATALOGUE.exercises:
        said = " ".join(caution.text for caution in exercise.cautions).lower()
        if exercise.family == "swallow":
            assert "wrong way" in said, exercise.id
            assert "your own swallow clinician" in said, exercise.id
    needed = {
        "super-supraglottic-swallow": "stroke",
        "head-lift-hold": "neck",
        "head-turn": "giddy",
        "single-leg-stance": "worktop",
        "four-part-equal-breath": "breath",
    }
    for id, word in needed.items():
        assert word in " ".join(c.text for c in CATALOGUE.by_id(id).cautions).lower(), id


def test_an_unknown_id_is_a_key_error() -> None:
    assert "no-such-thing" not in CATALOGUE
    with pytest.raises(KeyError):
        CATALOGUE.by_id("no-such-thing")


@pytest.mark.parametrize(
    ("id", "field", "printed"),
    [
        # Wada et al. 2012, Arch Phys Med Rehabil 93:1995-9: five openings of 10 s, two sets a day, four weeks.
        ("jaw-opening-hold", "reps", (5, 5)),
        ("jaw-opening-hold", "hold_s", (10, 10)),
        ("jaw-opening-hold", "weeks", (4, 4)),
        # Clin Interv Aging 2019, 14:601-8: five presses of 10 s with 10 s rest, two sets.
        ("tongue-press", "hold_s", (10, 10)),
        ("tongue-press", "rest_s", (10, 10)),
        # Kent Community Health leaflet on head lifts, 2022: three holds of a minute, then thirty lifts.
        ("head-lift-hold", "hold_s", (60, 60)),
        ("head-lift-repeats", "reps", (30, 30)),
        # Feland et al. 2001, Phys Ther 81:1110-7: the best of the three stretch times was 60 s, four times.
        ("hamstring-stretch", "hold_s", (60, 60)),
        ("hamstring-stretch", "reps", (4, 4)),
        # Reyes et al. 2018, Clin Rehabil: five sets of five breaths, six days a week, eight weeks.
        ("expiratory-muscle-training", "sets", (5, 5)),
        ("expiratory-muscle-training", "days_per_week", (6, 6)),
        # NICE quality standard 77 (number second-hand): at least eight contractions three times a day.
        ("pelvic-floor-slow", "reps", (8, None)),
    ],
)
def test_printed_doses_are_kept(id: str, field: str, printed: tuple[int | None, int | None]) -> None:
    assert getattr(CATALOGUE.by_id(id).usual, field) == printed


def test_usual_doses_are_plausible() -> None:
    """Ranges: stretches up to 60 s for older adults (Garber et al. 2011, second-hand); muscle holds
    3-10 s, a minute only for the head lift and the ball press; held vowels 3-20 s in class; 5-30
    repetitions a set (common practice, no source)."""
    long_holds = {"head-lift-hold", "chin-tuck-ball-hold"}
    for exercise in CATALOGUE.exercises:
        usual = exercise.usual
        least, most = usual.hold_s or (None, None)
        if exercise.held == "silent" and exercise.id not in long_holds and exercise.family != "balance":
            assert (most or 0) <= 10, exercise.id
        if exercise.held == "voiced":
            assert 2 <= (least or 3) <= (most or 3) <= 20, exercise.id
        if exercise.held == "timed":
            assert (most or 30) <= 60, exercise.id
        if usual.reps is not None:
            assert 1 <= (usual.reps[1] or usual.reps[0] or 0) <= 50, exercise.id
        assert (usual.days_per_week or (1, 7))[1] in range(1, 8), exercise.id
        assert (usual.per_day or (1, 1))[1] in range(1, 6), exercise.id


def test_a_look_alike_is_not_merged() -> None:
    """Chin tucks against a ball, as a posture for swallowing and for the neck are different exercises, and
    so are the supraglottic swallow and its stronger kin (common practice, no source)."""
    chins = ["chin-tuck-ball-hold", "chin-tuck-ball-repeats", "chin-down-swallow", "chin-retraction"]
    assert len({CATALOGUE.by_id(id).name for id in chins}) == 4
    plain, strong = CATALOGUE.by_id("supraglottic-swallow"), CATALOGUE.by_id("super-supraglottic-swallow")
    assert len(strong.cautions) > len(plain.cautions)


def test_all_faults_of_a_file_are_told_at_once_with_their_lines(tmp_path: Path) -> None:
    text = ONE.replace("face", "feet").replace("  plain: close one eye\n", "") + ONE.replace("[5, 5]", "[9, 5]")
    text += ONE.replace("wink", "blink").replace("sides", "side")
    told = faults(write(tmp_path, text))
    assert [(re.search(r"line (\d+)", line) or [""])[1] for line in told] == ["1", "3", "20", "22", "27"]
    assert "plain is missing" in told[0]
    assert "unknown family 'feet'" in told[1]
    assert "9 to 5" in told[2]
    assert "sides is missing" in told[3]
    assert "side is not a field" in told[4]


@pytest.mark.parametrize(
    ("old", "new", "line", "message"),
    [
        ("name: Wink", "name: [Wink", 3, "not YAML"),
        ("name: Wink", "name: yes", 2, "quotes"),
        ("name: Wink", "name: Wink\n  name: Blink", 3, "written twice"),
        ("id: wink", "id: Wink Eye", 1, "id"),
        ("[close one eye]", "[Close one eye]", 7, "lower case"),
        ("[close one eye]", "[]", 7, "says"),
        ("reps: [5, 5]", "reps: 5", 10, "reps"),
        ("text: 5 times", "text: 5 times\n    dose: 3", 10, "dose is not a field"),
    ],
)
def test_a_fault_names_its_line(tmp_path: Path, old: str, new: str, line: int, message: str) -> None:
    told = faults(write(tmp_path, ONE.replace(old, new)))
    assert any(f"line {line}:" in fault and message in fault for fault in told), told


def test_an_id_used_twice_names_both_places(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match="already used at") as caught:
        read_exercises([write(tmp_path, ONE, "a.yaml"), write(tmp_path, "\n" + ONE, "b.yaml")])
    assert "b.yaml, line 2" in str(caught.value)
    assert "a.yaml, line 1" in str(caught.value)
    assert str(pickle.loads(pickle.dumps(caught.value))) == str(caught.value)  # noqa: S301


@pytest.mark.parametrize("text", ["", "exercises: none", "just words"])
def test_a_file_that_is_no_list_is_refused(tmp_path: Path, text: str) -> None:
    assert "list of exercises" in faults(write(tmp_path, text))[0]


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match="cannot be read"):
        load_catalogue(tmp_path / "nowhere.yaml")


def test_a_clinics_own_file_adds_and_replaces(tmp_path: Path) -> None:
    own = write(tmp_path, ONE + ONE.replace("wink", "head-turn", 1).replace("Wink", "Our head turn"))
    both = load_catalogue(own)
    assert both.by_id("wink").sides == "each"
    assert both.by_id("head-turn").name == "Our head turn"
    assert len(both.exercises) == len(CATALOGUE.exercises) + 1
    assert load_catalogue() is CATALOGUE
    assert CATALOGUE.by_id("head-turn").name != "Our head turn"


def test_the_catalogue_is_frozen() -> None:
    exercise: Exercise = CATALOGUE.exercises[0]
    with pytest.raises(ValueError, match="frozen"):
        exercise.name = "Something else"  # type: ignore[misc]


def test_names_carry_no_registered_mark() -> None:
    for file in shipped("catalogue").glob("*.yaml"):
        assert not re.search("[®™]", file.read_text(encoding="utf-8"))
