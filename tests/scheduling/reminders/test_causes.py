"""Messages of a quote, money, stock, a gauge: written once, withdrawn with their cause."""

from datetime import timedelta
from decimal import Decimal

import pytest

from estimating.services.gauges import gauge_calibrate
from estimating.services.quotes import quote_decline, quote_send
from scheduling.models import Reminder, ReminderPurpose, ReminderState
from scheduling.services.reminders import reminders_send_due
from shop.models import ConsentPurpose, Consumable, Member
from shop.services.payments import payment_record
from shop.services.work import material_use
from tests.factories import (
    NOW,
    ConsumableFactory,
    GaugeFactory,
    JobFactory,
    MemberFactory,
    QuoteFactory,
    ReminderFactory,
    stocked_shop,
)
from tests.scheduling.reminders.due import mails
from tests.scheduling.shops import agrees

pytestmark = pytest.mark.django_db
DAY = timedelta(days=1)


def sent_quote():
    quote = QuoteFactory()
    agrees(quote.customer, ConsentPurpose.OFFERS)
    quote_send(quote=quote, member=quote.member, now=NOW)
    return quote


def test_a_sent_quote_is_asked_about_once_and_not_after_it_ran_out():
    quote = sent_quote()
    quote_send(quote=quote, member=quote.member, now=NOW + DAY)
    row = Reminder.objects.get(quote=quote)
    assert (row.purpose, row.due_at) == (ReminderPurpose.FOLLOW_UP, NOW + 3 * DAY)
    assert row.expires_at == quote.valid_until
    reminders_send_due(now=NOW + 3 * DAY)
    assert str(quote) in mails()[0].get_payload(0).get_payload(decode=True).decode()


def test_an_answer_withdraws_the_asking():
    quote = sent_quote()
    quote_decline(quote=quote, member=quote.member, now=NOW + DAY, why="Too dear")
    assert Reminder.objects.get(quote=quote).state == ReminderState.WITHDRAWN


def balance_row(job):
    agrees(job.customer)
    return ReminderFactory(job=job, purpose=ReminderPurpose.BALANCE_DUE, due_at=NOW)


def test_a_part_paid_leaves_the_asking_and_the_rest_withdraws_it():
    job = JobFactory(booked=True, state="handed_over", price=Decimal(500))
    row, member = balance_row(job), MemberFactory(shop=job.shop)
    payment_record(job=job, amount=Decimal(200), method="cash", member=member, now=NOW)
    row.refresh_from_db()
    assert row.state == ReminderState.DUE
    payment_record(job=job, amount=Decimal(300), method="card", member=member, now=NOW)
    row.refresh_from_db()
    assert (row.state, row.why) == (ReminderState.WITHDRAWN, "All is paid")


def test_what_is_open_is_said_with_its_currency():
    job = JobFactory(booked=True, state="handed_over", price=Decimal(500))
    row = balance_row(job)
    reminders_send_due(now=NOW)
    row.refresh_from_db()
    assert f"500.00 {job.currency} is still open" in row.body


def take(job, item, quantity):
    member = Member.objects.filter(shop=job.shop).first() or MemberFactory(
        shop=job.shop, user__email="owner@shop.example"
    )
    material_use(job=job, consumable=item, quantity=Decimal(quantity), member=member, now=NOW)
    return Reminder.objects.filter(purpose=ReminderPurpose.LOW_STOCK)


def test_stock_at_its_reorder_point_is_told_to_the_owner_once_a_day():
    job = JobFactory(booked=True)
    item = ConsumableFactory(shop=job.shop, on_hand=Decimal(10), reorder_point=4)
    assert not take(job, item, 5).exists()
    rows = take(job, item, 1)
    assert {row.member.role for row in rows} == {"owner"}
    assert take(job, item, 1).count() == 1


def test_stock_bought_before_it_is_sent_withdraws_it():
    job = JobFactory(booked=True)
    item = ConsumableFactory(shop=job.shop, on_hand=Decimal(5), reorder_point=4)
    row = take(job, item, 2).first()
    Consumable.objects.filter(pk=item.pk).update(on_hand=20)
    reminders_send_due(now=NOW)
    row.refresh_from_db()
    assert (row.state, row.why) == (ReminderState.WITHDRAWN, "Not sent: there is enough again.")


def test_a_newer_check_of_a_gauge_moves_the_next():
    owner = MemberFactory(shop=stocked_shop(), user__email="owner@shop.example")
    gauge = GaugeFactory(shop=owner.shop)
    for days in (0, 10):
        gauge_calibrate(gauge=gauge, member=owner, now=NOW + days * DAY, shims=[[100.0, 100.2]])
    first, second = Reminder.objects.filter(member=owner).order_by("pk")
    assert first.state == ReminderState.WITHDRAWN
    # The catalogue's life of a check, as an estimate goes by it.
    assert (second.state, second.due_at) == (ReminderState.DUE, NOW + (10 + 180) * DAY)


def test_somebody_without_an_address_fails_for_a_person_to_see():
    owner = MemberFactory(shop=stocked_shop(), user__email="", phone="")
    gauge = GaugeFactory(shop=owner.shop)
    gauge_calibrate(gauge=gauge, member=owner, now=NOW, shims=[[100.0, 100.2]])
    reminders_send_due(now=NOW + 181 * DAY)
    row = Reminder.objects.get(member=owner)
    assert row.state == ReminderState.FAILED
    assert owner.name in row.error
