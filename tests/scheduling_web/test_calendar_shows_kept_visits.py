"""A visit kept for a caller stands on the calendar until it lapses."""

from datetime import timedelta

from django.urls import reverse

from scheduling.services.kept import slot_keep
from scheduling.services.offers import offers_find
from tests.factories import NOW
from tests.scheduling.shops import quoted_job


def test_it_is_drawn_with_the_caller_and_until_when(world, desk, text) -> None:
    small = world.small
    rows = list(quoted_job(small).operations.all())
    offer = offers_find(shop=small.shop, operations=rows, earliest=NOW, now=NOW).found[0]
    slot = slot_keep(
        shop=small.shop, member=small.desk, operations=rows, offer=offer, now=NOW, said="Ada Quill"
    )
    said = f"{small.correction.name} is kept for Ada Quill until"
    assert said in text(desk.get(reverse("calendar")))
    world.clock.move_to(slot.kept_until + timedelta(seconds=1))
    assert said not in text(desk.get(reverse("calendar")))
