"""A change holds from today; what held before stays readable."""

from datetime import date
from decimal import Decimal

import pytest

from estimating.selectors import catalogue_for
from shop.models import WashSize
from tests import factories as make
from tests.admin.forms import errors, filled
from tests.factories import TODAY

YESTERDAY = date(2026, 3, 1)


@pytest.fixture
def owner(db):
    return make.MemberFactory(shop=make.stocked_shop())


@pytest.fixture
def client(owner, client_of):
    return client_of(owner)


@pytest.fixture
def wash(owner):
    return WashSize.objects.of(owner.shop).first()


def path(row):
    return f"/admin/shop/washsize/{row.pk}/change/"


def prices(shop, day):
    return {row.code: row.list_price for row in catalogue_for(shop, day).wash_sizes}


def test_figures_that_held_before_today_are_not_rewritten(client, wash):
    answer = client.post(path(wash), filled(client.get(path(wash)), list_price="999"))
    assert "Save as new" in errors(answer)
    assert WashSize.objects.get(pk=wash.pk).list_price == wash.list_price


def test_saved_as_new_the_change_holds_from_today(client, owner, wash):
    before = prices(owner.shop, YESTERDAY)
    data = filled(client.get(path(wash)), list_price="999", _saveasnew="Save as new")
    assert client.post(path(wash), data).status_code == 302
    assert prices(owner.shop, YESTERDAY) == before
    assert prices(owner.shop, TODAY) == before | {wash.code: Decimal("999")}


def test_a_later_day_is_kept(client, owner, wash):
    data = filled(client.get(path(wash)), list_price="999", _saveasnew="1")
    client.post(path(wash), data | {"effective_from": "2026-04-01"})
    assert prices(owner.shop, TODAY)[wash.code] == wash.list_price
    assert prices(owner.shop, date(2026, 4, 1))[wash.code] == 999


def test_a_version_made_from_the_list_can_be_changed(client, owner, wash):
    chosen = {"action": "new_version", "_selected_action": [wash.pk]}
    assert client.post("/admin/shop/washsize/", chosen).status_code == 302
    new = WashSize.objects.get(code=wash.code, effective_from=TODAY)
    assert prices(owner.shop, TODAY)[wash.code] == wash.list_price
    answer = client.post(path(new), filled(client.get(path(new)), list_price="999"))
    assert answer.status_code == 302
    assert prices(owner.shop, TODAY)[wash.code] == 999
    # Once more makes no second one.
    client.post("/admin/shop/washsize/", chosen)
    assert WashSize.objects.filter(code=wash.code).count() == 2


def test_the_list_shows_what_holds_today(client, wash):
    def shown(**query):
        listed = client.get("/admin/shop/washsize/", query).context["cl"].queryset
        return sorted(listed.filter(code=wash.code).values_list("effective_from", flat=True))

    client.post("/admin/shop/washsize/", {"action": "new_version", "_selected_action": [wash.pk]})
    assert shown() == [TODAY]
    assert shown(holds="all") == [wash.effective_from, TODAY]


def test_nothing_is_deleted(client, wash):
    assert (
        client.post(f"/admin/shop/washsize/{wash.pk}/delete/", {"post": "yes"}).status_code == 403
    )
