"""Who makes addresses for which calendar, and what an address opens."""

from __future__ import annotations

import re

import pytest
from django.test import Client
from django.urls import reverse

from scheduling.models import CalendarFeed


def opened(client: Client, resource) -> tuple[int, str]:
    """Make an address; return the answer's status and the address on the page."""
    answer = client.post(reverse("feed_open", args=[resource.pk]))
    found = re.search(r'value="(http://testserver/feeds/[\w-]{43}\.ics)"', answer.content.decode())
    return answer.status_code, found[1] if found else ""


def test_the_owner_makes_any_a_technician_their_own_and_the_desk_none(world):
    small = world.small
    answers = {
        who: [opened(world.client(who), one)[0] for one in (small.correction, small.crew)]
        for who in ("owner", "tech", "desk", "outsider")
    }
    assert answers == {
        "owner": [200, 200],
        "tech": [403, 200],
        "desk": [403, 403],
        # Somebody else's owner: our resources are not there.
        "outsider": [404, 404],
    }
    assert opened(world.client("owner"), small.lamp)[0] == 404


def test_the_page_lists_the_owners_all_and_a_technicians_own(world, owner, tech, text):
    url = reverse("feeds")
    seen, own = text(owner.get(url)), text(tech.get(url))
    for name in (world.small.correction.name, world.small.crew.name):
        assert name in seen
    assert world.small.correction.name not in own
    assert world.small.crew.name in own
    assert world.client("desk").get(url).status_code == 403


def test_an_address_is_shown_once_kept_hashed_and_opens_without_signing_in(world, owner):
    world.booked()
    _status, address = opened(owner, world.small.correction)
    answer = Client().get(address)
    assert (answer.status_code, answer["Content-Type"]) == (200, "text/calendar; charset=utf-8")
    assert answer.content.count(b"BEGIN:VEVENT") == 1
    assert answer["Cache-Control"] == "private, no-cache"
    assert not answer.cookies
    token = address.rsplit("/", 1)[1].removesuffix(".ics")
    assert token not in str(list(CalendarFeed.objects.values_list()))
    assert token not in owner.get(reverse("feeds")).content.decode()


def test_unchanged_is_said_with_304_and_a_change_is_not(world, owner):
    job = world.booked()
    _status, address = opened(owner, world.small.correction)
    tag = Client().get(address)["ETag"]
    again = Client().get(address, headers={"if-none-match": tag})
    assert (again.status_code, again.content, again["ETag"]) == (304, b"", tag)
    job.holds.all().delete()
    later = Client().get(address, headers={"if-none-match": tag})
    assert (later.status_code, b"STATUS:CANCELLED" in later.content) == (200, True)


@pytest.mark.parametrize("how", ["withdrawn", "made anew", "left", "guessed"])
def test_an_address_that_has_ended_finds_nothing(world, owner, how):
    crew = world.small.crew
    _status, address = opened(owner, crew)
    assert Client().get(address).status_code == 200
    if how == "withdrawn":
        assert owner.post(reverse("feed_withdraw", args=[crew.pk])).status_code == 302
    elif how == "made anew":
        opened(owner, crew)
    elif how == "left":
        crew.member.active = False
        crew.member.save()
    else:
        address = address.replace(address[-20:-4], "A" * 16)
    assert Client().get(address).status_code == 404


def test_the_desk_shows_a_customers_address_on_the_job(world, text):
    job = world.booked()
    url = reverse("visit_feed", args=[job.pk])
    seen = [text(world.client("desk").post(url)) for _ in range(2)]
    addresses = {found for one in seen for found in re.findall(r'value="(http://\S+\.ics)"', one)}
    assert len(addresses) == 1
    assert Client().get(addresses.pop()).content.count(b"BEGIN:VEVENT") == 2
    assert world.client("tech").post(url).status_code == 403
    assert world.client("outsider").post(url).status_code == 404
