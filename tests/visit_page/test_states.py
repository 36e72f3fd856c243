"""What the page says, from the quote to the care of the coating."""

from datetime import timedelta

from estimating.core.options import Options
from scheduling.services.bookings import booking_cancel
from scheduling.services.cures import cures_update
from shop.models import JobState
from shop.services.payments import payment_record
from tests.visit_page.conftest import Caller


def coated(world):
    quote = world.quote(inspection=world.inspection, options=Options(coating="lantern"))
    return Caller(world, quote, world.clock)


def test_the_quote_in_plain_words_with_its_price_and_limits(caller):
    said = caller.text()
    assert "<li>Front left door: polished in two steps" in said
    assert "Front left fender: not polished (left as it is to keep the price)" in said
    assert "Paint of unknown thickness is left alone: Front right fender" in said
    assert "Thin paint must stay and is not polished: Front right door" in said
    assert f"${caller.quote.price + caller.quote.tax:,.2f}" in said
    assert "Valid until <b>16 Mar 2026</b>" in said
    assert "expected to stay" in said
    assert "through the clear coat are made less visible, not undone" in said


def test_a_quote_by_phone_says_that_nobody_has_looked(world):
    said = Caller(world, world.quote(), world.clock).text()
    assert "Not inspected yet" in said
    assert "we ask you before we begin" in said


def test_after_its_last_day_it_can_only_be_declined(caller):
    caller.clock.move_to(caller.quote.valid_until)
    said = caller.text()
    assert "no longer valid" in said
    assert "Accept" not in said
    assert caller.say("decline/").status_code == 302
    assert "You declined" in caller.text()


def test_booked_says_when_where_and_what_to_bring(caller):
    job = caller.book()
    said = caller.text()
    assert f'datetime="{job.arrives_at.isoformat()}"' in said
    assert f'datetime="{job.promised_at.isoformat()}"' in said
    assert "Bring every key" in said
    assert "visit.ics" in said


def test_while_it_is_worked_on_and_while_the_coating_cures(world):
    caller = coated(world)
    job = caller.work(caller.book())
    assert job.state == JobState.CURING
    said = caller.text()
    assert "the coating is hardening" in said
    assert "Lantern" in said
    assert "0 % of the way" in said
    assert "done</span>" in said
    caller.clock.move_to(job.cure.started_at + timedelta(hours=job.cure.handover_hours / 2))
    assert "50 % of the way" in caller.text()


def test_ready_says_what_is_to_be_paid(world):
    caller = coated(world)
    job = caller.work(caller.book())
    later = job.cure.forecast_handover_at + timedelta(minutes=1)
    cures_update(now=later)
    caller.clock.move_to(later)
    total = caller.quote.price + caller.quote.tax
    said = caller.text()
    assert "You can fetch your vehicle" in said
    assert f"${total:,.2f}" in said
    desk = world.small.desk
    payment_record(job=job, member=desk, amount=total, method="card", now=later, note="")
    assert "Everything is paid" in caller.text()


def test_aftercare_names_the_first_wash_and_defers_to_the_product(world):
    caller = coated(world)
    job = caller.work(caller.book())
    cures_update(now=job.cure.forecast_handover_at + timedelta(minutes=1))
    job.refresh_from_db()
    caller.hand_over(job)
    wash = job.cure.started_at + timedelta(hours=job.cure.wash_after_hours)
    said = caller.text()
    assert f'First wash from</dt><dd><b><time class="nowrap" datetime="{wash.isoformat()}"' in said
    assert "come before anything here" in said


def test_a_cancelled_visit_says_so(caller):
    job = caller.book()
    booking_cancel(job=job, member=caller.world.small.desk, now=job.created_at, why="flood")
    said = caller.text()
    assert "does not take place" in said
    assert "flood" not in said
