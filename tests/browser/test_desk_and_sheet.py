"""A call and a walk round in a real browser: sign in, quote, inspect by gauge, book."""

from datetime import date

from playwright.sync_api import Page, expect

from estimating.models import Inspection, Quote
from estimating.services.catalogue import catalogue_store
from estimating.services.estimates import catalogue_read
from shop.models import Job
from tests.factories import PASSWORD, VehicleFactory, catalogue_text
from tests.scheduling.shops import small_shop


def open_shop():
    """A shop that stands open now, and its owner."""
    small = small_shop()
    catalogue_store(
        shop=small.shop, catalogue=catalogue_read(catalogue_text()), day=date(2026, 1, 1)
    )
    return small


def sign_in(page: Page, member) -> None:
    page.goto("/")
    page.get_by_label("Name").fill(member.user.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/desk/")


def test_a_call_becomes_a_quote(page: Page) -> None:
    small = open_shop()
    sign_in(page, small.desk)
    bar = page.locator("#desk-bar")
    first = bar.inner_text()

    # Each answer moves the price; nothing typed is lost by it.
    page.locator("#f-name").fill("Rosa Venn")
    page.locator("#f-phone").fill("202 555 0177")
    page.locator("#f-description").fill("hatchback, green")
    page.locator("#f-age_years").fill("3")
    page.get_by_text("Lantern two-layer").click()
    expect(bar).not_to_have_text(first)
    expect(page.locator("#f-name")).to_have_value("Rosa Venn")

    # Arrow keys move along the finish curve, and the number follows.
    before = page.locator("#f-cleared").input_value()
    page.locator("#curve .step[aria-pressed=true]").focus()
    page.keyboard.press("ArrowRight")
    expect(page.locator("#f-cleared")).not_to_have_value(before)
    expect(page.locator("#curve .step[aria-pressed=true]")).to_be_focused()

    page.get_by_role("button", name="Make quote").click()
    page.wait_for_url("**/quotes/*/")
    expect(page.get_by_role("heading", name="Quote Q-0001")).to_be_visible()
    quote = Quote.objects.get()
    assert (quote.customer.name, quote.vehicle.description) == ("Rosa Venn", "hatchback, green")

    page.get_by_role("link", name="Accept and choose a visit").click()
    page.get_by_role("button", name="Accept quote and book this visit").click()
    page.wait_for_url("**/jobs/*/")
    assert Job.objects.get().state == "booked"


def test_a_gauge_types_its_way_round_the_vehicle(page: Page) -> None:
    small = open_shop()
    vehicle = VehicleFactory(shop=small.shop)
    sign_in(page, small.desk)
    page.goto(f"/vehicles/{vehicle.pk}/inspect/")

    # Two spots of three readings, each followed by the gauge's Enter, then the next panel.
    page.locator("#front_left_fender-readings").focus()
    for reading in ("4.3", "4.2", "4.3", "4.4", "4.4", "4.5"):
        page.keyboard.type(reading)
        page.keyboard.press("Enter")
    fender = page.locator("#front_left_fender-readings")
    expect(fender).to_have_value("4.3 4.2 4.3 / 4.4 4.4 4.5")
    expect(page.locator("#front_left_door-readings")).to_be_focused()
    expect(page.locator("#out-front_left_fender .strip-mean")).to_have_count(2)

    # A finding shows what belongs to it, and a row for the next one.
    page.locator("#front_left_fender-0-kind").select_option("swirl_marks")
    page.locator("#front_left_fender-0-amount").fill("60")
    expect(page.locator("#out-front_left_fender .said")).to_contain_text("takes")
    expect(page.locator("#front_left_fender-1-kind")).to_be_visible()

    # A wrong reading is refused at its panel; what was typed stays.
    page.locator("#front_left_door-readings").fill("4.6 4.7 oops")
    expect(page.locator("#out-front_left_door")).to_contain_text("“oops” is no reading")
    page.locator("#front_left_door-readings").fill("4.6 4.7 4.6")
    page.get_by_role("button", name="Save inspection").click()
    page.wait_for_url("**/inspections/*/")
    panels = Inspection.objects.get().panels
    assert list(panels.values_list("panel", flat=True)) == [
        "front_left_fender", "front_left_door",
    ]  # fmt: skip

    page.get_by_role("link", name="Make quote from this inspection").click()
    expect(page.locator("#f-basis")).to_have_value(str(Inspection.objects.get().pk))


def test_nothing_is_wider_than_a_narrow_phone(page: Page) -> None:
    small = open_shop()
    vehicle = VehicleFactory(shop=small.shop)
    page.set_viewport_size({"width": 360, "height": 640})
    sign_in(page, small.desk)
    known = f"/vehicles/{vehicle.pk}/"
    for address in ("/desk/", f"{known}inspect/", known, "/customers/"):
        page.goto(address)
        assert page.evaluate("document.documentElement.scrollWidth") <= 360, address
