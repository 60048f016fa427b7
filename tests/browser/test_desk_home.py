"""The queue as a person sees it: faults in plain words, tried again, stopped, going on after a restart."""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.desk import MEDIA, enter
from tests.browser.test_access import violations
from tests.media_files import make
from tests.review.serving import running

pytestmark = pytest.mark.browser
PATIENCE = 300_000  # a helper process starts with the recogniser: slow on a busy machine


def add(page: Page, path: Path | str) -> None:
    page.locator("#path").fill(str(path))
    page.locator("#path").press("Enter")


def test_a_path_that_leads_nowhere_is_told_and_a_bad_recording_tried_again(
    browser: Browser, tmp_path: Path
) -> None:
    context, faults = browser.new_context(), list[str]()
    with running(tmp_path / "lessons") as desk:
        page = enter(context, desk, faults)
        page.get_by_text("Or name a file").click()
        for path, told in (
            ("class.mp4", "not a whole path"),
            (tmp_path / "gone.mp4", "no such file"),
            (tmp_path, "no recording"),
        ):
            add(page, path)
            expect(page.locator("#add-problem")).to_contain_text(told)
        assert not page.locator("#jobs").is_visible()
        add(page, make(tmp_path / "slip.mp4", 2))
        expect(page.locator("#add-problem")).to_be_hidden()
        expect(page.locator("#path")).to_have_value("")
        failed = page.locator(".job.failed")
        expect(failed).to_contain_text("This did not work", timeout=PATIENCE)
        words = failed.locator(".say").inner_text()
        assert "Error" not in words, "no words of programs"
        assert "slip.mp4" in words
        assert words.count("..") == 0
        assert violations(page) == []
        page.get_by_role("button", name="Try again: slip").click()
        page.locator(".job.working, .job.waiting").wait_for()
        expect(failed).to_contain_text("This did not work", timeout=PATIENCE)
        page.get_by_role("button", name="Take off this list: slip").click()
        expect(page.locator("#jobs")).to_be_hidden()
    context.close()
    assert [fault for fault in faults if "422" not in fault] == []


def test_the_queue_goes_on_after_a_restart_and_can_be_stopped(browser: Browser, tmp_path: Path) -> None:
    context, faults = browser.new_context(), list[str]()
    with running(tmp_path / "lessons") as desk:
        page = enter(context, desk, faults)
        page.get_by_text("Or name a file").click()
        add(page, MEDIA)
        page.locator(".job.working").wait_for(timeout=PATIENCE)
        add(page, make(tmp_path / "slip.mp4", 2))
        expect(page.locator(".job.waiting")).to_contain_text("Waits for its turn")
        page.close()
    with running(tmp_path / "lessons") as desk:
        page = enter(context, desk, faults)
        page.locator(".job.working", has_text=MEDIA.stem).wait_for(timeout=PATIENCE)
        expect(page.locator(".job.waiting")).to_contain_text("slip")
        page.get_by_role("button", name=f"Stop: {MEDIA.stem}").click()
        stopped = page.locator(".job.cancelled")
        expect(stopped).to_contain_text("Stopped. What was finished is kept.")
        assert violations(page) == []
        # the next one has its turn, and the stopped one can still be wanted after all
        expect(page.locator(".job.failed")).to_contain_text("slip", timeout=PATIENCE)
        page.get_by_role("button", name=f"Try again: {MEDIA.stem}").click()
        page.locator(".job.working", has_text=MEDIA.stem).wait_for(timeout=PATIENCE)
        page.get_by_role("button", name=f"Stop: {MEDIA.stem}").click()
        stopped.wait_for()
    context.close()
    assert faults == []
