"""The page of promises: what was said to be sure beside what was ready in time."""

from datetime import timedelta
from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from scheduling.selectors.promises_kept import promises_kept
from shop.models import JobState
from tests import factories as make
from tests.factories import NOW

HOUR = timedelta(hours=1)


def delivered(shop, probability, late, state=JobState.CLOSED, ago=timedelta(days=7)):
    promised = NOW - ago
    job = make.JobFactory(
        shop=shop,
        booked=True,
        promised_at=promised,
        promise_probability=Decimal(probability),
    )
    job.state = state
    job.save(update_fields=["state"])
    # Ready early, taken up again, and ready for good.
    for at in (promised - 9 * HOUR, promised + late):
        make.JobEventFactory(job=job, kind="state", to_state=JobState.READY, at=at)
    return job


def test_the_share_met_in_each_band(world) -> None:
    shop = world.small.shop
    for late in (-HOUR, timedelta(0), timedelta(0), HOUR):
        delivered(shop, "0.92", late)
    delivered(shop, "1", HOUR)
    high, certain = promises_kept(shop, NOW)
    assert (high.promises, high.met, high.share_met) == (4, 3, 0.75)
    assert high.said == pytest.approx(0.92)
    assert (certain.low, certain.high, certain.met) == (0.95, 1.0, 0)


@pytest.mark.parametrize(
    "changes",
    [{"state": JobState.READY}, {"state": JobState.CANCELLED}, {"ago": timedelta(days=400)}],
)
def test_what_does_not_count(world, changes) -> None:
    delivered(world.small.shop, "0.9", HOUR, **changes)
    assert promises_kept(world.small.shop, NOW) == ()


def test_another_shops_promises_are_its_own(world) -> None:
    delivered(world.outsider.shop, "0.9", HOUR)
    assert promises_kept(world.small.shop, NOW) == ()


def test_the_page_says_both_shares(world) -> None:
    for late in (-HOUR, HOUR):
        delivered(world.small.shop, "0.92", late)
    text = world.client("owner").get(reverse("promises")).content.decode()
    assert "92" in text
    assert "50" in text
    assert "few" in text


def test_who_may_see_it(world) -> None:
    got = {who: world.client(who).get(reverse("promises")) for who in ("owner", "desk", "tech")}
    assert [answer.status_code for answer in got.values()] == [200, 200, 403]
    assert Client().get(reverse("promises")).status_code == 302
