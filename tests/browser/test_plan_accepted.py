"""Improve this week in the browser: asked, watched until it is there, ticked and accepted."""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING

import pytest
from django.db import connection

from scheduling import launch
from scheduling.models import Hold
from scheduling.services.planruns import planrun_work
from tests.browser.screens import Clock, sign_in
from tests.factories import NOW
from tests.scheduling.planning.stays import long_stay
from tests.scheduling.shops import Small, small_shop

if TYPE_CHECKING:
    from playwright.sync_api import Page

pytestmark = pytest.mark.browser


@pytest.fixture
def small(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> Small:
    Clock(monkeypatch)
    # The search of this test shares its database, so it is a thread and no process.
    monkeypatch.setattr(launch, "launch", lambda run_id: _thread(run_id).start())
    return small_shop()


def _thread(run_id: int) -> threading.Thread:
    def work() -> None:
        planrun_work(run_id=run_id, clock=lambda: NOW)
        connection.close()

    return threading.Thread(target=work)


def test_improve_and_accept(page: Page, small: Small) -> None:
    job = long_stay(small)
    before = job.promised_at
    assert before is not None
    sign_in(page, small.owner, "/calendar/")
    page.get_by_role("button", name="Improve this week").click()
    accept = page.get_by_role("button", name="Move what is ticked")
    accept.wait_for(timeout=60_000)
    line = page.get_by_role("row").filter(has_text=job.number)
    assert line.get_by_role("checkbox").is_checked()
    assert "earlier" in line.inner_text()
    assert Hold.objects.filter(job=job, end=before).exists()
    accept.focus()
    page.keyboard.press("Enter")
    page.get_by_text("1 vehicle moved.").wait_for()
    job.refresh_from_db()
    assert job.promised_at is not None
    assert job.promised_at < before
