"""Each way out takes a message or says that it did not, and whether to try again."""

import smtplib

import pytest
from django.core import mail
from django.core.mail import EmailMultiAlternatives

from scheduling.notify import CARRIERS, Message, NotifyError, Unanswered, carrier_for
from tests.scheduling.reminders.due import mails

MESSAGE = Message(
    channel="email",
    recipient="caller@example.org",
    subject="Your visit",
    text="Hello.\n",
    html="<p>Hello.</p>",
    key="confirm/7",
    sender_name="Invented Finish",
    reply_to="desk@example.org",
)


def test_e_mail_goes_through_the_mail_backend_with_a_stable_id():
    CARRIERS["email"](MESSAGE)
    sent = mail.outbox[0]
    assert (sent.to, sent.reply_to) == (["caller@example.org"], ["desk@example.org"])
    assert sent.extra_headers["Message-ID"] == "<confirm.7@localhost>"
    assert sent.extra_headers["Auto-Submitted"] == "auto-generated"


def test_a_text_message_is_kept_in_the_mailbox():
    text = Message("text", "+12025550143", "", "Ready.", "", "ready/1", "Invented Finish")
    CARRIERS["mailbox"](text)
    kept = mails()[0]
    assert (kept["To"], kept["X-Channel"]) == ("+12025550143", "text")
    assert str(kept.get_payload()).strip() == "Ready."


@pytest.mark.parametrize(
    ("error", "permanent"),
    [
        (smtplib.SMTPRecipientsRefused({"a@example.org": (550, b"unknown")}), True),
        (smtplib.SMTPRecipientsRefused({"a@example.org": (450, b"busy")}), False),
        (smtplib.SMTPDataError(554, b"spam"), True),
        (smtplib.SMTPDataError(451, b"later"), False),
        (ConnectionRefusedError("nobody listens"), False),
    ],
)
def test_a_servers_answer_says_whether_to_try_again(monkeypatch, error, permanent):
    def fail(_self):
        raise error

    monkeypatch.setattr(EmailMultiAlternatives, "send", fail)
    with pytest.raises(NotifyError) as refused:
        CARRIERS["email"](MESSAGE)
    assert refused.value.permanent is permanent


def test_a_backend_that_does_not_watch_its_line_leaves_a_question(monkeypatch):
    # It may have been taken: only a NotifyError says that it certainly was not.
    def fail(_self):
        raise smtplib.SMTPServerDisconnected("gone")

    monkeypatch.setattr(EmailMultiAlternatives, "send", fail)
    with pytest.raises(Unanswered, match="gone"):
        CARRIERS["email"](MESSAGE)


def test_the_setting_chooses(settings):
    settings.MAIL = "console"
    assert carrier_for("email") == carrier_for("text") == "console"
    settings.MAIL = "smtp"
    assert carrier_for("email") == "email"
    # Without a gateway for texts they stay in the mailbox for a person to see.
    assert carrier_for("text") == "mailbox"
