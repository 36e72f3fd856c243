"""Besides the earliest there are two later offers, and each can be asked for again."""

import pytest

from scheduling.services.offers import offers_find
from tests.factories import NOW
from tests.scheduling.shops import coat, correction, cure, quoted_job, small_shop, wash

pytestmark = pytest.mark.django_db


def test_three_offers_on_three_days_the_earliest_first():
    small = small_shop()
    job = quoted_job(small)
    offers = offers_find(
        shop=small.shop, operations=list(job.operations.all()), earliest=NOW, now=NOW
    )
    days = [offer.arrives_at.astimezone(small.shop.tz).day for offer in offers.found]
    assert days == [2, 3, 4]
    assert offers.reasons == []


def test_asking_from_the_drop_off_of_an_offer_gives_that_offer():
    # A form sends back only the drop-off; the offer behind it has to be the same.
    small = small_shop()
    job = quoted_job(small, wash(), correction(300), coat(), cure())
    operations = list(job.operations.all())
    offers = offers_find(shop=small.shop, operations=operations, earliest=NOW, now=NOW)
    for offer in offers.found:
        again = offers_find(
            shop=small.shop, operations=operations, earliest=offer.arrives_at, now=NOW, count=1
        )
        assert again.found[0] == offer
