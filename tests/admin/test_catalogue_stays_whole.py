"""A change that would leave the catalogue broken is refused with the rule that it breaks."""

import pytest

from estimating.selectors import catalogue_for
from shop.models import BodyClass, Consumable, LevelPass, PriorShare
from tests import factories as make
from tests.admin.forms import errors, filled, put
from tests.factories import TODAY


@pytest.fixture
def owner(db):
    return make.MemberFactory(shop=make.stocked_shop())


@pytest.fixture
def client(owner, client_of):
    return client_of(owner)


def page(row):
    return f"/admin/shop/{row._meta.model_name}/{row.pk}/change/"


def as_new(client, row, **changes):
    return client.post(page(row), filled(client.get(page(row)), _saveasnew="1", **changes))


@pytest.mark.parametrize(
    ("model", "changes", "rule"),
    [
        (LevelPass, {"product": "moonlight"}, "moonlight"),
        (LevelPass, {"coverage_m2_per_hour": "0"}, "coverage_m2_per_hour"),
        (BodyClass, {"time_factor": "-1"}, "time_factor"),
        (PriorShare, {"share": "0.99"}, "add up to 1"),
    ],
)
def test_refused_with_the_rule(client, owner, model, changes, rule):
    before = catalogue_for(owner.shop, TODAY)
    row = model.objects.of(owner.shop).first()
    assert rule in errors(as_new(client, row, **changes))
    assert catalogue_for(owner.shop, TODAY) == before
    assert model.objects.of(owner.shop).filter(effective_from=TODAY).count() == 0


def test_a_row_that_others_need_cannot_end(client, owner):
    body = BodyClass.objects.of(owner.shop).first()
    data = filled(client.get(page(body)), effective_to="2026-03-10")
    assert body.code in errors(client.post(page(body), data))


def test_a_consumable_keeps_the_code_that_rows_point_at(client, owner):
    code = LevelPass.objects.of(owner.shop).first().product
    item = Consumable.objects.of(owner.shop).get(code=code)
    assert code in errors(client.post(page(item), filled(client.get(page(item)), code="other")))
    accepted = client.post(page(item), filled(client.get(page(item)), on_hand="12"))
    assert accepted.status_code == 302


def shares_form(client, change):
    """The list's form with ``change`` applied to its rows, as (row, share) to a share."""
    data = {"_save": "Save"}
    formset = client.get("/admin/shop/priorshare/").context["cl"].formset
    for field in formset.management_form:
        put(data, field.html_name, field.value())
    for form in formset.forms:
        put(data, form["id"].html_name, form.instance.pk)
        put(data, form["share"].html_name, change(form.instance))
    return client.post("/admin/shop/priorshare/", data)


@pytest.mark.parametrize("both", [True, False])
def test_shares_are_changed_together_or_not_at_all(client, owner, both):
    rows = PriorShare.objects.of(owner.shop)
    first = rows.exclude(share=0).first()
    second = rows.filter(age=first.age).exclude(pk=first.pk).first()
    chosen = {"action": "new_version", "_selected_action": [first.pk, second.pk]}
    client.post("/admin/shop/priorshare/", chosen)
    moved = {first.grade: first.share / 2, second.grade: second.share + first.share / 2 * both}

    def change(row):
        return moved.get(row.grade, row.share) if row.effective_from == TODAY else row.share

    answer = shares_form(client, change)
    kept = rows.get(age=first.age, grade=first.grade, effective_from=TODAY).share
    if both:
        assert answer.status_code == 302
        assert kept == pytest.approx(first.share / 2)
    else:
        assert "add up to 1" in str(answer.context["cl"].formset.non_form_errors())
        assert kept == first.share
