"""Home: each role goes to the screen its hour is made of."""

from __future__ import annotations

from typing import Final

from django.http import HttpResponse
from django.shortcuts import redirect

from shop.access import MemberRequest, member_required
from shop.models import OpeningHours, Role

FIRST_SCREEN: Final = {
    Role.OWNER: "calendar",
    Role.FRONT_DESK: "desk",
    Role.TECHNICIAN: "floor",
}


@member_required()
def home(request: MemberRequest) -> HttpResponse:
    """Send the signed-in person to their screen."""
    role = Role(request.member.role)
    if role == Role.OWNER and not OpeningHours.objects.of(request.member.shop).exists():
        # A shop that has only just been made.
        return redirect("start")
    return redirect(FIRST_SCREEN[role])
