"""Owners use the administration of their own shop; nobody else does."""

import pytest
from django.contrib import admin
from django.urls import reverse

from shop.models import User
from tests import factories as make


def lists():
    """The list page of every table."""
    return [
        reverse(f"admin:{model._meta.app_label}_{model._meta.model_name}_changelist")
        for model in admin.site._registry
        if model._meta.app_label in ("shop", "estimating", "scheduling") and model is not User
    ]


def test_an_owner_sees_every_table(people, client_of):
    client = client_of(people.owner)
    assert client.get("/admin/").status_code == 200
    assert len(lists()) > 40
    for path in lists():
        assert client.get(path).status_code == 200, path


@pytest.mark.parametrize("role", ["desk", "technician"])
def test_front_desk_and_technicians_do_not_enter(people, client_of, role):
    client = client_of(getattr(people, role))
    assert client.get("/admin/", follow=True).status_code == 403
    for path in lists():
        assert client.get(path, follow=True).status_code == 403, path


def test_a_visitor_is_sent_to_the_sites_own_sign_in(people, client_of):
    answer = client_of(None).get("/admin/shop/customer/", follow=True)
    assert answer.redirect_chain[-1][0] == "/sign-in/?next=/admin/shop/customer/"


def test_an_owner_who_left_is_out(people, client_of):
    client = client_of(people.owner)
    people.owner.active = False
    people.owner.save()
    assert client.get("/admin/", follow=True).status_code == 403


def test_accounts_are_for_the_keeper(people, client_of):
    assert client_of(people.owner).get("/admin/shop/user/").status_code == 403
    keeper = make.MemberFactory(user__is_superuser=True)
    assert client_of(keeper).get("/admin/shop/user/").status_code == 200


def test_the_keeper_sees_every_shop(people, client_of):
    make.CustomerFactory(shop=people.shop, name="Marlow Quill")
    keeper = make.MemberFactory(user__is_superuser=True)
    assert b"Marlow Quill" in client_of(keeper).get("/admin/shop/customer/").content
    assert b"Marlow Quill" not in client_of(people.outsider).get("/admin/shop/customer/").content
