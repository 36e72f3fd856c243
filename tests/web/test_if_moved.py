"""The heading apart from the offers, the page where the consent is noted, and who may open it."""

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from estimating.models import Quote
from scheduling.models import Hold
from scheduling.services.bookings import booking_cancel, booking_make
from shop.models import Job
from tests.factories import NOW, QuoteFactory, operation_row
from tests.scheduling.shops import correction, quoted_job

WEDNESDAY = {"earliest": "2026-03-04"}
DAY = timedelta(days=1)


@pytest.fixture
def there(world):
    """All of Wednesday is booked; the vehicle can as well come on Thursday."""
    return booked(world, 480)


def booked(world, minutes, days=2):
    job = quoted_job(world.small, correction(minutes, attendance="through"))
    job.number = f"T-{job.pk}"  # the services number theirs from the first on
    job.save(update_fields=["number"])
    earliest = NOW + days * DAY - timedelta(hours=1)
    return booking_make(job=job, member=world.small.desk, now=NOW, earliest=earliest)


def quote_of(world):
    return QuoteFactory(
        vehicle=world.vehicle,
        customer=world.vehicle.customer,
        member=world.small.desk,
        operations=[operation_row(planned_minutes=300)],
    )


def page_of(quote):
    return reverse("quote_if_moved", args=[quote.pk])


def consent(answer, text):
    form = answer.context["form"]
    return {name: form[name].value() for name in ("asked_at", "key", "earliest")} | {
        "consent": text
    }


def asked_on_the_desk(client, world):
    given = {"vehicle": world.vehicle.pk, **WEDNESDAY}
    return client.post(reverse("desk_if_moved"), given, headers={"HX-Request": "true"})


def test_the_desk_says_whose_booking_and_what_is_gained(world, desk, there, text):
    before = Job.objects.count(), Hold.objects.count(), Quote.objects.count()
    said = text(asked_on_the_desk(desk, world))
    assert "If one booking were moved" in said
    assert "Only with their consent" in said
    for part in (there.number, there.customer.name, there.vehicle.description):
        assert part in said
    assert "<html" not in said
    assert (Job.objects.count(), Hold.objects.count(), Quote.objects.count()) == before


def test_nothing_is_said_where_no_move_helps(world, desk):
    assert not asked_on_the_desk(desk, world).content.strip()


def test_the_desk_loads_it_after_the_offers(world, desk, text):
    said = text(desk.post(reverse("desk_visits"), {"vehicle": world.vehicle.pk}))
    assert f'hx-post="{reverse("desk_if_moved")}"' in said
    assert "If one booking were moved" not in said


def test_the_button_makes_the_quote_and_goes_on_to_the_page(world, desk, there):
    given = {"vehicle": world.vehicle.pk, **WEDNESDAY, "do": "ask"}
    answer = desk.post(reverse("desk"), given)
    quote = Quote.objects.get()
    assert answer.headers["Location"] == f"{page_of(quote)}?earliest=2026-03-04"
    assert desk.get(answer.headers["Location"]).context["found"].job == there


def test_a_noted_consent_moves_one_and_books_the_other(world, desk, there):
    quote, old = quote_of(world), there.arrives_at
    answer = desk.get(page_of(quote), WEDNESDAY)
    found = answer.context["found"]
    done = desk.post(page_of(quote), consent(answer, "Mr Hale himself, by phone"))
    quote.refresh_from_db()
    there.refresh_from_db()
    assert done.headers["Location"] == reverse("job", args=[quote.job_id])
    assert quote.job.arrives_at == found.offer.arrives_at
    assert there.arrives_at == found.moved.arrives_at != old
    assert "Mr Hale himself, by phone" in there.events.get(kind="moved").why


@pytest.mark.parametrize("note", ["", "ok"])
def test_without_a_consent_the_same_times_stay_and_nothing_is_done(world, desk, there, text, note):
    quote = quote_of(world)
    answer = desk.get(page_of(quote), WEDNESDAY)
    told = answer.context["found"].key
    answer = desk.post(page_of(quote), consent(answer, note))
    assert answer.status_code == 400
    assert 'aria-invalid="true"' in text(answer)
    assert answer.context["found"].key == told
    assert not Hold.objects.exclude(job=there).exists()


def test_a_changed_calendar_is_refused_kindly(world, desk, there, text):
    quote = quote_of(world)
    answer = desk.get(page_of(quote), WEDNESDAY)
    booking_cancel(job=there, member=world.small.desk, now=NOW, why="Ill")
    answer = desk.post(page_of(quote), consent(answer, "Mr Hale himself, by phone"))
    assert answer.status_code == 409
    assert "Nothing was moved or booked" in text(answer)
    assert not Hold.objects.exists()


@pytest.mark.parametrize("at", ["", "soon", "2026-03-02", "0001-01-01T00:00:00+00:00"])
def test_a_moment_nobody_wrote_is_refused(world, desk, there, at):
    quote = quote_of(world)
    given = consent(desk.get(page_of(quote), WEDNESDAY), "Mr Hale, by phone") | {"asked_at": at}
    assert desk.post(page_of(quote), given).status_code in (400, 409)
    assert not Hold.objects.exclude(job=there).exists()


def test_who_may(world, there):
    quote = quote_of(world)
    for who, page, part in (
        ("owner", 200, 200),
        ("desk", 200, 200),
        ("tech", 403, 403),
        ("outsider", 404, 200),
    ):
        client = world.client(who)
        assert client.get(page_of(quote)).status_code == page
        assert client.post(page_of(quote), {}).status_code == (400 if page == 200 else page)
        if who != "outsider":
            assert asked_on_the_desk(client, world).status_code == part


@pytest.mark.django_db(transaction=True)  # otherwise no calendar is kept
@pytest.mark.parametrize("bookings", [1, 8])
def test_it_reads_little(world, desk, there, bookings):
    for day in range(3, 2 + bookings):
        booked(world, 60, days=day)
    quote = quote_of(world)
    for ask in (
        lambda: desk.get(page_of(quote), WEDNESDAY),
        lambda: asked_on_the_desk(desk, world),
    ):
        ask()
        with CaptureQueriesContext(connection) as seen:
            answer = ask()
        assert there.number in answer.content.decode()
        assert len(seen) <= 12
