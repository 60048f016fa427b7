"""Numbers weighed by what was learned: beside the rules, and against scikit-learn's own probabilities."""

from pathlib import Path

import numpy as np
import pytest

from segmenter.lesson import Ask, Word
from segmenter.resources import shipped
from segmenter.understand.catalogue import load_catalogue
from segmenter.understand.dose import find_asks, read_doses
from segmenter.understand.dose_verdicts import MEASURES, Measure, Weighed, outweighed, within
from segmenter.understand.dose_weighed import Weights, numbers_of
from segmenter.understand.examples import example_of
from segmenter.understand.reader import ROLES, SUBJECTS, Readings
from segmenter.understand.scripts import read_script
from segmenter.understand.train_doses import Case, cases_of, fit_doses

CLASSES = sorted((shipped("training") / "classes").glob("d_0[1-3]*.txt"))


def spoken(text: str) -> list[Word]:
    words, at = [], 0
    for token in text.split():
        words.append(Word(text=token, start_ms=at, end_ms=at + 280))
        at += 300
    return words


def sure(words: list[Word], **measures: tuple[Measure, float]) -> list[Weighed]:
    """A number is a word; with what it measures for certain, and how likely it is for home."""
    found = []
    for at, word in enumerate(words):
        bare = word.text.strip(".,").lower()
        if bare in measures:
            measure, home = measures[bare]
            found.append(Weighed(at, at + 1, tuple(float(m == measure) for m in MEASURES), home))
    return found


def the_ask(asks: tuple[Ask, ...]) -> Ask:
    (ask,) = asks
    return ask


def test_a_number_no_rule_knows_is_read() -> None:
    words = spoken("Find twelve words on the back of a packet.")
    assert not find_asks(words)
    assert the_ask(find_asks(words, sure(words, twelve=("reps", 0.1)))).reps == (12, 12)


def test_minutes_stay_minutes() -> None:
    words = spoken("The kettle song, about two minutes.")
    ask = the_ask(find_asks(words, sure(words, two=("hold_s", 0.9))))
    assert (ask.hold_s, ask.where) == ((120, 120), "home")


def test_what_has_a_unit_of_time_never_becomes_repetitions() -> None:
    words = spoken("Keep it there, two minutes.")
    assert all(ask.reps is None for ask in find_asks(words, sure(words, two=("reps", 0.1))))


def test_a_number_in_talk_is_dropped_and_the_other_kept() -> None:
    words = spoken("Do ten of these. Do four of these.")
    asks = find_asks(words, sure(words, ten=(None, 0.5), four=("reps", 0.1)))
    assert the_ask(asks).reps == (4, 4)


def test_only_a_clear_lead_moves_a_dose() -> None:
    words = spoken("Do ten of these.")
    assert the_ask(find_asks(words, sure(words, ten=("reps", 0.97)))).where == "home"
    assert the_ask(find_asks(words, sure(words, ten=("reps", 0.75)))).where == "class"
    assert the_ask(find_asks(words, sure(words, ten=("reps", 0.0)), away=True)).where == "home"


def test_a_place_that_was_said_is_never_moved() -> None:
    words = spoken("Do ten of these here, and at home four of them.")
    asks = find_asks(words, sure(words, ten=("reps", 0.99), four=("reps", 0.01)))
    assert [(ask.where, ask.reps) for ask in asks] == [("class", (10, 10)), ("home", (4, 4))]
    words = spoken("At home find twelve words.")
    assert the_ask(find_asks(words, sure(words, twelve=("reps", 0.01)))).where == "home"


def test_a_number_nobody_weighed_stays_as_the_rules_have_it() -> None:
    words = spoken("Hold for five seconds, then rest for ten seconds, three times.")
    doses = read_doses(words)
    assert [outweighed(one, (), away=False) for one in doses.utterances] == [list(doses.utterances[0].amounts)]
    assert find_asks(words) == doses.asks


def test_places_are_counted_from_the_first_word() -> None:
    one = Weighed(7, 9, (1.0, *[0.0] * 6), 0.5)
    assert within([one], 5, 10) == [Weighed(2, 4, one.measures, 0.5)]
    assert within([one], 8, 10) == []


@pytest.fixture(scope="module")
def cases() -> list[Case]:
    catalogue = load_catalogue()
    made: list[Case] = []
    for path in CLASSES:
        example = example_of(read_script(path), catalogue)
        n = len(example.lines)
        nothing = [np.zeros(shape, np.float32) for shape in ((n, 1), (n, len(SUBJECTS)), (n,), (n, len(ROLES)))]
        made += cases_of(example, Readings(*nothing), ())
    return made


def test_marked_doses_find_their_numbers(cases: list[Case], tmp_path: Path) -> None:
    path = tmp_path / "one.txt"
    path.write_text(
        "voice: x\n== exercise voice\nask: Ten of those, and at home three lots of eight, five seconds each."
        " | ask class reps=10; ask home sets=3 reps=8 hold_s=5\nstory: My nine cousins came.\n",
        encoding="utf-8",
    )
    example = example_of(read_script(path), load_catalogue())
    n = len(example.lines)
    readings = Readings(
        np.zeros((n, 1), np.float32), np.zeros((n, len(SUBJECTS)), np.float32), np.zeros(n, np.float32),
        np.zeros((n, len(ROLES)), np.float32),
    )  # fmt: skip
    told = {
        int(number.number.value or 0): (MEASURES[case.measure], case.home)
        for number, case in zip(numbers_of(example.facts.utterances), cases_of(example, readings, ()), strict=True)
    }
    assert told == {
        10: ("reps", False), 3: ("sets", True), 8: ("reps", True), 5: ("hold_s", True), 9: (None, None),
    }  # fmt: skip


def test_the_weights_give_the_probabilities_of_the_library_that_fitted_them(
    cases: list[Case], tmp_path: Path
) -> None:
    """Reference: scikit-learn's LogisticRegression.predict_proba, fitted anew to the same rows."""
    from sklearn.feature_extraction import DictVectorizer
    from sklearn.linear_model import LogisticRegression

    from segmenter.understand.train_doses import EASE

    weights = fit_doses(cases)
    names = set(weights.names)
    rows = [{name: value for name, value in case.features.items() if name in names} for case in cases]
    table = DictVectorizer(dtype=np.float32).fit_transform(rows)
    measures = np.array([case.measure for case in cases])
    model = LogisticRegression(C=EASE, max_iter=500, fit_intercept=False).fit(table, measures)
    weights.keep(tmp_path)
    for row, expected in zip(rows, model.predict_proba(table), strict=True):
        own = np.array(weights.weigh(row)[0])[model.classes_]
        assert np.abs(own - expected).max() < 0.02
    right = [int(np.argmax(weights.weigh(case.features)[0])) == case.measure for case in cases]
    assert np.mean(right) > 0.95


def test_kept_weights_are_read_back(cases: list[Case], tmp_path: Path) -> None:
    fit_doses(cases).keep(tmp_path)
    with np.load(tmp_path / "doses.npz") as file:
        again = Weights(tuple(file["names"].tolist()), file["rows"].astype(np.float32))
    for case in cases[:40]:
        assert sum(again.weigh(case.features)[0]) == pytest.approx(1, abs=1e-5)
