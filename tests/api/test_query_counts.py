"""A longer list takes no more queries than a short one."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests import factories as make

# Session, user, member, count, rows, and what is fetched with them.
MOST = 7


def one_more(shop):
    """One more row for every list."""
    hold = make.HoldFactory(shop=shop)
    make.OperationFactory(job=hold.job)
    make.MaterialUseFactory(job=hold.job)
    make.ConsentFactory(customer=hold.job.customer)
    make.GaugeFactory(shop=shop)
    make.PanelFindingFactory(inspection=make.InspectionFactory(shop=shop, vehicle=hold.job.vehicle))
    make.QuoteFactory(shop=shop, vehicle=hold.job.vehicle)
    make.ClimateReadingFactory(resource=hold.resource)
    make.ReminderFactory(shop=shop, job=hold.job)


@pytest.mark.parametrize(
    "name",
    [
        "customers", "vehicles", "consumables", "material-uses", "inspections", "gauges", "quotes",
        "jobs", "operations", "resources", "holds", "climate-readings", "reminders",
    ],
)  # fmt: skip
def test_lists(people, client_of, name):
    client = client_of(people.owner)

    def queries(rows):
        with CaptureQueriesContext(connection) as counted:
            answer = client.get(f"/api/{name}/", {"limit": 100})
        assert answer.data["count"] == rows
        return len(counted)

    one_more(people.shop)
    short = queries(1)
    for _ in range(11):
        one_more(people.shop)
    assert queries(12) == short <= MOST


def test_a_job_with_many_operations(people, client_of):
    client, job = client_of(people.owner), make.JobFactory(shop=people.shop)

    def queries(path):
        with CaptureQueriesContext(connection) as counted:
            assert client.get(path).status_code == 200
        return len(counted)

    paths = [f"/api/jobs/{job.pk}/", f"/api/jobs/{job.pk}/costing/"]
    few = []
    for round_ in range(2):
        for sequence in range(1, 7):
            operation = make.OperationFactory(job=job, sequence=10 * round_ + sequence)
            make.WorkEntryFactory(operation=operation)
            make.MaterialUseFactory(job=job)
            make.PlannedMaterialFactory(job=job)
        if not round_:
            few = [queries(path) for path in paths]
    assert [queries(path) for path in paths] == few
    assert max(few) <= 11
