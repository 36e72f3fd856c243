"""A visit kept over the API: others are told by whom and until when; it becomes a booking."""

import pytest

from scheduling.models import Hold, KeptSlot
from tests.factories import NOW
from tests.scheduling.shops import quoted_job, small_shop


@pytest.fixture
def small(db):
    return small_shop()


@pytest.fixture
def client(small, client_of):
    return client_of(small.desk)


def keep(client, job, number=1):
    found = client.post("/api/offers/", {"job": job.pk}).json()["found"]
    at = found[number]["arrives_at"]
    return client.post("/api/kept-slots/", {"job": job.pk, "arrives_at": at})


def test_kept_and_then_booked_as_it_was_told(small, client):
    job = quoted_job(small)
    kept = keep(client, job)
    assert kept.status_code == 201, kept.data
    assert kept.json()["kept_until"] == "2026-03-02T15:10:00Z"
    booked = client.post(f"/api/jobs/{job.pk}/book/", {"kept": kept.json()["id"]})
    assert booked.status_code == 200, booked.data
    assert booked.json()["arrives_at"] == kept.json()["arrives_at"]
    assert not KeptSlot.objects.exists()


def test_somebody_else_is_told_who_has_it_and_what_is_free(small, client):
    kept = keep(client, quoted_job(small)).json()
    other = quoted_job(small)
    answer = client.post(f"/api/jobs/{other.pk}/book/", {"arrives_at": kept["arrives_at"]})
    assert answer.status_code == 409
    said = answer.json()
    assert {(one["resource"], one["kept_until"]) for one in said["taken"]} == {
        (small.correction.name, kept["kept_until"])
    }
    assert said["offers"]
    assert "kept for another caller" in " ".join(said["errors"]["arrives_at"])


def test_let_go(small, client):
    kept = keep(client, quoted_job(small)).json()
    assert client.delete(f"/api/kept-slots/{kept['id']}/").status_code == 204
    assert not Hold.objects.exists()
    assert client.delete(f"/api/kept-slots/{kept['id']}/").status_code == 404


def test_what_has_lapsed_is_not_shown(small, client):
    kept = keep(client, quoted_job(small)).json()
    assert len(client.get("/api/kept-slots/").json()["results"]) == 1
    KeptSlot.objects.update(kept_at=NOW.replace(hour=14), kept_until=NOW)
    assert client.get(f"/api/kept-slots/{kept['id']}/").status_code == 404


def test_a_technician_keeps_nothing(small, client_of):
    job = quoted_job(small)
    answer = client_of(small.tech).post("/api/kept-slots/", {"job": job.pk, "arrives_at": NOW})
    assert answer.status_code == 403


def test_a_move_to_just_one_start_that_is_gone_changes_nothing(small, client):
    job = quoted_job(small)
    client.post(f"/api/jobs/{job.pk}/book/", {})
    kept = keep(client, quoted_job(small), number=2).json()
    before = set(Hold.objects.filter(job=job).values_list("start", "end"))
    answer = client.post(f"/api/jobs/{job.pk}/move/", {"arrives_at": kept["arrives_at"]})
    assert answer.status_code == 409, answer.data
    assert answer.json()["taken"]
    assert answer.json()["offers"]
    assert set(Hold.objects.filter(job=job).values_list("start", "end")) == before
