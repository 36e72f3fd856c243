"""Less, the offer or more: each an exact plan, each choice a new version."""

from datetime import timedelta
from decimal import Decimal

import pytest

from estimating.models import Quote
from estimating.services.quote_choices import quote_choices
from estimating.services.quotes import quote_make
from estimating.snapshot import options_from
from shop.models import Shop
from tests.visit_page.conftest import Caller


def versions(quote):
    return tuple(Quote.objects.filter(number=quote.number).order_by("version"))


def by_the_desk(world, quote, goal):
    """The same wish, quoted at the desk on the same day."""
    return quote_make(
        shop=world.small.shop,
        member=world.small.desk,
        customer=quote.customer,
        vehicle=quote.vehicle,
        goal=goal,
        options=options_from(quote.request["options"]),
        now=quote.created_at,
        inspection=quote.inspection,
    )


@pytest.mark.parametrize("inspected", [True, False])
@pytest.mark.parametrize("key", ["less", "more"])
def test_a_choice_is_the_quote_that_the_desk_would_make(world, inspected, key):
    by_phone = {"goal": {"cleared": 0.75 if key == "less" else 0.4}}
    quote = world.quote(**({"inspection": world.inspection} if inspected else by_phone))
    caller = Caller(world, quote, world.clock)
    choice = next(one for one in caller.see().context["choices"] if one.key == key)
    assert caller.say("choice/", choice=key).status_code == 302
    old, new = versions(quote)
    desk = by_the_desk(world, quote, choice.goal)
    assert (old.state, new.state, new.version) == ("replaced", "open", 2)
    assert (old.price, old.cleared) == (quote.price, quote.cleared)
    assert (new.price, new.tax) == (desk.price, desk.tax)
    assert (new.price, new.price + new.tax) == (choice.price, choice.total)
    assert new.operations == desk.operations
    assert new.materials == desk.materials
    assert new.estimate == desk.estimate
    assert (new.cleared < old.cleared, new.price < old.price) == (key == "less",) * 2
    assert new.member == quote.member


def test_back_to_the_offer_and_the_same_three_remain(caller):
    before = caller.see().context["choices"]
    assert [one.key for one in before] == ["less", "offered", "more"]
    caller.say("choice/", choice="more")
    after = caller.see().context["choices"]
    assert [one.total for one in after] == [one.total for one in before]
    assert [one.current for one in after] == [False, False, True]
    caller.say("choice/", version=2, choice="offered")
    newest = versions(caller.quote)[-1]
    assert (newest.version, newest.price) == (3, caller.quote.price)


def test_choosing_what_is_chosen_makes_nothing(caller):
    assert caller.say("choice/", choice="offered").status_code == 302
    assert Quote.objects.count() == 1


def test_the_days_new_rates_change_neither_price_nor_last_day(caller, world):
    price = {one.key: one.price for one in caller.see().context["choices"]}
    Shop.objects.update(labour_rate=Decimal(90))
    caller.clock.shift(timedelta(days=3))
    caller.say("choice/", choice="less")
    new = versions(caller.quote)[-1]
    assert new.price == price["less"]
    assert new.valid_until == caller.quote.valid_until


def test_none_where_the_shop_switched_them_off(caller):
    Shop.objects.update(customer_choices=False)
    assert caller.see().context["choices"] == []
    assert "How far shall we go" not in caller.text()
    assert caller.say("choice/", choice="less").status_code == 400
    assert Quote.objects.count() == 1


def test_none_beside_a_price_that_was_agreed_by_hand(world):
    low = world.quote(inspection=world.inspection)
    by_hand = world.quote(inspection=world.inspection, price=low.price + 5)
    assert quote_choices([by_hand]) == []


def test_an_unknown_choice_and_too_many_are_refused(caller):
    assert caller.say("choice/", choice="everything").status_code == 400
    for version in range(1, 13):
        answer = caller.say("choice/", version, choice=("less", "more")[version % 2])
        assert answer.status_code == 302
    assert caller.say("choice/", 13, choice="more").status_code == 400
    assert Quote.objects.count() == 13
