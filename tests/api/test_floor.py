"""The floor over HTTP: check in, work, take material, hand over, and what it cost."""

from datetime import timedelta
from decimal import Decimal

import pytest
import time_machine

from tests.factories import NOW, ConsumableFactory
from tests.scheduling.shops import correction, quoted_job, small_shop


@pytest.fixture
def small(db):
    return small_shop()


@pytest.fixture
def job(small, client_of):
    """A job of one correction, booked for now."""
    made = quoted_job(small, correction(120))
    assert client_of(small.desk).post(f"/api/jobs/{made.pk}/book/", {}).status_code == 200
    return made


def do(client, path, after_minutes=0, **asked):
    with time_machine.travel(NOW + timedelta(minutes=after_minutes), tick=False):
        answer = client.post(f"/api/{path}/", asked)
    assert answer.status_code < 300, answer.data
    return answer.json()


def test_a_whole_visit(small, job, client_of):
    tech, desk = client_of(small.tech), client_of(small.desk)
    operation = f"operations/{job.operations.get().pk}"
    assert do(tech, f"jobs/{job.pk}/check-in")["state"] == "on_site"
    assert do(tech, f"{operation}/start")["state"] == "running"
    assert do(tech, f"{operation}/pause", 60)["state"] == "paused"
    do(tech, f"{operation}/start", 90)
    item = ConsumableFactory(shop=small.shop, unit_cost=Decimal("0.05"), on_hand=Decimal(1000))
    do(tech, "material-uses", 95, job=job.pk, consumable=item.pk, quantity="100")
    assert do(tech, f"{operation}/finish", 120)["state"] == "done"
    assert do(tech, f"jobs/{job.pk}/hand-over", 130)["state"] == "handed_over"
    assert do(desk, f"jobs/{job.pk}/close", 140)["state"] == "closed"
    item.refresh_from_db()
    assert item.on_hand == 900
    sheet = desk.get(f"/api/jobs/{job.pk}/costing/").json()
    # An hour and a half at 38.00, overhead 35 % of it, bay 9.00 an hour, 100 ml at 0.05.
    assert sheet["hours"]["actual"] == "1.5000"
    assert sheet["labour"]["actual"] == "57.00"
    assert sheet["overhead"]["actual"] == "19.95"
    assert sheet["bay"]["actual"] == "13.50"
    assert sheet["materials"]["actual"] == "5.00"
    assert sheet["cost"]["actual"] == "95.45"


def test_work_before_the_vehicle_is_here_is_refused(small, job, client_of):
    answer = client_of(small.tech).post(f"/api/operations/{job.operations.get().pk}/start/")
    assert answer.status_code == 400
    assert "check the vehicle in" in answer.data["errors"][""][0]


def test_a_second_open_entry_is_a_conflict(small, job, client_of):
    tech = client_of(small.tech)
    operation = f"operations/{job.operations.get().pk}"
    do(tech, f"jobs/{job.pk}/check-in")
    do(tech, f"{operation}/start")
    assert tech.post(f"/api/{operation}/start/").status_code == 409


def test_material_of_another_jobs_operation_is_refused(small, job, client_of):
    other = quoted_job(small)
    item = ConsumableFactory(shop=small.shop)
    asked = {"job": other.pk, "consumable": item.pk, "quantity": "1"}
    asked["operation"] = job.operations.get().pk
    answer = client_of(small.tech).post("/api/material-uses/", asked)
    assert answer.status_code == 400
    assert list(answer.data["errors"]) == ["operation"]


@pytest.mark.parametrize("quantity", ["0", "-1", "NaN", "1e9"])
def test_an_impossible_quantity_is_refused(small, job, client_of, quantity):
    item = ConsumableFactory(shop=small.shop)
    asked = {"job": job.pk, "consumable": item.pk, "quantity": quantity}
    answer = client_of(small.tech).post("/api/material-uses/", asked)
    assert answer.status_code == 400
    assert list(answer.data["errors"]) == ["quantity"]
