"""Climate readings are judged and kept once; reminders are sent or stopped by a person."""

from datetime import timedelta

import pytest

from scheduling.models import ClimateReading
from tests import factories as make
from tests.factories import NOW

READING = {"air_c": 20, "humidity_percent": 50, "surface_c": 19.5}


def test_a_reading_is_kept_with_the_moment_and_no_warning(people, client_of):
    bay = make.BayFactory(shop=people.shop)
    client = client_of(people.technician)
    answer = client.post("/api/climate-readings/", {"resource": bay.pk, **READING})
    assert answer.status_code == 201
    assert answer.json()["warnings"] == []
    assert ClimateReading.objects.get().at == NOW
    again = client.post("/api/climate-readings/", {"resource": bay.pk, **READING})
    assert again.status_code == 409


def test_a_wet_surface_is_warned_of(people, client_of):
    bay = make.BayFactory(shop=people.shop)
    wet = {"resource": bay.pk, **READING, "humidity_percent": 95}
    assert client_of(people.technician).post("/api/climate-readings/", wet).json()["warnings"]


@pytest.mark.parametrize(
    "change", [{"humidity_percent": 0}, {"humidity_percent": 101}, {"air_c": 99}]
)
def test_figures_no_bay_can_have(people, client_of, change):
    bay = make.BayFactory(shop=people.shop)
    answer = client_of(people.technician).post(
        "/api/climate-readings/", {"resource": bay.pk, **READING, **change}
    )
    assert answer.status_code == 400
    assert list(answer.data["errors"]) == list(change)
    assert not ClimateReading.objects.exists()


def test_a_lamp_has_no_climate(people, client_of):
    lamp = make.LampFactory(shop=people.shop)
    answer = client_of(people.technician).post(
        "/api/climate-readings/", {"resource": lamp.pk, **READING}
    )
    assert answer.status_code == 400


@pytest.fixture
def reminder(people):
    made = make.ReminderFactory(shop=people.shop, due_at=NOW + timedelta(hours=3))
    make.ConsentFactory(customer=made.customer)
    return made


def test_sent_now_and_not_twice(people, client_of, reminder, mailoutbox):
    client = client_of(people.desk)
    answer = client.post(f"/api/reminders/{reminder.pk}/send-now/")
    assert (answer.status_code, answer.json()["state"]) == (200, "sent")
    assert client.post(f"/api/reminders/{reminder.pk}/send-now/").status_code == 400


def test_stopped_with_a_reason(people, client_of, reminder):
    client = client_of(people.desk)
    assert list(client.post(f"/api/reminders/{reminder.pk}/stop/", {}).data["errors"]) == ["why"]
    answer = client.post(f"/api/reminders/{reminder.pk}/stop/", {"why": "told by phone"})
    assert answer.json()["state"] == "withdrawn"
    assert client.post(f"/api/reminders/{reminder.pk}/send-now/").status_code == 400


def test_filtered_by_when_due(people, client_of, reminder):
    client = client_of(people.desk)
    for hours, count in ((1, 0), (4, 1)):
        before = (NOW + timedelta(hours=hours)).isoformat()
        answer = client.get("/api/reminders/", {"due_before": before})
        assert answer.data["count"] == count
