"""Where nothing can be offered, the reason is in words of the shop, not "infeasible"."""

from datetime import timedelta

import pytest

from scheduling.models import Hold
from scheduling.services.offers import offers_find
from shop.refusals import Refused
from tests.factories import NOW, JobFactory, OperationFactory
from tests.scheduling.shops import correction, quoted_job, small_shop

pytestmark = pytest.mark.django_db


def reasons(small, job) -> str:
    offers = offers_find(
        shop=small.shop, operations=list(job.operations.all()), earliest=NOW, now=NOW
    )
    assert offers.found == []
    return " ".join(offers.reasons)


def test_no_bay_for_it():
    small = small_shop()
    job = quoted_job(small, {**correction(), "bay_capability": "paint_booth"})
    assert "no bay of the shop can do “paint_booth”" in reasons(small, job)


def test_nobody_trained_for_it():
    small = small_shop()
    job = quoted_job(small, {**correction(), "crew_count": 2})
    assert "needs 2 trained for “polish”" in reasons(small, job)


def test_longer_than_any_shift_and_may_not_pause():
    small = small_shop()
    job = quoted_job(small, correction(600, attendance="through"))
    assert "takes 600 minutes; no shift of people trained for “polish”" in reasons(small, job)


def test_everything_booked_until_the_end_of_the_calendar():
    small = small_shop()
    other = JobFactory(shop=small.shop)
    year = NOW + timedelta(days=400)
    Hold.objects.create(shop=small.shop, resource=small.correction, job=other, start=NOW, end=year)
    said = reasons(small, quoted_job(small))
    # Half a year ahead by default: the last midnight before 31 August.
    assert said == "Machine correction: everything is booked until Mon 31 Aug 00:00."


def test_no_work_at_all_is_refused():
    small = small_shop()
    with pytest.raises(Refused, match="no operations"):
        offers_find(shop=small.shop, operations=[], earliest=NOW, now=NOW)


def test_people_but_no_skill_named_is_refused_with_the_place():
    small = small_shop()
    row = OperationFactory.build(job=None, sequence=1, skill="")
    with pytest.raises(Refused, match="skill"):
        offers_find(shop=small.shop, operations=[row], earliest=NOW, now=NOW)
