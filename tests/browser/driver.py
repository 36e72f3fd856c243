"""Fixtures for tests in a real browser: a headless Chromium on the live server."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest
from pytest_django.live_server_helper import LiveServer

from tests import reachable

if TYPE_CHECKING:
    from playwright.sync_api import Browser, ConsoleMessage, Page, Route

CHROMIUM_FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


@pytest.fixture
def browser(monkeypatch: pytest.MonkeyPatch) -> Iterator["Browser"]:
    """Start Chromium for one test.

    Not kept over the session: Playwright leaves a running event loop in the
    thread, which would change how every later test sees asynchronous code.
    """
    # Loaded here: most runs of the suite open no browser.
    from playwright.sync_api import sync_playwright  # noqa: PLC0415

    # For the same reason Django takes the test's own queries for asynchronous.
    monkeypatch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
    path, reason = reachable.chromium()
    if reason:
        pytest.skip(reason)
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=CHROMIUM_FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser: "Browser", live_server: LiveServer) -> Iterator["Page"]:
    """Open a page on the live server; addresses may be relative (``page.goto("/")``).

    After the test it fails on script errors, on anything the content security
    policy blocked, and on requests to any other host.
    """
    troubles: list[str] = []

    def stay_here(route: "Route") -> None:
        if route.request.url.startswith((live_server.url, "data:", "blob:")):
            route.continue_()
        else:
            troubles.append(f"request to {route.request.url}")
            route.abort()

    def hear(message: "ConsoleMessage") -> None:
        if "Content Security Policy" in message.text:
            troubles.append(message.text)

    context = browser.new_context(base_url=live_server.url, viewport={"width": 1280, "height": 900})
    context.set_default_timeout(10_000)
    context.route("**/*", stay_here)
    opened = context.new_page()
    opened.on("pageerror", lambda error: troubles.append(str(error)))
    opened.on("console", hear)
    yield opened
    context.close()
    assert not troubles, troubles
