"""Forms need their token, too many requests wait, and no page reads much."""

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from estimating.core.options import Options
from scheduling.web import visit_guard
from tests import factories as make
from tests.factories import NOW
from tests.visit_page.conftest import Caller

MOST = 12


def test_a_form_without_its_token_changes_nothing(caller):
    strict = Client(enforce_csrf_checks=True)
    answer = strict.post(f"{caller.path}accept/", {"version": 1}, headers={"origin": "null"})
    assert answer.status_code == 403
    assert "open the link again" in answer.text
    assert answer.headers["Referrer-Policy"] == "no-referrer"
    caller.quote.refresh_from_db()
    assert caller.quote.state == "open"


@pytest.mark.parametrize("origin", ["null", "http://testserver", None])
def test_a_form_with_it_is_taken_from_a_browser_that_hides_where_it_was(caller, origin):
    strict = Client(enforce_csrf_checks=True)
    token = strict.get(caller.path).context["csrf_token"]
    headers = {"origin": origin} if origin else {}
    said = {"version": 1, "csrfmiddlewaretoken": str(token)}
    answer = strict.post(f"{caller.path}accept/", said, headers=headers, secure=origin is None)
    assert answer.status_code == 302


def test_another_sites_form_is_refused_even_with_a_token(caller):
    strict = Client(enforce_csrf_checks=True)
    said = {"version": 1, "csrfmiddlewaretoken": str(strict.get(caller.path).context["csrf_token"])}
    headers = {"origin": "https://elsewhere.example"}
    assert strict.post(f"{caller.path}accept/", said, headers=headers).status_code == 403


def test_too_many_answers_have_to_wait(caller, monkeypatch):
    monkeypatch.setitem(visit_guard.MOST, "POST", 3)
    for _ in range(3):
        assert caller.say("messages/").status_code == 302
    assert caller.say("messages/").status_code == 429
    assert caller.see().status_code == 200


def test_a_get_changes_nothing_where_an_answer_is_meant(caller):
    for rest in ("accept/", "decline/", "choice/", "messages/"):
        assert caller.see(rest).status_code == 405


def queries(caller, rest=""):
    caller.see(rest)
    with CaptureQueriesContext(connection) as seen:
        assert caller.see(rest).status_code == 200
    return len(seen)


def test_at_most_twelve_queries_in_every_state(world):
    quote = world.quote(inspection=world.inspection, options=Options(coating="lantern"))
    caller = Caller(world, quote, world.clock)
    small = [queries(caller), queries(caller, "time/")]
    for n in range(30):
        make.QuoteFactory(shop=world.small.shop, number=f"F-{n}", customer=quote.customer)
        make.BayFactory(shop=world.small.shop)
        make.ClimateReadingFactory(shop=world.small.shop, resource=world.small.coating)
    assert [queries(caller), queries(caller, "time/")] == small
    job = caller.book()
    booked = [queries(caller), queries(caller, "visit.ics")]
    caller.work(job)
    curing = [queries(caller)]
    caller.hand_over(job)
    after = [queries(caller)]
    assert max(small + booked + curing + after) <= MOST, (small, booked, curing, after)
    assert job.handed_over_at is not None
    assert job.handed_over_at > NOW
