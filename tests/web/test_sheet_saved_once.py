"""A save repeated with its name counts once; two people choose panel by panel."""

import pytest
from django.urls import reverse

from estimating.models import Inspection

FENDER = {
    "unit": "mil",
    "front_left_fender-substrate": "steel",
    "front_left_fender-readings": "4.3 4.2 4.3",
    "save": "yes",
}
JSON = {"Accept": "application/json"}


@pytest.fixture
def new(world):
    return reverse("inspection_new", args=[world.vehicle.pk])


def test_the_same_save_sent_twice_makes_one_inspection(world, new):
    tech, before = world.client("tech"), Inspection.objects.count()
    answers = [tech.post(new, {**FENDER, "token": "a1"}, headers=JSON).json() for _ in "12"]
    assert answers[0] == answers[1]
    assert Inspection.objects.count() == before + 1
    tech.post(new, {**FENDER, "token": "a2"})
    assert Inspection.objects.count() == before + 2


def test_a_save_follows_an_own_one_of_which_nothing_was_heard(world, new):
    tech, before = world.client("tech"), Inspection.objects.count()
    tech.post(new, {**FENDER, "token": "a1"})
    more = {**FENDER, "notes": "more", "token": "a3", "after": "a1 a2"}
    assert tech.post(new, more).status_code == 302
    made = Inspection.objects.latest("pk")
    assert (Inspection.objects.count(), made.version, made.notes) == (before + 1, 2, "more")
    url = reverse("inspection", args=[made.pk])
    stale = {**FENDER, "version": "1", "token": "b1"}
    assert tech.post(url, {**stale, "after": "a3"}).status_code == 302
    assert tech.post(url, {**stale, "token": "b2", "after": "a3"}).status_code == 409


def test_the_name_of_a_save_in_another_shop_leads_nowhere(world, new):
    world.client("tech").post(new, {**FENDER, "token": "a1"})
    made = Inspection.objects.latest("pk")
    answer = world.client("outsider").post(new, {**FENDER, "token": "a2", "after": "a1"})
    made.refresh_from_db()
    assert (answer.status_code, made.version) == (404, 1)


@pytest.mark.parametrize(
    ("choice", "spots"), [("mine", [[4.1] * 3]), ("theirs", [[4.3, 4.2, 4.3]])]
)
def test_what_both_changed_is_chosen_panel_by_panel(world, text, choice, spots):
    url = reverse("inspection", args=[world.inspection.pk])
    roof = {"roof-substrate": "steel", "roof-readings": "4.6 4.6 4.7"}
    world.client("tech").post(url, {**FENDER, **roof, "version": "1"})
    mine = {**FENDER, "front_left_fender-readings": "4.1 4.1 4.1"}
    late = world.client("owner").post(url, {**mine, "version": "1"})
    assert late.status_code == 409
    clashes = {clash.row.panel: clash for clash in late.context["clashes"]}
    assert set(clashes) == {"front_left_fender", "roof"}
    assert "4.1 4.1 4.1" in clashes["front_left_fender"].mine
    assert "4.3 4.2 4.3" in clashes["front_left_fender"].theirs
    assert [clashes[name].take_theirs for name in ("front_left_fender", "roof")] == [False, True]
    chosen = {"keep-front_left_fender": choice, "keep-roof": "theirs"}
    again = {**mine, **chosen, "version": late.context["newest_version"]}
    assert world.client("owner").post(url, again).status_code == 302
    found = dict(world.inspection.panels.values_list("panel", "spots"))
    assert found == {"front_left_fender": spots, "roof": [[4.6, 4.6, 4.7]]}
