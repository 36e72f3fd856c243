"""A visit is moved in the calendar by pointer and by keyboard; others' changes appear."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

import pytest

from scheduling.services.bookings import booking_make, booking_move
from shop.models import Job
from tests.browser.screens import Clock, sign_in
from tests.factories import NOW
from tests.scheduling.shops import Small, correction, quoted_job, small_shop, wash

if TYPE_CHECKING:
    from playwright.sync_api import Locator, Page

pytestmark = pytest.mark.browser


@pytest.fixture
def small(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> Small:
    Clock(monkeypatch)
    return small_shop()


@pytest.fixture
def job(small: Small) -> Job:
    made = quoted_job(small, wash(), correction())
    return booking_make(job=made, member=small.desk, now=NOW, earliest=NOW + timedelta(days=1))


def ribbon_of(page: Page, job: Job) -> Locator:
    return page.locator(f"#visit-{job.pk}")


def drag(page: Page, job: Job, pixels: int) -> None:
    """Take the vehicle in the wash bay and hold it so many pixels further on."""
    piece = ribbon_of(page, job).locator(".piece").first
    piece.scroll_into_view_if_needed()
    box = piece.bounding_box()
    assert box is not None
    x, y = box["x"] + 4, box["y"] + 30
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + pixels, y, steps=4)


def test_a_dragged_visit_says_where_it_lands_moves_and_goes_back(
    page: Page, small: Small, job: Job
) -> None:
    before = job.arrives_at
    sign_in(page, small.desk, "/calendar/")
    drag(page, job, 400)
    page.locator("#cal-said", has_text="✓ Comes Thu 5 Mar").wait_for()
    assert page.locator(".ghost").count() >= 2
    job.refresh_from_db()
    assert job.arrives_at == before
    page.mouse.up()
    page.get_by_role("dialog").get_by_text("is written to with the new times").wait_for()
    page.get_by_role("button", name="Move the booking").click()
    page.get_by_text(f"{job.number} now arrives Thu 5 Mar").wait_for()
    job.refresh_from_db()
    assert job.arrives_at is not None
    assert (job.arrives_at - NOW).days >= 2
    assert page.url.endswith("/calendar/")
    page.get_by_role("button", name="Move it back").click()
    page.get_by_text(f"{job.number} is back where it was").wait_for()
    job.refresh_from_db()
    assert job.arrives_at == before


def test_where_it_cannot_go_the_reason_is_said_and_nothing_is_asked(
    page: Page, small: Small, job: Job
) -> None:
    sign_in(page, small.desk, "/calendar/")
    drag(page, job, -250)
    page.locator("#cal-said", has_text="× That has passed").wait_for()
    page.mouse.up()
    assert not page.get_by_role("dialog").is_visible()
    assert page.locator(".wish").count() == 0
    assert page.locator("#cal-said").inner_text().startswith("× That has passed")


def test_by_keyboard_it_is_moved_announced_and_confirmed(
    page: Page, small: Small, job: Job
) -> None:
    sign_in(page, small.desk, "/calendar/")
    ribbon_of(page, job).focus()
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("ArrowRight")
    said = page.get_by_role("status").filter(has_text="✓ Comes Wed 4 Mar 9:15")
    said.wait_for()
    page.keyboard.press("Escape")
    assert page.locator(".wish").count() == 0
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    page.get_by_role("dialog").wait_for()
    page.keyboard.press("Enter")
    page.get_by_text(f"{job.number} now arrives Wed 4 Mar 9:00").wait_for()
    focus = f"document.activeElement.id === 'visit-{job.pk}'"
    page.wait_for_function(focus)


def test_what_somebody_else_books_appears_and_the_focus_stays(
    page: Page, small: Small, job: Job
) -> None:
    sign_in(page, small.desk, "/calendar/")
    ribbon_of(page, job).focus()
    other = quoted_job(small, wash())
    booking_make(job=other, member=small.owner, now=NOW, earliest=NOW + timedelta(days=2))
    ribbon_of(page, other).wait_for(state="attached", timeout=9_000)
    assert page.evaluate("document.activeElement.id") == f"visit-{job.pk}"


def test_two_people_move_one_vehicle_and_the_second_is_told(
    page: Page, small: Small, job: Job
) -> None:
    sign_in(page, small.desk, "/calendar/")
    drag(page, job, 400)
    page.locator("#cal-said", has_text="✓ Comes").wait_for()
    page.mouse.up()
    page.get_by_role("dialog").wait_for()
    later = NOW + timedelta(days=3)
    booking_move(job=job, member=small.owner, now=NOW, earliest=later)
    page.get_by_role("button", name="Move the booking").click()
    told = page.get_by_role("alert").filter(has_text=f"moved by {small.owner.name} meanwhile")
    told.wait_for()
    assert page.get_by_role("button", name="Move the booking").is_disabled()
    # The picture behind becomes the present one.
    fresh = page.locator(f"#visit-{job.pk}[aria-label*='5 Mar 2026 9:00 to']")
    fresh.wait_for(state="attached")
    job.refresh_from_db()
    assert job.arrives_at == later
