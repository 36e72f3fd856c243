"""The floor in the browser: a tap keeps the focus, a refresh leaves what is typed alone."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from scheduling.services.bookings import booking_make
from scheduling.services.floor import job_check_in, work_start
from shop.models import Job
from tests import factories as make
from tests.browser.screens import Clock, sign_in
from tests.factories import NOW
from tests.scheduling.shops import Small, correction, quoted_job, small_shop, wash

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser
# What the page does by itself every twenty seconds.
REFRESH = "htmx.ajax('GET', '/floor/', {source: '#floor', target: '#floor', swap: 'outerHTML'})"


@pytest.fixture
def small(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> Small:
    Clock(monkeypatch)
    return small_shop()


@pytest.fixture
def job(small: Small) -> Job:
    made = quoted_job(small, wash(), correction())
    make.PlannedMaterialFactory(job=made, quantity=40)
    booking_make(job=made, member=small.desk, now=NOW)
    return job_check_in(job=made, member=small.desk, now=NOW)


def test_a_tap_answers_in_place_and_big_enough_for_a_glove(
    page: Page, small: Small, job: Job
) -> None:
    sign_in(page, small.tech, "/floor/")
    start = page.get_by_role("button", name="Start Prep wash")
    box = start.bounding_box()
    assert box is not None
    assert box["height"] >= 48
    page.evaluate("window.sameDocument = true")
    start.click()
    page.get_by_role("button", name="Finish Prep wash").wait_for()
    assert page.get_by_role("status").get_by_text("Prep wash is running.").is_visible()
    assert page.evaluate("window.sameDocument")


def test_what_was_opened_stays_open_and_focused_after_a_tap(
    page: Page, small: Small, job: Job
) -> None:
    sign_in(page, small.tech, "/floor/")
    page.get_by_text("Materials used").click()
    take = page.get_by_role("button", name="+10 ml")
    take.focus()
    page.keyboard.press("Enter")
    page.get_by_text("10 of 40 ml").wait_for()
    assert take.is_visible()
    take_id = take.get_attribute("id")
    page.wait_for_function(f"document.activeElement.id === '{take_id}'")


def test_a_refresh_shows_what_others_did_and_keeps_the_focus(
    page: Page, small: Small, job: Job
) -> None:
    sign_in(page, small.owner, "/floor/")
    button = page.get_by_role("button", name="Start Prep wash")
    button.focus()
    wash = job.operations.get(sequence=1)
    page.evaluate(REFRESH)
    page.wait_for_function(f"document.activeElement.id === 'start-{wash.pk}'")
    assert button.evaluate("e => e === document.activeElement")
    work_start(operation=wash, member=small.tech, now=NOW)
    page.evaluate(REFRESH)
    page.get_by_role("button", name="Finish Prep wash").wait_for()
    # The button is gone, so the focus stands on the first one of the same card.
    page.wait_for_function("document.activeElement.closest('.taps') !== null")


def test_a_refresh_does_not_take_away_what_is_typed(page: Page, small: Small, job: Job) -> None:
    sign_in(page, small.tech, "/floor/")
    page.get_by_text("Log the climate").first.click()
    air = page.get_by_label("Air, °C").first
    air.fill("21.5")
    work_start(operation=job.operations.get(sequence=1), member=small.tech, now=NOW)
    page.evaluate(REFRESH)
    page.wait_for_timeout(300)
    assert air.input_value() == "21.5"
    assert page.get_by_role("button", name="Start Prep wash").is_visible()


def test_work_is_started_without_scripts(page: Page, small: Small, job: Job) -> None:
    sign_in(page, small.tech, "/floor/")
    context = page.context.browser.new_context(
        java_script_enabled=False, storage_state=page.context.storage_state()
    )
    plain = context.new_page()
    plain.goto(page.url)
    plain.get_by_role("button", name="Start Prep wash").click()
    plain.get_by_text("Prep wash is running.").wait_for()
    plain.get_by_role("button", name="Finish Prep wash").click()
    plain.get_by_text("Prep wash is done.").wait_for()
    context.close()
