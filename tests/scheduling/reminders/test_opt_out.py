"""The link under a message ends such messages, by a person or by the mail reader itself."""

import pytest
from django.urls import reverse

from scheduling.models import Reminder, ReminderState
from scheduling.services.opt_out import stop_link
from scheduling.services.reminders import reminders_send_due
from shop.models import Consent, ConsentPurpose
from tests.factories import NOW, ReminderFactory
from tests.scheduling.reminders.due import due_reminder, mails

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _public(settings):
    settings.PUBLIC_URL = "https://shop.example"


def path_of(reminder):
    return stop_link(reminder).removeprefix("https://shop.example")


def test_the_mail_carries_the_link_in_text_and_headers():
    reminder = due_reminder()
    reminders_send_due(now=NOW)
    mail = mails()[0]
    link = stop_link(reminder)
    assert mail["List-Unsubscribe"].replace("\n", "").replace(" ", "") == f"<{link}>"
    # RFC 8058, section 3.1.
    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    reminder.refresh_from_db()
    assert link in reminder.body


def test_looking_changes_nothing(client):
    reminder = due_reminder()
    page = client.get(path_of(reminder))
    assert page.status_code == 200
    assert not Consent.objects.filter(granted=False).exists()


def test_one_click_takes_back_the_kind_and_withdraws_what_waits(client):
    reminder = due_reminder()
    other = ReminderFactory(job=reminder.job, purpose="first_wash")
    client.post(path_of(reminder), {"List-Unsubscribe": "One-Click"})
    reminder.refresh_from_db()
    other.refresh_from_db()
    assert (reminder.state, other.state) == (ReminderState.WITHDRAWN, ReminderState.DUE)
    said = Consent.objects.filter(customer=reminder.customer, granted=False)
    assert {row.purpose for row in said} == {ConsentPurpose.VISIT}


def test_everything_means_everything(client):
    reminder = due_reminder()
    ReminderFactory(job=reminder.job, purpose="first_wash")
    client.post(path_of(reminder), {"everything": "1"})
    assert not Reminder.objects.filter(state=ReminderState.DUE).exists()
    assert not Consent.objects.filter(granted=True).exists()


def test_a_link_that_was_changed_is_refused(client):
    token = path_of(due_reminder()).split("/")[2]
    wrong = reverse("opt_out", args=[token[:-1] + ("A" if token[-1] != "A" else "B")])
    assert client.post(wrong).status_code == 404
    assert not Consent.objects.filter(granted=False).exists()
