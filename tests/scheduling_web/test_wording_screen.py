"""The owner changes what a message says and sees it on real data first."""

from django.urls import reverse

from scheduling.models import MessageTemplate

ADDRESS = reverse("wording", args=["day_before", "email"])


def test_a_preview_fills_real_facts_and_saves_nothing(world, owner, text) -> None:
    job = world.booked(days=1)
    seen = text(owner.post(ADDRESS, {"look": "1", "subject": "Soon", "text": "See {vehicle}"}))
    assert f"See {job.vehicle.description}" in seen
    assert not MessageTemplate.objects.exists()


def test_saved_wording_can_be_given_back(world, owner, text) -> None:
    world.booked(days=1)
    owner.post(ADDRESS, {"save": "1", "subject": "Soon", "text": "See {vehicle}"})
    assert MessageTemplate.objects.get().text == "See {vehicle}"
    assert "yours" in text(owner.get(reverse("wordings")))
    owner.post(ADDRESS, {"drop": "1"})
    assert not MessageTemplate.objects.exists()


def test_an_unknown_name_is_refused_at_its_field(world, owner, text) -> None:
    world.booked(days=1)
    answer = owner.post(ADDRESS, {"save": "1", "subject": "Soon", "text": "See {car}"})
    assert answer.status_code == 400
    assert "{car} is not known" in text(answer)
    assert "See {car}" in text(answer)


def test_only_an_owner_may(world, desk, client) -> None:
    assert desk.get(ADDRESS).status_code == 403
    assert client.get(ADDRESS).status_code in (302, 403)
