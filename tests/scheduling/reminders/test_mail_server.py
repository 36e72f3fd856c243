"""Against a real SMTP server: taken, refused for good or for now, or not known."""

import time

import pytest

from scheduling.notify import CARRIERS, Message, NotifyError, Unanswered
from tests.mailserver import Sink, free_port, listening, raw

MESSAGE = Message(
    channel="email",
    recipient="caller@example.org",
    subject="Your visit",
    text="Hello.\n",
    html="<p>Hello.</p>",
    key="confirm/7",
    sender_name="Invented Finish",
)


@pytest.fixture(autouse=True)
def _by_smtp(settings):
    settings.EMAIL_BACKEND = "scheduling.notify.email.watched.Backend"
    settings.EMAIL_HOST = "127.0.0.1"
    settings.EMAIL_TIMEOUT = 0.5


@pytest.fixture
def sink(settings):
    sink = Sink()
    with listening(sink) as port:
        settings.EMAIL_PORT = port
        yield sink


def refusal(kind=NotifyError):
    with pytest.raises(kind) as refused:
        CARRIERS["email"](MESSAGE)
    return refused.value


def test_it_arrives_with_its_own_id(sink):
    CARRIERS["email"](MESSAGE)
    assert [mail["To"] for mail in sink.mails] == ["caller@example.org"]
    assert dict(sink.ids) == {"<confirm.7@localhost>": 1}


@pytest.mark.parametrize(("code", "permanent"), [(550, True), (450, False)])
def test_a_recipient_is_refused(sink, code, permanent):
    sink.rcpt = f"{code} no"
    error = refusal()
    assert (error.permanent, f"{code} no" in str(error), sink.mails) == (permanent, True, [])


@pytest.mark.parametrize(("code", "permanent"), [(554, True), (451, False), (421, False)])
def test_the_text_is_refused(sink, code, permanent):
    sink.data = f"{code} no"
    assert refusal().permanent is permanent


def test_a_line_that_breaks_after_the_text_leaves_a_question(sink):
    def gone(_mail):
        raise ConnectionError

    sink.after_text = gone
    assert "may have sent it" in str(refusal(Unanswered))
    assert len(sink.mails) == 1


def test_no_answer_to_the_text_in_time_leaves_a_question(sink):
    sink.stall_seconds = 1.0
    refusal(Unanswered)


@pytest.mark.parametrize("answer", ["howdy", "199 what", "250-never\r\n" + "x" * 9000])
def test_rubbish_after_the_text_leaves_a_question(sink, answer):
    sink.data = answer
    refusal(Unanswered)


def test_a_farewell_that_fails_does_not_make_a_taken_message_a_question(sink, monkeypatch):
    async def no_farewell(server, _argument):
        # Longer than any line may be: smtplib calls that an error 500.
        await server.push("221 " + "x" * 9000)

    monkeypatch.setattr("aiosmtpd.smtp.SMTP.smtp_QUIT", no_farewell)
    CARRIERS["email"](MESSAGE)
    assert len(sink.mails) == 1


def test_nobody_listens(settings):
    settings.EMAIL_PORT = free_port()
    assert refusal().permanent is False


@pytest.mark.parametrize(
    ("says", "then_close"),
    [
        (b"", False),
        (b"", True),
        (b"SSH-2.0-nothing\r\n", False),
        (b"554 not here\r\n", False),
        (b"2" * 9000 + b"\r\n", False),
        (b"220 hello\r\n", True),
    ],
)
def test_what_is_no_mail_server_certainly_took_nothing(settings, says, then_close):
    with raw(says, then_close=then_close) as port:
        settings.EMAIL_PORT = port
        started = time.monotonic()
        assert refusal().permanent is False
    assert time.monotonic() - started < 5


def test_a_refused_sign_in_is_the_shops_to_mend_and_tried_again(sink, settings):
    # aiosmtpd without an authenticator does not offer AUTH.
    settings.EMAIL_HOST_USER, settings.EMAIL_HOST_PASSWORD = "desk", "wrong"
    error = refusal()
    assert sink.mails == []
    assert "AUTH" in str(error)
    assert error.permanent is False


def test_a_message_that_cannot_be_put_together_is_refused_for_good(sink):
    broken = Message("email", "a@example.org", "two\nlines", "x", "", "confirm/8", "Finish")
    with pytest.raises(NotifyError) as refused:
        CARRIERS["email"](broken)
    assert (refused.value.permanent, sink.mails) == (True, [])
