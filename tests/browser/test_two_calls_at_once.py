"""Two calls in one hand: switched between, loaded anew, signed out of, put away, undone."""

from playwright.sync_api import Page, expect

from scheduling.models import CallDraft
from tests.browser.screens import shop_with_catalogue, sign_in


def test_no_word_of_two_calls_is_lost(page: Page) -> None:
    small = shop_with_catalogue()
    page.set_default_timeout(30_000)
    sign_in(page, small.desk, "/desk/")
    bar = page.locator("#desk-bar")
    first_price = bar.inner_text()
    page.locator("#f-name").fill("Rosa Venn")
    page.get_by_text("Lantern two-layer").click()
    expect(bar).not_to_have_text(first_price, use_inner_text=True, timeout=30_000)
    page.wait_for_url("**/desk/?call=*")

    # A reload in the middle of the call shows it, not an empty desk.
    page.reload()
    expect(page.locator("#f-name")).to_have_value("Rosa Venn", timeout=30_000)
    expect(page.locator("[name=coating][value=lantern]")).to_be_checked()

    # Another phone rings; the last word before it was not answered yet, and is kept too.
    page.locator("#f-description").fill("hatchback, green")
    page.get_by_role("link", name="Begin another call").click()
    page.locator("#f-q").press_sequentially("Ilse Farrow")
    expect(page.locator("#desk-found")).to_contain_text("Write down as new", timeout=30_000)
    page.locator("#desk-found button", has_text="Write down as new").click()
    expect(page.locator("#f-name")).to_have_value("Ilse Farrow", timeout=30_000)

    calls = page.get_by_role("navigation", name="Calls under way")
    calls.get_by_role("link", name="Rosa Venn").click()
    expect(page.locator("#f-description")).to_have_value("hatchback, green", timeout=30_000)
    calls.get_by_role("link", name="Ilse Farrow").click()
    expect(page.locator("#f-name")).to_have_value("Ilse Farrow", timeout=30_000)

    # Signed out and in again; one is put away and brought back.
    sign_in(page, small.desk, "/desk/")
    calls.get_by_role("button", name="Discard: Rosa Venn, hatchback, green").click()
    expect(calls.get_by_role("link", name="Rosa Venn")).to_have_count(0)
    calls.get_by_role("button", name="Bring back: Rosa Venn, hatchback, green").click()
    expect(page.locator("#f-name")).to_have_value("Rosa Venn", timeout=30_000)
    assert sorted(CallDraft.objects.values_list("title", "state")) == [
        ("Ilse Farrow", "open"),
        ("Rosa Venn, hatchback, green", "open"),
    ]
