"""The Wi-Fi of a bay drops out: what is typed is kept here, and saved once when it is back."""

from playwright.sync_api import Page, expect

from estimating.models import Inspection
from tests.browser.screens import shop_with_catalogue, sign_in
from tests.factories import VehicleFactory


def test_typed_without_network_is_kept_and_sent_once(page: Page) -> None:
    small = shop_with_catalogue()
    vehicle = VehicleFactory(shop=small.shop)
    sign_in(page, small.tech, f"/vehicles/{vehicle.pk}/inspect/")
    page.context.set_offline(True)
    page.locator("#hood-readings").fill("4.3 4.2 4.3")
    page.locator("#notes").fill("read in the far bay")
    page.get_by_role("button", name="Save inspection").click()
    expect(page.locator("#kept")).to_contain_text("Kept here, not yet sent")
    # More is typed after the save that did not arrive.
    page.locator("#hood-readings").fill("4.3 4.2 4.4")
    assert not Inspection.objects.exists()

    page.context.set_offline(False)
    page.wait_for_url("**/inspections/*/")
    kept = Inspection.objects.get()
    assert (kept.notes, kept.version) == ("read in the far bay", 1)
    assert kept.panels.get().spots == [[4.3, 4.2, 4.4]]
    assert page.evaluate("localStorage.length") == 0


def test_an_answer_lost_on_the_way_does_not_save_twice(page: Page) -> None:
    small = shop_with_catalogue()
    vehicle = VehicleFactory(shop=small.shop)
    sign_in(page, small.tech, f"/vehicles/{vehicle.pk}/inspect/")
    saves = []

    def lose_the_first(route) -> None:
        if route.request.method != "POST" or route.request.headers.get("hx-request"):
            return route.continue_()
        saves.append(route.fetch(max_redirects=0))
        return route.abort() if len(saves) == 1 else route.fulfill(response=saves[-1])

    page.route("**/inspect/", lose_the_first)
    page.locator("#hood-readings").fill("4.3 4.2 4.3")
    page.get_by_role("button", name="Save inspection").click()
    expect(page.locator("#kept")).to_contain_text("Kept here, not yet sent")
    assert Inspection.objects.count() == 1
    page.locator("#notes").fill("more")
    page.get_by_role("button", name="Save inspection").click()
    page.wait_for_url("**/inspections/*/")
    assert (Inspection.objects.get().notes, len(saves)) == ("more", 2)


def test_a_page_closed_before_saving_offers_what_was_typed(page: Page) -> None:
    small = shop_with_catalogue()
    vehicle = VehicleFactory(shop=small.shop)
    address = f"/vehicles/{vehicle.pk}/inspect/"
    sign_in(page, small.tech, address)
    page.locator("#hood-readings").fill("4.3 4.2 4.3")
    page.on("dialog", lambda dialog: dialog.accept())
    page.goto("/floor/")
    page.goto(address)
    expect(page.locator("#kept")).to_contain_text("Typed here earlier and not saved")
    page.get_by_role("button", name="Save it now").click()
    page.wait_for_url("**/inspections/*/")
    assert Inspection.objects.get().panels.get().spots == [[4.3, 4.2, 4.3]]
