"""One vehicle goes the whole way, from a phone call to a costed, delivered job."""

from __future__ import annotations

import re
from datetime import timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from django.core.management import call_command

from shop.models import Attendance, Job, Operation, OperationState
from tests.browser.screens import Clock, shop_with_catalogue, sign_in

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser
MINUTE = timedelta(minutes=1)


def test_from_the_call_to_the_hand_over(
    page: Page,
    transactional_db: None,
    monkeypatch: pytest.MonkeyPatch,
    settings,
    tmp_path: Path,
) -> None:
    settings.VAR_DIR = tmp_path  # where messages are kept
    small, clock = shop_with_catalogue(), Clock(monkeypatch)

    sign_in(page, small.desk)
    call_is_quoted(page)
    consent_is_written_down(page)
    vehicle_is_inspected(page)
    job = quote_is_booked(page)

    sign_in(page, small.tech)
    work_is_done(page, clock, job)
    cure_runs_out(page, clock, job)

    sign_in(page, small.owner, f"/jobs/{job.pk}/")
    actual_stands_beside_estimate(page)
    vehicle_is_handed_over(page, job)
    aftercare_is_due(page, job)


def call_is_quoted(page: Page) -> None:
    page.get_by_label("Name", exact=True).fill("Ilse Farrow")
    page.get_by_label("Phone", exact=True).fill("202-555-0143")
    page.get_by_label("E-mail").fill("ilse.farrow@example.org")
    page.get_by_label("Vehicle", exact=True).fill("pickup, crew cab, dark blue")
    page.get_by_label("Body").select_option("pickup")
    page.get_by_label("Age in years").fill("0.3")
    page.get_by_role("button", name="Make quote").click()
    page.wait_for_url("**/quotes/*/")
    # Nothing was measured yet, and the customer is told so.
    page.get_by_text("Not inspected yet").wait_for()


def consent_is_written_down(page: Page) -> None:
    page.goto("/customers/?q=farrow")
    page.get_by_role("link", name="Ilse Farrow").first.click()
    for box in page.get_by_role("group").get_by_label("E-mail").all():
        box.check()
    page.get_by_role("button", name="Write consent down").click()


def vehicle_is_inspected(page: Page) -> None:
    page.get_by_role("link", name="pickup, crew cab, dark blue").first.click()
    page.get_by_role("link", name="Start an inspection").click()
    for panel in ("front_left_fender", "hood"):
        field = page.locator(f"#{panel}-readings")
        field.fill("4.3 4.2 4.3 / 4.4 4.4 4.5")
        page.locator(f"#{panel}-0-kind").select_option("swirl_marks")
        page.locator(f"#{panel}-0-amount").fill("60")
    page.get_by_role("button", name="Save inspection").click()
    page.get_by_role("link", name="Make quote from this inspection").click()
    page.wait_for_url("**/desk/?vehicle=*")


def quote_is_booked(page: Page) -> Job:
    page.get_by_text("Lantern two-layer").click()
    page.get_by_text("Planned, by side").wait_for()
    page.get_by_role("button", name="Make quote").click()
    page.wait_for_url("**/quotes/*/")
    assert page.get_by_text("Not inspected yet").count() == 0
    page.get_by_role("link", name="Accept and choose a visit").click()
    page.get_by_label("Not before").fill("2026-03-03")
    page.get_by_role("button", name="Look again").click()
    page.get_by_role("button", name="Accept quote and book this visit").click()
    page.wait_for_url("**/jobs/*/")
    job = Job.objects.get()
    assert page.get_by_text(f"Job {job.number} is booked.").is_visible()
    call_command("remind")
    page.get_by_role("link", name="Calendar").first.click()
    name = f"{job.number}, pickup, crew cab, dark blue, booked"
    assert page.get_by_role("link", name=re.compile(name)).count() == 1
    return job


def work_is_done(page: Page, clock: Clock, job: Job) -> None:
    """Tap through the floor; each operation takes what was planned and a tenth more."""
    assert job.arrives_at is not None
    clock.move_to(job.arrives_at)
    page.goto("/floor/")
    page.get_by_role("button", name="Check in").click()
    page.get_by_text(f"{job.number} is checked in.").wait_for()
    attended = job.operations.exclude(attendance=Attendance.UNATTENDED)
    to_pause = attended.filter(attendance=Attendance.PAUSABLE).first()
    for operation in attended:
        clock.move_to(operation.planned_start or clock.at)
        tap(page, operation, "start", "is running.")
        minutes = operation.planned_minutes * 1.1
        if operation == to_pause:
            clock.move_to(clock.at + minutes * MINUTE / 2)
            tap(page, operation, "pause", "is paused.")
            clock.move_to(clock.at + 10 * MINUTE)
            tap(page, operation, "start", "is running.")
            minutes /= 2
        clock.move_to(clock.at + minutes * MINUTE)
        tap(page, operation, "finish", "is done.")
    assert {row.state for row in attended.all()} == {OperationState.DONE}


def tap(page: Page, operation: Operation, step: str, said: str) -> None:
    page.locator(f"#{step}-{operation.pk}").click()
    page.get_by_text(f"{operation.name} {said}").wait_for()


def cure_runs_out(page: Page, clock: Clock, job: Job) -> None:
    job.refresh_from_db()
    assert job.state == "curing"
    page.goto("/floor/")
    assert page.get_by_text("until about").is_visible()
    # The clock's own command ends the cure and sends what is due.
    clock.move_to(job.cure.forecast_handover_at + MINUTE)
    call_command("remind")
    job.refresh_from_db()
    assert job.state == "ready"
    # Nobody is told at night.
    clock.move_to(job.reminders.get(purpose="ready").due_at)
    call_command("remind")


def actual_stands_beside_estimate(page: Page) -> None:
    money = page.get_by_role("region", name="Money and hours")
    assert money.get_by_text("not yet").count() == 0
    hours = money.get_by_role("row").filter(has_text="Hours").inner_text()
    estimated, actual = (float(one) for one in re.findall(r"[\d.]+", hours))
    # Worked a tenth over what the calendar keeps, which is above the median.
    assert actual > estimated > 0
    assert "% more than estimated" in money.inner_text()


def vehicle_is_handed_over(page: Page, job: Job) -> None:
    page.get_by_role("button", name="Hand over the vehicle").click()
    page.get_by_text(f"{job.number} is handed over.").wait_for()
    job.refresh_from_db()
    assert job.state == "handed_over"


def aftercare_is_due(page: Page, job: Job) -> None:
    page.get_by_role("link", name="Reminders", exact=True).click()
    page.get_by_role("heading", name="First wash").wait_for()
    page.get_by_role("link", name=re.compile("What it will say First wash")).click()
    letter = page.locator(".letter")
    letter.wait_for()
    assert "pickup, crew cab, dark blue" in letter.inner_text()
    page.get_by_role("link", name=re.compile("^Sent")).click()
    for said in ("Booking confirmed", "Ready to collect"):
        page.get_by_role("heading", name=said).wait_for()
    assert page.get_by_role("link", name=job.number).first.is_visible()
