"""Who a request acts for, and which role a page asks for."""

import pytest
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import PermissionDenied
from django.http import HttpResponse

from shop.access import DESK, EVERYONE, OWNER, member_of, member_required
from tests import factories as make


def visit(rf, roles, user):
    @member_required(roles)
    def page(request):
        return HttpResponse(request.member.name)

    request = rf.get("/somewhere/")
    request.user = user
    return page(request)


def test_a_member_acts_in_their_own_shop(people):
    assert member_of(people.owner.user) == people.owner
    assert member_of(people.outsider.user).shop != people.shop


def test_who_left_or_never_was_is_nobody(people):
    people.desk.active = False
    people.desk.save()
    assert member_of(people.desk.user) is None
    assert member_of(make.UserFactory()) is None
    assert member_of(AnonymousUser()) is None


@pytest.mark.parametrize(
    ("roles", "let_in"),
    [
        (EVERYONE, {"owner", "desk", "technician"}),
        (DESK, {"owner", "desk"}),
        (OWNER, {"owner"}),
    ],
)
def test_each_role_gets_in_where_it_is_named(people, rf, roles, let_in):
    for role in ("owner", "desk", "technician"):
        member = getattr(people, role)
        if role in let_in:
            assert visit(rf, roles, member.user).content.decode() == member.name
        else:
            with pytest.raises(PermissionDenied):
                visit(rf, roles, member.user)


def test_an_account_without_a_shop_is_told(people, rf):
    with pytest.raises(PermissionDenied, match="belongs to no shop"):
        visit(rf, EVERYONE, make.UserFactory())


def test_a_visitor_is_sent_to_sign_in(people, rf):
    answer = visit(rf, EVERYONE, AnonymousUser())
    assert answer.status_code == 302
    assert answer["Location"] == "/sign-in/?next=/somewhere/"
