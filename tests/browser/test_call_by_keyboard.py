"""A whole call without a mouse: mistyped caller, answers, curve, coating, visit, booked."""

from playwright.sync_api import Page, expect

from estimating.models import Quote
from shop.models import Job
from tests.browser.screens import shop_with_catalogue, sign_in
from tests.factories import CustomerFactory, VehicleFactory

PATIENT = 30_000
"""Milliseconds for what a loaded machine does slowly; a quiet one never needs them."""


def tab_to(page: Page, selector: str, *, back: bool = False) -> None:
    """Press Tab until the focus is on what ``selector`` names."""
    for _ in range(60):
        if page.evaluate("s => document.activeElement.matches(s)", selector):
            return
        page.keyboard.press("Shift+Tab" if back else "Tab")
    raise AssertionError(f"no way to {selector} by keyboard")


def test_a_call_by_keyboard_alone(page: Page) -> None:
    small = shop_with_catalogue()
    customer = CustomerFactory(shop=small.shop, name="Marlow Quill", phone="+12025550143")
    VehicleFactory(customer=customer, description="wagon, moss green", first_used_on=None)
    page.set_default_timeout(PATIENT)
    sign_in(page, small.desk, "/desk/")

    # The box has the focus; a slip of the finger finds the caller all the same.
    expect(page.locator("#f-q")).to_be_focused()
    page.keyboard.type("Marlwo")
    expect(page.locator("#desk-found")).to_contain_text("Marlow Quill", timeout=PATIENT)
    page.keyboard.press("ArrowDown")
    page.keyboard.press("Enter")
    expect(page.locator(".chosen")).to_contain_text("wagon, moss green", timeout=PATIENT)

    # What has to be asked first has the focus, and each answer moves the price.
    expect(page.locator("#f-age_years")).to_be_focused()
    before = page.locator("#desk-bar").inner_text()
    page.keyboard.type("6")
    expect(page.locator("#desk-bar")).not_to_have_text(before, use_inner_text=True, timeout=PATIENT)
    expect(page.locator("#desk-next")).to_contain_text("narrows the range")

    tab_to(page, "#curve .step")
    cleared = page.locator("#f-cleared").input_value()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#f-cleared")).not_to_have_value(cleared, timeout=PATIENT)
    tab_to(page, "[name=coating]")
    looked = page.locator("[name=looked]").input_value()
    page.keyboard.press("ArrowRight")
    expect(page.locator("[name=coating]:checked")).not_to_have_value("")

    # The visits follow by themselves; the second is chosen and booked.
    expect(page.locator("[name=looked]")).not_to_have_value(looked, timeout=PATIENT)
    expect(page.locator(".offer")).not_to_have_count(0)
    tab_to(page, "[name=slot]")
    page.keyboard.press("ArrowDown")
    chosen = page.locator("[name=slot]:checked").get_attribute("value")
    tab_to(page, "button[value=book]")
    page.keyboard.press("Enter")
    page.wait_for_url("**/desk/?done=*")
    job = Job.objects.get()
    expect(page.locator(".over-call")).to_contain_text(f"Job {job.number} is booked")
    assert job.arrives_at is not None
    assert (job.arrives_at.isoformat(), Quote.objects.get().customer) == (chosen, customer)
    expect(page.locator("#f-q")).to_be_focused()
