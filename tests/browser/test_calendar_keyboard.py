"""The calendar by keyboard, on a phone, and without scripts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scheduling.services.bookings import booking_make
from tests.browser.screens import Clock, sign_in
from tests.factories import NOW
from tests.scheduling.shops import Small, correction, quoted_job, small_shop, wash

if TYPE_CHECKING:
    from playwright.sync_api import Page
    from pytest_django.live_server_helper import LiveServer

pytestmark = pytest.mark.browser


@pytest.fixture
def small(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> Small:
    Clock(monkeypatch)
    made = small_shop()
    for _ in range(2):
        job = quoted_job(made, wash(), correction())
        booking_make(job=job, member=made.desk, now=NOW)
    return made


def test_a_ribbon_is_reached_and_opened_by_keyboard(page: Page, small: Small) -> None:
    sign_in(page, small.desk, "/calendar/")
    page.get_by_role("group", name="Bays by time").focus()
    page.keyboard.press("Tab")
    focused = page.evaluate("document.activeElement.getAttribute('aria-label')")
    assert focused.startswith("J-")
    # The focus can be seen: the rim of every piece takes the accent.
    width = "e => parseFloat(getComputedStyle(e).strokeWidth)"
    focused_rim = page.locator("a.ribbon:focus .rim").first
    other_rim = page.locator("a.ribbon:not(:focus) .rim").first
    assert focused_rim.is_visible()
    assert focused_rim.evaluate(width) > other_rim.evaluate(width)
    page.keyboard.press("Enter")
    page.wait_for_url("**/jobs/*/")


def test_a_phone_gets_the_list_and_never_scrolls_sideways(page: Page, small: Small) -> None:
    page.set_viewport_size({"width": 360, "height": 740})
    job = small.wash.holds.first().job_id
    screens = ("/calendar/", "/reminders/", f"/jobs/{job}/move/", f"/jobs/{job}/", "/floor/")
    sign_in(page, small.desk)
    for path in screens:
        page.goto(path)
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, path
    page.goto("/calendar/")
    assert not page.locator(".cal").is_visible()
    assert page.get_by_role("link", name="J-").first.is_visible()


def test_days_are_turned_without_scripts(page: Page, live_server: LiveServer, small: Small) -> None:
    sign_in(page, small.desk)
    context = page.context.browser.new_context(
        java_script_enabled=False, storage_state=page.context.storage_state()
    )
    plain = context.new_page()
    plain.goto(f"{live_server.url}/calendar/")
    plain.get_by_role("link", name="Day", exact=True).click()
    plain.get_by_role("link", name="Day after").click()
    assert "Tuesday 3 March 2026" in plain.locator("main").inner_text()
    plain.get_by_label("Go to day").fill("2026-03-02")
    plain.get_by_role("button", name="Show the day").click()
    assert plain.get_by_role("link", name="pickup, crew cab").count() >= 1
    context.close()
