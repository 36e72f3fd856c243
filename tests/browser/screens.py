"""What tests of whole screens share: a clock that can be moved, a shop, signing in."""

from __future__ import annotations

from datetime import date, datetime
from typing import TYPE_CHECKING

import pytest
from django.utils import timezone

from estimating.services.catalogue import catalogue_store
from estimating.services.estimates import catalogue_read
from shop.models import Member
from tests.factories import NOW, PASSWORD, catalogue_text
from tests.scheduling.shops import Small, small_shop

if TYPE_CHECKING:
    from playwright.sync_api import Page


class Clock:
    """Django's clock, which stands still until it is moved. The browser's own runs on."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.at = NOW
        monkeypatch.setattr(timezone, "now", lambda: self.at)

    def move_to(self, at: datetime) -> None:
        """Let everything on the server happen at ``at`` from now on; never back in time."""
        self.at = max(self.at, at)


def shop_with_catalogue() -> Small:
    """A bay of each kind, one person who can do everything, and the demo's catalogue."""
    small = small_shop()
    catalogue = catalogue_read(catalogue_text())
    catalogue_store(shop=small.shop, catalogue=catalogue, day=date(2026, 1, 1))
    return small


def sign_in(page: Page, member: Member, path: str = "/") -> None:
    """Sign in as ``member`` and go to ``path``."""
    page.context.clear_cookies()
    page.goto("/sign-in/")
    page.get_by_label("Name").fill(member.user.username)
    page.get_by_label("Password").fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url(lambda url: "/sign-in/" not in url)
    if path != "/":
        page.goto(path)
