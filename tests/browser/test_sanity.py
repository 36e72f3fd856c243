"""The browser reaches the live server and shows what it serves."""

from playwright.sync_api import Page


def test_a_page_of_the_site_is_shown(page: Page) -> None:
    answer = page.goto("/alive/")
    assert answer is not None
    assert answer.ok
    assert page.locator("body").inner_text().strip() == "ok"
