"""Consent on the page, and the link in what is sent."""

from datetime import timedelta

import pytest
from django.core import mail
from django.urls import reverse

from estimating.services.customer_pages import page_withdraw
from scheduling.models import ReminderState
from scheduling.services.wording import message_write
from shop.models import Consent
from tests.visit_page.conftest import Caller


@pytest.fixture
def public(settings):
    settings.PUBLIC_URL = "https://shop.example"


def granted(customer):
    return {
        (row.channel, row.purpose): (row.granted, row.source)
        for row in Consent.objects.filter(customer=customer)
    }


def test_ticked_is_allowed_and_what_nobody_ticked_stays_unsaid(caller):
    said = {"email-visit": "yes", "email-aftercare": "yes", "text-offers": "yes"}
    caller.say("messages/", **said)
    assert granted(caller.quote.customer) == {
        ("email", "visit"): (True, "visit page"),
        ("email", "aftercare"): (True, "visit page"),
        ("text", "offers"): (True, "visit page"),
    }
    assert caller.text().count("checked>") >= 3


def test_taken_back_with_what_waits(caller):
    caller.say("messages/", **{"email-visit": "yes"})
    job = caller.book()
    waiting = job.reminders.filter(state=ReminderState.DUE)
    assert waiting.exists()
    caller.clock.shift(timedelta(minutes=1))
    caller.say("messages/")
    assert granted(caller.quote.customer)[("email", "visit")] == (False, "visit page")
    assert not waiting.exists()


def test_other_customers_words_stay(caller, world):
    other = Caller(world, world.quote(), caller.clock)
    stranger = world.vehicle.customer.__class__.objects.create(
        shop=world.small.shop, name="Else", email="else@shop.example"
    )
    Consent.objects.create(
        customer=stranger,
        channel="email",
        purpose="visit",
        granted=True,
        said_at=caller.quote.created_at,
        source="phone",
    )
    other.say("messages/")
    assert granted(stranger) == {("email", "visit"): (True, "phone")}


def test_a_channel_without_an_address_is_not_asked(caller):
    caller.quote.customer.phone = ""
    caller.quote.customer.save()
    assert "text-visit" not in caller.text()
    caller.say("messages/", **{"text-visit": "yes"})
    assert granted(caller.quote.customer) == {}


def test_the_letter_has_the_link_and_the_quote_on_paper(caller, world, public):
    world.client("desk").post(reverse("quote_letter", args=[caller.quote.pk]))
    (letter,) = mail.outbox
    assert isinstance(letter, mail.EmailMultiAlternatives)
    link = "https://shop.example" + caller.path
    assert link in letter.body
    assert f'href="{link}"' in str(letter.alternatives[0][0])
    name, content, kind = letter.attachments[0]
    assert (name, kind) == (f"{caller.quote.number}-v1.pdf", "application/pdf")
    assert content.startswith(b"%PDF-")


def test_a_withdrawn_link_is_in_no_letter(caller, world, public):
    page_withdraw(quote=caller.quote, member=world.small.desk)
    world.client("desk").post(reverse("quote_letter", args=[caller.quote.pk]))
    assert "/v/" not in mail.outbox[0].body


def test_the_confirmation_names_the_page(caller, public):
    caller.say("messages/", **{"email-visit": "yes"})
    job = caller.book()
    said = message_write(job.reminders.get(purpose="confirm", channel="email")).text
    assert f"https://shop.example{caller.path}" in said
    before = message_write(job.reminders.get(purpose="day_before", channel="email")).text
    assert "/v/" not in before
