"""What is needed to run may be handed on under Apache-2.0."""

from __future__ import annotations

from tests.evaluation.audit import is_suited, licence_of, needed


def test_every_package_needed_to_run_has_a_licence_that_suits() -> None:
    packages = needed()
    assert {"faster-whisper", "spacy", "numpy", "pydantic-core"} <= set(packages), (
        "what they need is looked at, too"
    )
    assert not {"pytest", "praat-parselmouth"} & set(packages), "tests are not handed on"
    for name, package in packages.items():
        licence = licence_of(package)
        assert licence != "not said", name
        assert is_suited(licence), f"{name}: {licence}"


def test_licences_that_ask_for_more_do_not_suit() -> None:
    for licence in (
        "GPL-3.0-or-later",
        "GNU General Public License v3 (GPLv3)",
        "AGPL-3.0-only",
        "CC-BY-NC-4.0 noncommercial",
    ):
        assert not is_suited(licence), licence
    for licence in ("MIT", "LGPL-2.1-or-later", "MIT OR GPL-2.0-only", "Apache-2.0 AND CNRI-Python"):
        assert is_suited(licence), licence
