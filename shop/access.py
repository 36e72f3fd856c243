"""Who may do what: every view and API view asks here, never the role itself.

A signed-in user acts as one :class:`~shop.models.Member` of one shop. Rows are
reached only through that member's shop, so another shop's row is simply not
found.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, Final, ParamSpec, cast

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from shop.models import Member, Role

P = ParamSpec("P")

EVERYONE: Final = frozenset(Role)
DESK: Final = frozenset({Role.OWNER, Role.FRONT_DESK})
OWNER: Final = frozenset({Role.OWNER})


class MemberRequest(HttpRequest):
    """A request of a signed-in person of a shop."""

    member: Member
    htmx: Any


def member_of(user: Any) -> Member | None:
    """Return the membership ``user`` acts under, or None for an outsider.

    One shop each today; a chain of shops will choose here.
    """
    if not user.is_authenticated:
        return None
    return (
        Member.objects.select_related("shop", "user")
        .filter(user=user, active=True)
        .order_by("pk")
        .first()
    )


def member_required(
    roles: frozenset[Role] = EVERYONE,
) -> Callable[
    [Callable[Concatenate[MemberRequest, P], HttpResponse]],
    Callable[Concatenate[HttpRequest, P], HttpResponse],
]:
    """Let a view be reached only by active members with one of ``roles``.

    Sets ``request.member``. Others get the sign-in page or 403.
    """

    def wrap(
        view: Callable[Concatenate[MemberRequest, P], HttpResponse],
    ) -> Callable[Concatenate[HttpRequest, P], HttpResponse]:
        @wraps(view)
        def inner(request: Any, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
            member = member_of(request.user)
            if member is None:
                raise PermissionDenied(_("This account belongs to no shop; ask the owner."))
            if member.role not in roles:
                raise PermissionDenied(_("Your role does not include this page."))
            request.member = member
            return view(request, *args, **kwargs)

        return cast("Callable[Concatenate[HttpRequest, P], HttpResponse]", login_required(inner))

    return wrap
