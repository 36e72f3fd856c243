"""What is promised: inside opening hours, late enough, with a place kept until then."""

from datetime import UTC, datetime, time
from decimal import Decimal
from itertools import pairwise

import pytest

from scheduling.services.offers import offers_find
from tests.factories import NOW
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db


def offer_for(minutes=240, probability="0.9", **changes):
    small = small_shop(promise_probability=Decimal(probability))
    job = quoted_job(small, correction(minutes, **changes))
    found = offers_find(
        shop=small.shop, operations=list(job.operations.all()), earliest=NOW, now=NOW, count=1
    )
    return small, found.found[0]


def test_more_certainty_is_never_promised_earlier():
    promised = [offer_for(probability=p)[1].promised_at for p in ("0.5", "0.9", "0.99")]
    assert promised == sorted(promised)
    assert promised[0] < promised[-1]


def test_the_probability_stated_is_at_least_the_shops():
    _small, offer = offer_for()
    assert offer.promise_probability >= Decimal("0.9")
    assert offer.promised_at >= offer.pick_up_at


def test_an_evening_finish_is_promised_for_the_next_opening():
    # From 09:00, 470 minutes end at 16:50; nine in ten end after closing at 17:00.
    small, offer = offer_for(470, minutes_p10=440.0, minutes_p50=470.0, minutes_p90=520.0)
    local = offer.promised_at.astimezone(small.shop.tz)
    assert time(8) <= local.time() <= time(17)
    assert local.date() == datetime(2026, 3, 3, tzinfo=UTC).date()


def test_the_vehicle_has_a_place_until_the_promised_time():
    _small, offer = offer_for()
    assert offer.promised_at > offer.pick_up_at
    stays = sorted((held.start, held.end) for held in offer.holds if held.sequence is None)
    assert stays[0][0] == offer.arrives_at
    assert stays[-1][1] == offer.promised_at
    assert all(before[1] == after[0] for before, after in pairwise(stays))


def test_certain_work_is_promised_for_its_planned_end():
    _small, offer = offer_for(240, minutes_p10=240.0, minutes_p50=240.0, minutes_p90=240.0)
    assert offer.promised_at == offer.pick_up_at == offer.ready_at
    assert offer.promise_probability == 1
