"""Accepting, booking and declining by the customer; what happens in between is told kindly."""

from scheduling.services.bookings import quote_book
from scheduling.services.offers import offers_find, operations_of_quote
from shop.models import Job, JobEvent, JobState
from tests import factories as make
from tests.factories import NOW
from tests.visit_page.conftest import Caller


def test_accepted_and_booked_at_once_by_the_customer(caller):
    offer = caller.see("time/").context["offers"][1]
    job = caller.book(1)
    caller.quote.refresh_from_db()
    assert (job.state, caller.quote.state) == (JobState.BOOKED, "accepted")
    assert job.arrives_at == offer.arrives_at
    done = {event.kind: event.details.get("by") for event in job.events.exclude(kind="reminder")}
    assert done == {"state": "customer", "quote_accepted": "customer"}
    assert not JobEvent.objects.filter(job=job, member__isnull=False).exists()
    story = caller.world.client("desk").get(f"/jobs/{job.pk}/").text
    assert "by the customer through their page" in story


def test_accepted_first_and_booked_later(caller):
    assert caller.say("accept/").status_code == 302
    job = Job.objects.get()
    assert job.state == JobState.QUOTED
    assert "no time yet" in caller.text()
    assert caller.book() == job
    job.refresh_from_db()
    assert job.state == JobState.BOOKED


def test_accepted_twice_makes_one_job(caller):
    offer = caller.see("time/").context["offers"][0]
    caller.say("accept/")
    again = caller.say("accept/")
    assert again.status_code == 409
    assert "answered already" in again.text
    caller.say("time/", slot=offer.key)
    assert caller.say("time/", slot=offer.key).status_code == 302  # shows the booked page
    assert Job.objects.count() == 1


def test_a_time_taken_in_between_is_told_with_fresh_times(caller, world):
    offers = caller.see("time/").context["offers"]
    rival = make.QuoteFactory(
        shop=world.small.shop, number="Q-9", operations=caller.quote.operations
    )
    found = offers_find(
        shop=rival.shop,
        operations=operations_of_quote(rival),
        earliest=offers[0].arrives_at,
        now=NOW,
    ).found
    job = quote_book(quote=rival, member=world.small.desk, now=NOW, offer=found[0])
    answer = caller.say("time/", slot=offers[0].key)
    assert answer.status_code == 409
    assert "has just taken that time" in answer.text
    assert job.number not in answer.text
    assert rival.customer.name not in answer.text
    fresh = answer.context["offers"]
    assert fresh
    assert offers[0].key not in [one.key for one in fresh]
    assert caller.say("time/", slot=fresh[0].key).status_code == 302


def test_a_quote_that_the_shop_replaced_is_not_accepted_unseen(caller, world):
    caller.see()
    world.quote(inspection=world.inspection, replaces=caller.quote, goal={"cleared": 0.8})
    answer = caller.say("accept/")
    assert answer.status_code == 409
    assert "has changed since you saw it" in answer.text
    assert not Job.objects.exists()


def test_declined_with_and_without_a_reason(caller, world):
    caller.say("decline/", why="we sell it")
    caller.quote.refresh_from_db()
    assert caller.quote.declined_why == "By the customer through their page: we sell it"
    other = Caller(world, world.quote(), caller.clock)
    other.say("decline/")
    other.quote.refresh_from_db()
    assert other.quote.declined_why == "By the customer through their page"
    assert caller.say("accept/").status_code == 409


def test_a_reason_that_is_too_long_is_kept_on_the_page(caller):
    answer = caller.say("decline/", why="x" * 201)
    assert (answer.status_code, "x" * 201 in answer.text) == (400, True)


def test_no_time_at_all_is_said_without_the_shops_reasons(caller, world):
    world.small.shop.refresh_from_db()
    for bay in (world.small.correction, world.small.wash):
        bay.active = False
        bay.save()
    said = caller.text("time/")
    assert "We found no time" in said
    assert world.small.correction.name not in said


def test_the_calendar_entry_of_the_visit(caller):
    assert caller.see("visit.ics").status_code == 404
    job = caller.book()
    answer = caller.see("visit.ics")
    assert answer.headers["Content-Type"].startswith("text/calendar")
    assert answer.content.count(b"BEGIN:VEVENT") == 2
    assert f"{job.arrives_at:%Y%m%dT%H%M%SZ}".encode() in answer.content
