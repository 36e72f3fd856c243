"""Against a real HTTP server: a text message is taken, refused, or not known."""

import json
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from scheduling.notify import CARRIERS, Message, NotifyError, Unanswered, carrier_for
from scheduling.notify.gateway import idempotency_key
from tests.mailserver import free_port, raw

TEXT = Message("text", "+12025550143", "", "Ready.\n", "", "ready/1", "Invented Finish")


class Gateway(ThreadingHTTPServer):
    """Answers as it is told; notes what it was given."""

    def __init__(self) -> None:
        super().__init__(("127.0.0.1", 0), Answering)
        self.given: list[tuple[dict[str, str], dict[str, str]]] = []
        self.status, self.body, self.location = 202, b'{"id": "m-1"}', ""
        self.wait = 0.0

    def handle_error(self, *_args: object) -> None:
        """A caller that hung up is what some of these are about."""


class Answering(BaseHTTPRequestHandler):
    server: Gateway

    def do_POST(self) -> None:
        body = self.rfile.read(int(self.headers["Content-Length"]))
        self.server.given.append((dict(self.headers), json.loads(body)))
        time.sleep(self.server.wait)
        self.send_response(self.server.status)
        if self.server.location:
            self.send_header("Location", self.server.location)
        self.end_headers()
        self.wfile.write(self.server.body)

    def log_message(self, *_args: object) -> None:
        pass


@contextmanager
def gateway() -> Iterator[Gateway]:
    server = Gateway()
    thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
    thread.start()
    try:
        yield server
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


@pytest.fixture
def server(settings):
    with gateway() as server:
        point_at(settings, server.server_port)
        yield server


def point_at(settings, port):
    settings.TEXT_GATEWAY_URL = f"http://127.0.0.1:{port}/messages?from=shop"
    settings.TEXT_GATEWAY_TOKEN = "invented-token"
    settings.TEXT_GATEWAY_TIMEOUT = 0.3


def outcome():
    try:
        CARRIERS["gateway"](TEXT)
    except NotifyError as error:
        return "refused" if error.permanent else "later"
    except Unanswered:
        return "unknown"
    return "taken"


def test_it_is_given_with_token_and_key(server):
    assert outcome() == outcome() == "taken"
    (headers, body), (again, _body) = server.given
    assert body == {
        "to": "+12025550143",
        "text": "Ready.",
        "sender": "Invented Finish",
        "key": headers["Idempotency-Key"],
    }
    assert headers["Authorization"] == "Bearer invented-token"
    assert again["Idempotency-Key"] == headers["Idempotency-Key"]


def test_another_installation_has_other_keys(settings):
    ours = idempotency_key("ready/1")
    assert idempotency_key("ready/2") != ours
    settings.SECRET_KEY = "another installation's own key, fifty characters long"
    assert idempotency_key("ready/1") != ours


@pytest.mark.parametrize(
    ("status", "expected"),
    [
        (400, "refused"),
        (422, "refused"),
        (401, "later"),
        (404, "later"),
        (429, "later"),
        (500, "later"),
        (503, "later"),
        (502, "unknown"),
        (504, "unknown"),
    ],
)
def test_a_status_says_what_became_of_it(server, status, expected):
    server.status = status
    assert outcome() == expected


@pytest.mark.parametrize("body", [b"", b"<html>Sign in to this network", b"[]", b'{"id": null}'])
def test_a_yes_without_a_number_is_a_question(server, body):
    server.body = body
    assert outcome() == "unknown"


def test_no_answer_in_time_is_a_question(server):
    server.wait = 0.6
    assert outcome() == "unknown"


def test_a_redirect_is_not_followed(server):
    with gateway() as other:
        server.status, server.location = 307, f"http://127.0.0.1:{other.server_port}/"
        assert outcome() == "later"
        assert other.given == []


def test_nobody_there_took_nothing(settings):
    point_at(settings, free_port())
    assert outcome() == "later"


@pytest.mark.parametrize("says", [b"220 mail.example.org ESMTP\r\n", b"HTTP/1.1 2"])
def test_what_speaks_no_http_may_have_taken_it(settings, says):
    with raw(says, then_close=True) as port:
        point_at(settings, port)
        assert outcome() == "unknown"


def test_texts_go_there_where_one_is_set(server, settings):
    settings.MAIL = "file"
    assert (carrier_for("text"), carrier_for("email")) == ("gateway", "mailbox")
    settings.TEXT_GATEWAY_URL = ""
    assert carrier_for("text") == "mailbox"
