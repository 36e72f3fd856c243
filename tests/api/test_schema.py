"""The description of the interface is valid, complete, and behind sign-in."""

from io import StringIO

import pytest
import yaml
from django.core.management import call_command


@pytest.fixture(scope="module")
def schema():
    out = StringIO()
    call_command("spectacular", "--validate", "--fail-on-warn", stdout=out)
    return yaml.safe_load(out.getvalue())


def test_it_is_valid_without_a_warning_and_names_every_room(schema):
    for path in ("/api/customers/", "/api/quotes/{id}/accept/", "/api/jobs/{id}/hand-over/"):
        assert path in schema["paths"]


def test_every_operation_says_what_it_does(schema):
    silent = [
        (path, method)
        for path, methods in schema["paths"].items()
        for method, operation in methods.items()
        if not operation.get("description")
    ]
    assert silent == []


def test_the_description_needs_sign_in(people, client_of):
    assert client_of(None).get("/api/schema/").status_code == 403
    assert client_of(people.technician).get("/api/schema/").status_code == 200


def test_the_page_sends_a_visitor_to_sign_in(people, client_of):
    answer = client_of(None).get("/api/docs/")
    assert answer.status_code == 302
    assert answer["Location"].startswith("/sign-in/")
    assert client_of(people.technician).get("/api/docs/").status_code == 200
