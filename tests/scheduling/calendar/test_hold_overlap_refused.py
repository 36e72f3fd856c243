"""The database itself refuses two holds of one resource that overlap."""

from datetime import timedelta

import pytest
from django.db import IntegrityError, transaction

from scheduling.models import Hold
from tests.factories import NOW, BayFactory, HoldFactory, JobFactory

pytestmark = pytest.mark.django_db
HOUR = timedelta(hours=1)


@pytest.mark.parametrize(("start", "end"), [(-1, 1), (1, 3), (3, 5), (0, 4), (-1, 5)], ids=str)
def test_an_overlap_is_refused_below_the_code(start, end):
    there = HoldFactory(start=NOW, end=NOW + 4 * HOUR)
    job = JobFactory(shop=there.shop)
    rival = Hold(
        shop=there.shop,
        resource=there.resource,
        job=job,
        start=NOW + start * HOUR,
        end=NOW + end * HOUR,
    )
    with pytest.raises(IntegrityError, match="hold_never_overlaps"), transaction.atomic():
        Hold.objects.bulk_create([rival])
    assert Hold.objects.count() == 1


def test_a_hold_that_is_stretched_over_another_is_refused():
    there = HoldFactory(start=NOW, end=NOW + HOUR)
    HoldFactory(shop=there.shop, resource=there.resource, start=NOW + HOUR, end=NOW + 2 * HOUR)
    stretched = Hold.objects.filter(pk=there.pk)
    with pytest.raises(IntegrityError, match="hold_never_overlaps"), transaction.atomic():
        stretched.update(end=NOW + timedelta(minutes=61))


def test_one_may_begin_at_the_minute_another_ends_and_on_another_resource_at_any():
    there = HoldFactory(start=NOW, end=NOW + HOUR)
    job = JobFactory(shop=there.shop)
    after = {"start": NOW + HOUR, "end": NOW + 2 * HOUR}
    Hold.objects.bulk_create(
        [
            Hold(shop=there.shop, resource=there.resource, job=job, **after),
            Hold(
                shop=there.shop,
                resource=BayFactory(shop=there.shop),
                job=job,
                start=NOW,
                end=NOW + HOUR,
            ),
        ]
    )
    assert Hold.objects.count() == 3
