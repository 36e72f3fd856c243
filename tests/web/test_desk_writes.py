"""Quote and booking from the desk: all or nothing, and refusals stand at their fields."""

from datetime import timedelta

import pytest
from django.urls import reverse

from estimating.models import Quote
from scheduling.models import Hold
from shop.models import Customer, Job, Vehicle
from tests.factories import NOW, TODAY

NEW_CALLER = {
    "name": "Rosa Venn",
    "phone": "202 555 0177",
    "description": "hatchback, green",
    "body": "hatchback",
    "age_years": "3",
    "aim": "cleared",
    "cleared": "60",
}


def counts():
    return [model.objects.count() for model in (Customer, Vehicle, Quote, Job, Hold)]


def test_a_quote_writes_the_caller_the_vehicle_and_the_quote(world, desk):
    answer = desk.post(reverse("desk"), {**NEW_CALLER, "do": "quote", "storage": "street"})
    quote = Quote.objects.get()
    assert answer.headers["Location"] == reverse("quote", args=[quote.pk])
    assert (quote.customer.name, quote.customer.phone) == ("Rosa Venn", "+12025550177")
    assert (quote.vehicle.body, quote.vehicle.storage) == ("hatchback", "street")
    assert quote.vehicle.age_months(TODAY) == 36


def test_booking_keeps_the_visit_that_was_picked(world, desk, text):
    about = {"vehicle": world.vehicle.pk}
    second = desk.post(reverse("desk_visits"), about).context["offers"][1]
    answer = desk.post(reverse("desk"), {**about, "slot": second[0], "do": "book"}, follow=True)
    job = Job.objects.get()
    # The desk stays, says what was booked, and is ready for the next call.
    assert f"Job {job.number} is booked" in text(answer)
    assert answer.context["call"].vehicle is None
    assert (job.state, job.arrives_at) == ("booked", second[1].arrives_at)
    assert job.holds.exists()


@pytest.mark.parametrize("do", ["quote", "book"])
def test_refused_fields_say_so_keep_what_was_typed_and_write_nothing(world, desk, text, do):
    before = counts()
    given = {**NEW_CALLER, "phone": "12", "description": "", "do": do}
    answer = desk.post(reverse("desk"), given)
    said = text(answer)
    assert answer.status_code == 400
    assert "12 is no phone number" in said
    assert 'aria-invalid="true"' in said
    assert set(answer.context["form"].errors) == {"phone", "description"}
    assert 'value="Rosa Venn"' in said
    assert counts() == before


def test_a_visit_that_is_gone_is_not_booked_and_others_are_shown(world, desk, text):
    before = counts()
    gone = (NOW + timedelta(minutes=7)).isoformat()
    answer = desk.post(reverse("desk"), {**NEW_CALLER, "do": "book", "slot": gone})
    assert answer.status_code == 409
    assert "no longer free" in text(answer)
    assert answer.context["offers"]
    assert counts() == before


def test_a_price_under_the_floor_needs_an_owners_reason(world, desk, text):
    low = {**NEW_CALLER, "price": "240", "reason": "a favour", "do": "quote"}
    refused = desk.post(reverse("desk"), low)
    assert (refused.status_code, Quote.objects.count()) == (403, 0)
    assert "an owner must say why" in text(refused)
    assert world.client("owner").post(reverse("desk"), low).status_code == 302


def test_what_was_typed_into_the_search_box_serves_as_the_name(world, desk):
    given = {**NEW_CALLER, "name": "", "q": "Rosa Venn", "do": "quote"}
    desk.post(reverse("desk"), given)
    assert Quote.objects.get().customer.name == "Rosa Venn"


def test_nothing_is_offered_on_an_age_nobody_asked_for(world, desk, text):
    answer = desk.post(reverse("desk"), {**NEW_CALLER, "age_years": "", "do": "quote"})
    assert (answer.status_code, Quote.objects.count()) == (400, 0)
    assert "Ask how old it is" in text(answer).split('id="e-age_years"')[1].split("</ul>")[0]


def test_a_new_version_closes_the_old(world, desk):
    old = world.quote()
    desk.post(reverse("desk"), {"vehicle": world.vehicle.pk, "replaces": old.pk, "do": "quote"})
    old.refresh_from_db()
    newest = Quote.objects.get(number=old.number, version=2)
    assert (old.state, newest.state) == ("replaced", "open")


def test_a_number_that_cannot_be_stands_at_its_field_while_one_types(world, desk, text):
    piece = text(desk.post(reverse("desk"), {"cleared": "140"}, headers={"HX-Request": "true"}))
    slot = piece.split('id="e-cleared"')[1].split("</div>")[0]
    assert "100" in slot
