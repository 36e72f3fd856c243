"""A promise that falls behind the days that were read is looked for further, not cut off."""

from datetime import timedelta

import pytest

from scheduling.services import offers
from tests.factories import NOW
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db


def test_it_is_a_time_at_which_the_shop_is_open(monkeypatch):
    monkeypatch.setattr(offers, "LOOKS_DAYS", (1, 14))
    small = small_shop()
    rows = list(quoted_job(small, correction(450)).operations.all())
    found = offers.offers_find(
        shop=small.shop, operations=rows, earliest=NOW, now=NOW, count=1
    ).found
    local = found[0].promised_at.astimezone(small.shop.tz)
    # Planned until the evening; its overruns reach into the next morning.
    assert found[0].ready_at < NOW + timedelta(hours=9)
    assert local.day == 3
    assert 8 <= local.hour < 17
