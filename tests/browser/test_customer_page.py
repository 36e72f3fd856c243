"""From the quote to a booked time on an old phone: 360 px wide, scripts disabled."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest
from pytest_django.live_server_helper import LiveServer

from estimating.core.options import Options
from estimating.models import Quote
from estimating.services.customer_pages import page_of, page_path
from estimating.services.quotes import quote_make
from shop.models import Consent, Job, JobState
from tests import factories as make
from tests.browser.screens import Clock, shop_with_catalogue

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

pytestmark = pytest.mark.django_db(transaction=True)


def offered() -> Quote:
    """A coating for an older vehicle, quoted by phone."""
    small = shop_with_catalogue()
    vehicle = make.VehicleFactory(customer=make.CustomerFactory(shop=small.shop))
    now = make.NOW
    return quote_make(
        shop=small.shop,
        member=small.desk,
        customer=vehicle.customer,
        vehicle=vehicle,
        goal={"cleared": 0.75},
        options=Options(coating="lantern"),
        now=now,
    )


OUTSIDE = """all => all.filter(one => {
  const card = one.closest('.card').getBoundingClientRect();
  return one.getBoundingClientRect().right > Math.min(card.right, innerWidth) + 1;
}).length"""


def fits(page: Page) -> bool:
    """Whether nothing sticks out of its card or of the screen."""
    return bool(page.locator(".card *").evaluate_all(OUTSIDE) == 0)


def test_quote_choice_consent_and_time_without_scripts(
    browser: Browser, live_server: LiveServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock = Clock(monkeypatch)
    quote = offered()
    context = browser.new_context(
        base_url=live_server.url,
        java_script_enabled=False,
        viewport={"width": 360, "height": 640},
    )
    page = context.new_page()
    page.goto(page_path(page_of(quote)))
    assert fits(page)

    page.get_by_role("radio", name="Less").check()
    page.get_by_role("button", name="Keep this choice").click()
    page.get_by_text("Your choice is kept").wait_for()
    chosen = Quote.objects.get(number=quote.number, version=2)
    assert chosen.price < quote.price

    page.get_by_role("group", name="About a booked visit").get_by_label("E-mail").check()
    page.get_by_role("button", name="Keep this").last.click()
    page.get_by_text("What we may write to you about is kept").wait_for()
    assert Consent.objects.get(customer=quote.customer).granted

    page.get_by_role("link", name="Accept and choose a time").first.click()
    assert fits(page)
    page.get_by_role("radio").nth(1).check()
    page.get_by_role("button", name="Accept and book this time").click()
    page.get_by_text("your time is booked").wait_for()
    assert fits(page)
    job = Job.objects.get()
    assert (job.state, job.price) == (JobState.BOOKED, chosen.price)
    assert page.get_by_text("Bring every key").is_visible()
    assert job.arrives_at is not None
    assert clock.at < job.arrives_at
    context.close()
