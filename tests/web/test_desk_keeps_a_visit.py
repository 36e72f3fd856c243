"""At the desk a visit is kept while the caller thinks, seen until when, let go or booked."""

from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from scheduling.models import Hold, KeptSlot
from shop.models import Job
from tests.factories import NOW, MemberFactory


def chosen(world, desk, number=1):
    about = {"vehicle": world.vehicle.pk}
    offer = desk.post(reverse("desk_visits"), about).context["offers"][number]
    return {"vehicle": world.vehicle.pk, "slot": offer[0]}, offer[1]


@pytest.fixture
def kept(world, desk):
    """The second visit, kept: what the form says, and the visit."""
    given, offer = chosen(world, desk)
    answer = desk.post(reverse("desk"), {**given, "do": "keep"})
    assert answer.status_code == 200
    return {**given, "kept": KeptSlot.objects.get().pk}, offer


def test_the_page_says_until_when(world, desk, text):
    given, offer = chosen(world, desk)
    answer = desk.post(reverse("desk"), {**given, "do": "keep"})
    slot = KeptSlot.objects.get()
    assert slot.arrives_at == offer.arrives_at
    assert Hold.objects.filter(kept=slot).exists()
    assert "Kept until" in text(answer)
    assert f'hx-get="{reverse("desk_kept", args=[slot.pk])}"' in answer.content.decode()
    assert answer.context["slot"] == given["slot"]


def test_the_kept_visit_stays_on_the_page_while_answers_change(world, desk, kept):
    given, offer = kept
    answer = desk.post(reverse("desk_visits"), {**given, "storage": "street"})
    assert offer.arrives_at in [one.arrives_at for _key, one in answer.context["offers"]]
    assert answer.context["kept"].pk == given["kept"]


def test_booking_takes_what_was_kept(world, desk, kept):
    given, offer = kept
    desk.post(reverse("desk"), {**given, "do": "book"})
    assert Job.objects.get().arrives_at == offer.arrives_at
    assert not KeptSlot.objects.exists()


def test_let_go(world, desk, kept, text):
    answer = desk.post(reverse("desk"), {**kept[0], "do": "let_go"})
    assert "Keep this visit" in text(answer)
    assert not Hold.objects.exists()


def test_the_page_that_asks_again_sees_it_lapse(world, desk, kept, text):
    address = reverse("desk_kept", args=[kept[0]["kept"]])
    assert "Kept until" in text(desk.get(address))
    with time_machine.travel(NOW + timedelta(minutes=10), tick=False):
        lapsed = desk.get(address)
    assert "No longer kept" in text(lapsed)
    assert 'name="kept"' not in lapsed.content.decode()


def test_another_shop_sees_nothing_of_it(world, kept, client):
    client.force_login(MemberFactory().user)
    answer = client.get(reverse("desk_kept", args=[kept[0]["kept"]]))
    assert "Kept until" not in answer.content.decode()


def test_what_is_kept_costs_the_page_one_query(world, desk, kept, django_assert_num_queries):
    given, _offer = kept
    with django_assert_num_queries(12):
        desk.post(reverse("desk_visits"), {"vehicle": given["vehicle"]})
    with django_assert_num_queries(13):
        desk.post(reverse("desk_visits"), given)
