"""An interrupted call is there again: after a reload, for a colleague, after a discard."""

from uuid import uuid4

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from scheduling.models import CallDraft
from tests.web.test_pages_read_little import MOST, grow

HTMX = {"HX-Request": "true"}
SAID = {"name": "Rosa Venn", "phone": "202 555 01", "age_years": "3", "coating": "lantern"}


def change(client, key, turn=1, address="desk", **said):
    data = {"call": key, "turn": turn, "page": "p", **said}
    return client.post(reverse(address), data, headers=HTMX)


def new():
    return str(uuid4())


def opened(client, key):
    return client.get(reverse("desk"), {"call": key})


def test_a_reload_shows_the_call_as_it_stood_right_or_wrong(world, desk):
    key = str(uuid4())
    answer = change(desk, key, **SAID, cleared="140")
    assert answer.headers["HX-Replace-Url"] == f"{reverse('desk')}?call={key}"
    form = opened(desk, key).context["form"]
    assert {name: form[name].value() for name in SAID} == SAID
    assert form["cleared"].value() == "140"


def test_looking_at_the_desk_begins_no_call(world, desk):
    change(desk, str(uuid4()), aim="cleared", cleared="60", body="sedan", name=" ")
    assert not CallDraft.objects.exists()


def test_two_calls_at_once_do_not_mix(world, desk):
    first, second = str(uuid4()), str(uuid4())
    change(desk, first, name="Rosa Venn")
    change(desk, second, name="Ilse Farrow", address="desk_callers", q="Ilse")
    change(desk, first, turn=2, name="Rosa Venn", coating="lantern")
    assert opened(desk, first).context["form"]["coating"].value() == "lantern"
    assert opened(desk, second).context["form"]["coating"].value() == ""
    listed = desk.get(reverse("desk")).context["drafts"].open
    assert {str(row.key) for row in listed} == {first, second}


def test_a_colleague_takes_the_call_over(world, desk, text):
    key = str(uuid4())
    change(desk, key, **SAID)
    owner = world.client("owner")
    looked = opened(owner, key)
    assert "has this call in hand" in text(looked)
    assert "Not kept" in text(change(owner, key, turn=2, **{**SAID, "name": "Other"}))
    owner.post(reverse("call_take", args=[key]))
    change(owner, key, turn=3, **{**SAID, "name": "Rosa Venn-Hall"})
    assert opened(owner, key).context["form"]["name"].value() == "Rosa Venn-Hall"
    assert "Not kept" in text(change(desk, key, turn=4, **SAID))


def test_a_discarded_call_is_brought_back_from_the_head_of_the_desk(world, desk, text):
    key = str(uuid4())
    change(desk, key, **SAID)
    after = desk.post(reverse("call_discard", args=[key]), follow=True)
    assert after.context["drafts"].open == []
    assert "Bring it back" in text(after)
    back = desk.post(reverse("call_back", args=[key]), follow=True)
    assert back.context["form"]["name"].value() == "Rosa Venn"


def test_only_the_desk_of_this_shop_touches_a_call(world, desk):
    key = str(uuid4())
    change(desk, key, **SAID)
    for name in ("call_take", "call_discard", "call_back"):
        url = reverse(name, args=[key])
        assert {who: world.client(who).post(url).status_code for who in ("tech", "outsider")} == {
            "tech": 403,
            "outsider": 404,
        }
    for name in ("desk_visits", "desk_callers", "desk_keep"):
        assert world.client("tech").post(reverse(name)).status_code == 403
    assert CallDraft.objects.get().state == "open"


@pytest.mark.parametrize("many", [False, True], ids=["small", "large"])
def test_no_answer_needs_more_than_twelve_queries(world, desk, many):
    if many:
        grow(world)
        for _ in range(20):
            change(desk, str(uuid4()), **SAID)
    known = {"vehicle": world.vehicle.pk, "basis": world.inspection.pk}
    key = str(uuid4())
    change(desk, key, **SAID)  # the catalogue is read once and then kept
    asked = {
        "first change": lambda: change(desk, new(), **SAID),
        "change": lambda: change(desk, key, turn=2, **SAID),
        "change, known vehicle": lambda: change(desk, new(), **known),
        "callers, mistyped": lambda: change(
            desk, str(uuid4()), address="desk_callers", q="Aad Rwe"
        ),
        "visits": lambda: change(desk, key, address="desk_visits", **known),
        "keep": lambda: change(desk, key, turn=3, address="desk_keep", **SAID),
        "opened again": lambda: opened(desk, key),
    }
    found = {}
    for name, ask in asked.items():
        with CaptureQueriesContext(connection) as seen:
            assert ask().status_code in (200, 204)
        found[name] = len(seen)
    assert {name: count for name, count in found.items() if count > MOST} == {}
