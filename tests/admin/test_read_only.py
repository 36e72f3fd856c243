"""Snapshots, events and holds are looked at and not touched."""

import pytest
from django.urls import reverse

from tests import factories as make


@pytest.fixture
def rows(people):
    hold = make.HoldFactory(shop=people.shop)
    job = hold.job
    return [
        hold,
        job,
        make.QuoteFactory(shop=people.shop, vehicle=job.vehicle),
        make.InspectionFactory(shop=people.shop, vehicle=job.vehicle),
        make.MaterialUseFactory(job=job),
        make.CureFactory(job=job),
        make.ClimateReadingFactory(resource=hold.resource),
        make.ReminderFactory(shop=people.shop, job=job),
    ]


@pytest.mark.parametrize("page", ["change", "delete", "add"])
def test_not_even_by_an_owner(people, rows, client_of, page):
    client = client_of(people.owner)
    for row in rows:
        arguments = [] if page == "add" else [row.pk]
        name = f"admin:{row._meta.app_label}_{row._meta.model_name}_{page}"
        answer = client.post(reverse(name, args=arguments), {"post": "yes"})
        assert answer.status_code == 403, row
        assert type(row).objects.filter(pk=row.pk).exists()


def test_an_owner_may_mend_the_times_of_a_stretch_of_work(people, client_of):
    entry = make.WorkEntryFactory(operation__job__shop=people.shop)
    path = f"/admin/shop/workentry/{entry.pk}/change/"
    times = {
        "started_at_0": "2026-03-02", "started_at_1": "15:00:00",
        "ended_at_0": "2026-03-02", "ended_at_1": "15:30:00",
    }  # fmt: skip
    assert client_of(people.owner).post(path, times).status_code == 302
    entry.refresh_from_db()
    assert (entry.ended_at - entry.started_at).total_seconds() == 1800
    assert client_of(people.owner).get("/admin/shop/workentry/add/").status_code == 403
