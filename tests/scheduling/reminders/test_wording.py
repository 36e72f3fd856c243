"""The house's wording is complete; the owner's own is checked and never run as code."""

import pytest

from scheduling.models import MessageTemplate, ReminderPurpose, ReminderState
from scheduling.services.reminders import reminders_send_due
from scheduling.services.wording import (
    message_preview,
    message_template_save,
    wording_of_house,
    wording_problems,
)
from shop.models import Channel
from shop.refusals import Refused
from tests.factories import NOW, JobFactory, MessageTemplateFactory, ShopFactory
from tests.scheduling.reminders.due import due_reminder, mails

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("channel", Channel.values)
@pytest.mark.parametrize("purpose", ReminderPurpose.values)
def test_every_purpose_has_wording_for_every_channel(purpose, channel):
    wording = wording_of_house(purpose, channel)
    assert wording_problems(wording, purpose, channel) == []


def test_the_owners_wording_goes_before_the_houses():
    reminder = due_reminder()
    message_template_save(
        shop=reminder.shop,
        purpose=reminder.purpose,
        channel=reminder.channel,
        subject="See you {drop_off}",
        text="Hello {customer}.",
    )
    reminders_send_due(now=NOW)
    reminder.refresh_from_db()
    assert reminder.subject == "See you Tue 3 Mar 09:00"
    assert reminder.body.startswith(f"Hello {reminder.customer.name}.\n\nNo more such messages: ")


@pytest.mark.parametrize(
    ("field", "subject", "text"),
    [
        ("text", "Hello", "Dear {client}"),
        ("text", "Hello", "Dear {customer"),
        ("text", "Hello", "{customer.email}"),
        ("text", "Hello", " "),
        ("subject", "", "Hello"),
        ("subject", "Hello {who}", "Hello"),
        ("subject", "Two\nlines", "Hello"),
    ],
)
def test_wrong_wording_is_refused_at_its_field(field, subject, text):
    with pytest.raises(Refused) as refused:
        message_template_save(
            shop=ShopFactory(),
            purpose=ReminderPurpose.READY,
            channel=Channel.EMAIL,
            subject=subject,
            text=text,
        )
    assert list(refused.value.by_field()) == [field]
    assert not MessageTemplate.objects.exists()


def test_a_wrong_name_written_past_the_check_fails_for_a_person_to_see():
    reminder = due_reminder()
    MessageTemplateFactory(shop=reminder.shop, text="Dear {client}")
    assert reminders_send_due(now=NOW).failed == 1
    reminder.refresh_from_db()
    assert reminder.state == ReminderState.FAILED
    assert "{client} is not known" in reminder.error
    assert mails() == []


def test_braces_and_marks_in_a_name_stay_what_they_are():
    job = JobFactory(booked=True, vehicle__customer__name="{job} <b>Ana</b>\nBcc: all")
    made = message_preview(
        shop=job.shop,
        purpose=ReminderPurpose.CONFIRM,
        channel=Channel.EMAIL,
        subject="For {customer}",
        text="{customer}",
    )
    assert made.text == "{job} <b>Ana</b>\nBcc: all"
    assert "\n" not in made.subject
    assert "&lt;b&gt;Ana&lt;/b&gt;" in made.html
