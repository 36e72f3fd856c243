"""Offers hold nothing; booking holds, moves and gives back."""

from datetime import timedelta

import pytest

from scheduling.models import Hold
from shop.models import Job
from tests.factories import NOW, QuoteFactory
from tests.scheduling.shops import quoted_job, small_shop

DAY = timedelta(days=1)


@pytest.fixture
def small(db):
    return small_shop()


def offers(client, job, **asked):
    answer = client.post("/api/offers/", {"job": job.pk, **asked})
    assert answer.status_code == 200, answer.data
    return answer.json()["found"]


def test_offers_come_the_earliest_first_and_hold_nothing(small, client_of):
    found = offers(client_of(small.desk), quoted_job(small))
    assert len(found) == 3
    assert found == sorted(found, key=lambda offer: offer["ready_at"])
    assert found[0]["arrives_at"] == "2026-03-02T15:00:00Z"  # now, Monday 09:00 in Chicago
    assert found[0]["steps"][0]["crew"] == [small.crew.name]
    assert not Hold.objects.exists()


def test_offers_for_a_quote(small, client_of):
    quote = QuoteFactory(shop=small.shop)
    answer = client_of(small.desk).post("/api/offers/", {"quote": quote.pk})
    assert answer.json()["found"]


@pytest.mark.parametrize("both", [True, False])
def test_one_of_quote_and_job_is_asked_for(small, client_of, both):
    asked = {"quote": QuoteFactory(shop=small.shop).pk, "job": quoted_job(small).pk}
    answer = client_of(small.desk).post("/api/offers/", asked if both else {})
    assert answer.status_code == 400


def test_an_offer_is_booked_as_it_was_told(small, client_of):
    client, job = client_of(small.desk), quoted_job(small)
    second = offers(client, job)[1]
    answer = client.post(f"/api/jobs/{job.pk}/book/", {"arrives_at": second["arrives_at"]})
    assert answer.status_code == 200
    assert answer.json()["arrives_at"] == second["arrives_at"]
    assert answer.json()["state"] == "booked"
    assert Hold.objects.filter(job=job).exists()


def test_a_start_that_is_gone_is_answered_with_what_is_free(small, client_of):
    client, first, late = client_of(small.desk), quoted_job(small), quoted_job(small)
    told = offers(client, late)[0]["arrives_at"]
    assert client.post(f"/api/jobs/{first.pk}/book/", {}).status_code == 200
    answer = client.post(f"/api/jobs/{late.pk}/book/", {"arrives_at": told})
    assert answer.status_code == 409
    assert answer.json()["offers"][0]["arrives_at"] > told
    assert Job.objects.get(pk=late.pk).state == "quoted"
    assert not Hold.objects.filter(job=late).exists()


def test_a_quote_is_accepted_and_booked_in_one_step(small, client_of):
    quote = QuoteFactory(shop=small.shop)
    answer = client_of(small.desk).post(f"/api/quotes/{quote.pk}/book/", {})
    assert answer.status_code == 200
    assert answer.json()["state"] == "booked"
    quote.refresh_from_db()
    assert (quote.state, quote.job_id) == ("accepted", answer.json()["id"])


def test_moved_and_cancelled(small, client_of):
    client, job = client_of(small.desk), quoted_job(small)
    client.post(f"/api/jobs/{job.pk}/book/", {})
    later = (NOW + 2 * DAY).isoformat()
    moved = client.post(f"/api/jobs/{job.pk}/move/", {"earliest": later, "why": "away"})
    assert moved.json()["arrives_at"] == "2026-03-04T15:00:00Z"
    assert list(client.post(f"/api/jobs/{job.pk}/cancel/", {}).data["errors"]) == ["why"]
    done = client.post(f"/api/jobs/{job.pk}/cancel/", {"why": "sold it"})
    assert done.json()["state"] == "cancelled"
    assert done.json()["events"][-1]["why"] == "sold it"
    assert not Hold.objects.exists()


def test_technicians_do_not_book(small, client_of):
    job = quoted_job(small)
    assert client_of(small.tech).post(f"/api/jobs/{job.pk}/book/", {}).status_code == 403
    assert client_of(small.tech).post("/api/offers/", {"job": job.pk}).status_code == 403
