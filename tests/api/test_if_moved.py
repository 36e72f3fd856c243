"""Asking what one move would bring writes nothing; booking it needs a consent, nothing changed."""

from datetime import timedelta

import pytest

from scheduling.models import Hold
from scheduling.services.bookings import booking_make
from tests.factories import NOW, MemberFactory
from tests.scheduling.shops import correction, quoted_job, small_shop

DAY = timedelta(days=1)
ASK, BOOK = "/api/offers/if-moved/", "/api/offers/if-moved/book/"
CONSENT = {"consent": "Ms Venn, by e-mail"}


@pytest.fixture
def small(db):
    return small_shop()


@pytest.fixture
def there(small):
    job = quoted_job(small, correction(480, attendance="through"))
    earliest = NOW + 2 * DAY - timedelta(hours=1)
    return booking_make(job=job, member=small.desk, now=NOW, earliest=earliest)


def asked(client, job):
    answer = client.post(ASK, {"job": job.pk, "earliest": (NOW + 2 * DAY).isoformat()})
    assert answer.status_code == 200, answer.data
    return answer.json()


def told(answer):
    return {"earliest": answer["earliest"], "asked_at": answer["asked_at"]} | {
        "key": answer["found"]["key"]
    }


def test_asked_and_booked_as_it_was_told(small, there, client_of):
    client, job = client_of(small.desk), quoted_job(small, correction(300))
    answer = asked(client, job)
    assert answer["found"]["job"] == there.pk
    assert float(answer["found"]["gain_hours"]) >= 4
    assert not Hold.objects.exclude(job=there).exists()
    booked = client.post(BOOK, {"job": job.pk, **told(answer), **CONSENT})
    assert booked.status_code == 200, booked.data
    assert booked.json()["arrives_at"] == answer["found"]["offer"]["arrives_at"]
    there.refresh_from_db()
    assert there.events.get(kind="moved").why.endswith(CONSENT["consent"])


@pytest.mark.parametrize("change", [{"key": "1+2"}, {"consent": "yes"}])
def test_another_answer_or_no_consent_books_nothing(small, there, client_of, change):
    client, job = client_of(small.desk), quoted_job(small, correction(300))
    given = {"job": job.pk, **told(asked(client, job)), **CONSENT, **change}
    assert client.post(BOOK, given).status_code in (400, 409)
    assert not Hold.objects.exclude(job=there).exists()


def test_technicians_and_outsiders_may_not(small, there, client_of):
    job = quoted_job(small, correction(300))
    given = {"job": job.pk, **told(asked(client_of(small.owner), job)), **CONSENT}
    for address in (ASK, BOOK):
        assert client_of(small.tech).post(address, given).status_code == 403
        assert client_of(MemberFactory()).post(address, given).status_code == 400
        assert client_of(None).post(address, given).status_code == 403
    assert not Hold.objects.exclude(job=there).exists()


def test_null_where_nothing_helps(small, client_of):
    assert asked(client_of(small.desk), quoted_job(small))["found"] is None
