"""The desk's process is killed in the middle of things; `python -m tests.evaluation.desk` does it twenty times."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser

from tests.browser.killing import Victim

pytestmark = pytest.mark.browser


def test_killed_while_editing_nothing_typed_is_lost(browser: Browser, tmp_path: Path) -> None:
    with Victim(browser, tmp_path / "lessons") as victim:
        for number in range(3):
            victim.while_editing(number)


def test_killed_while_publishing_all_files_are_old_or_all_are_new(browser: Browser, tmp_path: Path) -> None:
    with Victim(browser, tmp_path / "lessons") as victim:
        longest = victim.time_to_publish()
        for number in range(3):
            victim.while_publishing(number, longest)
