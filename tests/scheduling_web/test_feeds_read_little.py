"""A feed is asked for every few minutes: it reads little, and writes only changes."""

from __future__ import annotations

import pytest
from django.urls import reverse

from scheduling.services.feeds import feed_text, resource_feed_open
from tests.factories import NOW
from tests.scheduling.shops import correction
from tests.scheduling_web.test_pages_read_little import MOST, at_most


@pytest.mark.parametrize("vehicles", [1, 12])
def test_five_questions_at_most_and_no_write_where_nothing_changed(world, vehicles):
    for _ in range(vehicles):
        world.booked(correction(60), correction(60))
    token = resource_feed_open(resource=world.small.crew, member=world.small.owner, now=NOW)
    with at_most(MOST):
        feed_text(token=token, now=NOW)
    with at_most(5) as asked:
        found = feed_text(token=token, now=NOW)
    assert found.body.count(b"BEGIN:VEVENT") >= vehicles
    assert {query["sql"].split()[0] for query in asked} == {"SELECT"}


@pytest.mark.parametrize("rows", [1, 9])
def test_the_page_of_addresses(world, owner, rows):
    for _ in range(rows):
        resource_feed_open(resource=world.small.crew, member=world.small.owner, now=NOW)
    owner.get(reverse("feeds"))
    with at_most(MOST):
        owner.get(reverse("feeds"))
