"""The administration site: for owners in their own shop, and for the installation's keeper.

Who may enter follows from the membership alone; Django's ``is_staff`` and its
permissions by table are not asked, so that nothing has to be kept in step. A
superuser (the keeper, who sets up shops) sees every shop.
"""

from __future__ import annotations

from typing import Any, cast

from django.contrib.admin import AdminSite
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from shop.access import OWNER, member_of
from shop.models import Member

_FOUND = "_owner_found"


def owner_of(request: HttpRequest) -> Member | None:
    """The active owner who asks, or None; looked up once for each request."""
    if not hasattr(request, _FOUND):
        member = member_of(request.user)
        setattr(request, _FOUND, member if member and member.role in OWNER else None)
    return cast("Member | None", getattr(request, _FOUND))


def is_keeper(request: HttpRequest) -> bool:
    """Tell whether a superuser asks, who sees every shop."""
    return bool(request.user.is_active and getattr(request.user, "is_superuser", False))


def may_enter(request: HttpRequest) -> bool:
    """Tell whether the person may use the administration."""
    return is_keeper(request) or owner_of(request) is not None


class OwnersSite(AdminSite):
    """Django's administration behind the site's own sign-in page."""

    site_header = gettext_lazy("Halfmil: the shop's records")
    site_title = gettext_lazy("Halfmil")
    index_title = gettext_lazy("Records")

    def has_permission(self, request: HttpRequest) -> bool:
        return may_enter(request)

    def login(self, request: HttpRequest, extra_context: Any = None) -> HttpResponse:
        """Send a visitor to the sign-in page, and tell the others that this is not theirs."""
        if request.user.is_authenticated and not may_enter(request):
            raise PermissionDenied(_("The administration is for owners."))
        return redirect_to_login(request.GET.get("next") or reverse("admin:index"))
