"""The quote goes out and is accepted from the desk; a discount is held by the floor."""

import re
from uuid import uuid4

import pytest
from django.core import mail
from django.urls import reverse

from estimating.models import Quote
from scheduling.models import CallDraft
from shop.models import Customer, Job
from tests.web.test_desk_writes import NEW_CALLER

CALLER = {**NEW_CALLER, "email": "rosa@example.org"}


def fields(answer):
    """What a browser would send of the form that is shown."""
    form, key = answer.context["form"], answer.context["call"].key
    data = {name: form[name].value() for name in form.fields if form[name].value() is not None}
    return {**data, "call": str(key), "turn": answer.context["turn"], "page": "q"}


def send(client, said=CALLER):
    return client.post(reverse("desk"), {**said, "call": str(uuid4()), "do": "send"}, follow=True)


def test_sending_stays_at_the_desk_and_booking_accepts_that_quote(world, desk, text):
    sent = send(desk)
    quote = Quote.objects.get()
    assert (quote.state, [letter.to for letter in mail.outbox]) == ("sent", [["rosa@example.org"]])
    assert f"Quote {quote.number}" in text(sent)
    assert sent.context["call"].vehicle == quote.vehicle

    done = desk.post(reverse("desk"), {**fields(sent), "do": "book"}, follow=True)
    quote.refresh_from_db()
    assert (Quote.objects.count(), quote.state, quote.job) == (1, "accepted", Job.objects.get())
    assert f"Job {quote.job.number} is booked" in text(done)
    assert (Customer.objects.filter(name="Rosa Venn").count(), CallDraft.objects.get().state) == (
        1,
        "finished",
    )


def test_what_changed_since_is_a_new_version_of_the_quote(world, desk):
    sent = send(desk)
    desk.post(reverse("desk"), {**fields(sent), "coating": "lantern", "do": "book"})
    versions = Quote.objects.order_by("version").values_list("version", "state")
    assert list(versions) == [(1, "replaced"), (2, "accepted")]


def test_a_quote_that_could_not_be_sent_is_made_and_says_so(world, desk, text):
    answer = send(desk, NEW_CALLER)
    assert "is made, but not sent" in text(answer)
    assert (Quote.objects.get().state, mail.outbox) == ("open", [])


def test_a_discount_shows_its_price_and_margin(world, desk):
    said = {**NEW_CALLER, "discount": "10"}
    bar = desk.post(reverse("desk"), said).context
    likely = bar["estimate"].likely
    assert bar["offered"].shown == pytest.approx(likely.shown * 9 / 10)
    assert bar["offered"].margin < likely.margin
    desk.post(reverse("desk"), {**said, "reason": "comes every year", "do": "quote"})
    quote = Quote.objects.get()
    assert quote.price == bar["offered"].net
    assert quote.parameters["offer"]["discount_reason"] == "comes every year"


def test_a_discount_under_the_floor_is_an_owners_with_a_reason(world, desk, text):
    said = {**NEW_CALLER, "discount": "60", "reason": "a favour"}
    assert "only an owner may offer it" in text(desk.post(reverse("desk"), said))
    assert desk.post(reverse("desk"), {**said, "do": "quote"}).status_code == 403
    owner = world.client("owner")
    assert owner.post(reverse("desk"), {**said, "reason": "", "do": "quote"}).status_code == 403
    assert owner.post(reverse("desk"), {**said, "do": "quote"}).status_code == 302


def test_a_discount_beside_a_price_is_refused_at_its_field(world, desk, text):
    answer = desk.post(reverse("desk"), {**NEW_CALLER, "discount": "10", "price": "500"})
    slot = re.search(r'id="e-discount".*?</div>', text(answer))
    assert slot is not None
    assert "not both" in slot[0]


def test_a_new_caller_is_written_down_from_the_box(world, desk):
    said = {**NEW_CALLER, "name": "", "phone": "", "q": "Rosa Venn 202 555 0177", "new": "yes"}
    form = desk.post(reverse("desk"), said).context["form"]
    assert (form["name"].value(), form["phone"].value(), form["q"].value()) == (
        "Rosa Venn",
        "202 555 0177",
        "",
    )
