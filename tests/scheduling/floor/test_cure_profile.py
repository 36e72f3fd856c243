"""A cure goes by the coating system as it was quoted, not as the catalogue is now."""

from datetime import date

import pytest

from scheduling.models import Cure
from scheduling.services.floor import work_finish
from shop.models import JobState, OperationState
from tests.factories import NOW, CoatingSystemFactory, JobFactory, OperationFactory, QuoteFactory
from tests.scheduling.shops import coat, cure, small_shop

pytestmark = pytest.mark.django_db
FIGURES = {
    "name": "Lantern two-layer",
    "reference_c": 20.0,
    "q10": 2.0,
    "handover_hours": 12.0,
    "first_wash_hours": 168.0,
    "full_cure_hours": 336.0,
}


def finish_coat(small, **quote):
    job = JobFactory(shop=small.shop, booked=True, state=JobState.IN_WORK)
    QuoteFactory(
        shop=small.shop,
        vehicle=job.vehicle,
        job=job,
        request={"options": {"coating": "lantern"}},
        **quote,
    )
    running = {"state": OperationState.RUNNING, "started_at": NOW}
    operation = OperationFactory(job=job, sequence=1, **coat(), **running)
    OperationFactory(job=job, sequence=2, **cure())
    work_finish(operation=operation, member=small.tech, now=NOW)
    return Cure.objects.get(job=job)


def test_the_snapshot_of_the_quote_comes_first():
    small = small_shop()
    CoatingSystemFactory(shop=small.shop, code="lantern", handover_hours=99.0)
    row = {"code": "lantern", **FIGURES}
    made = finish_coat(small, parameters={"catalogue": {"coating_systems": [row]}})
    assert (made.system_name, made.handover_hours) == ("Lantern two-layer", 12.0)
    assert (made.wash_after_hours, made.full_cure_hours) == (168.0, 336.0)


def test_else_the_row_that_held_on_the_day_of_the_quote():
    small = small_shop()
    old, new = date(2026, 1, 1), date(2026, 3, 3)
    CoatingSystemFactory(shop=small.shop, code="lantern", effective_from=old, handover_hours=10.0)
    CoatingSystemFactory(shop=small.shop, code="lantern", effective_from=new, handover_hours=99.0)
    assert finish_coat(small).handover_hours == 10.0
