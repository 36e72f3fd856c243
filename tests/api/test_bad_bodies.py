"""Bodies that mean nothing, or more than one thing, are refused in one shape."""

import json

import pytest

from shop.models import Customer

PATH = "/api/customers/"


@pytest.fixture
def send(people, client_of):
    client = client_of(people.desk)

    def sent(body):
        return client.generic("POST", PATH, body, content_type="application/json")

    return sent


@pytest.mark.parametrize(
    ("body", "word"),
    [
        ("{", "JSON"),
        ('{"name": NaN}', "NaN"),
        ('{"name": -Infinity}', "Infinity"),
        ('{"name": "a", "name": "b"}', "twice"),
        ("[" * 100_000, "nested"),
        ('{"name": "\\ud800"}', "surrogate"),
        ('{"name": "\\u0000"}', "NUL"),
        (b'{"name": "\xff"}', "JSON"),
        ('{"name": ' + "9" * 10_000 + "}", "JSON"),
    ],
)
def test_refused_with_the_reason(send, body, word):
    answer = send(body)
    assert answer.status_code == 400
    assert word in answer.data["errors"][""][0]


def test_a_body_that_is_too_long_is_not_read(send, settings):
    settings.DATA_UPLOAD_MAX_MEMORY_SIZE = 100
    assert send(json.dumps({"name": "a" * 200})).status_code == 413


@pytest.mark.parametrize("body", ["[]", "3", '"text"', "null"])
def test_json_that_is_no_object(send, body):
    assert send(body).status_code == 400


def test_an_unknown_key_is_named_with_what_is_known(send):
    answer = send(json.dumps({"name": "A caller", "phone": "202 555 0143", "e_mail": "x"}))
    assert answer.status_code == 400
    assert "email" in answer.data["errors"]["e_mail"][0]
    assert not Customer.objects.exists()


def test_other_kinds_of_body_are_refused(people, client_of):
    answer = client_of(people.desk).generic("POST", PATH, "name=a", content_type="text/plain")
    assert answer.status_code == 415
    assert "errors" in answer.data
