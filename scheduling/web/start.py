"""The first hour of a new shop: profile, hours, bays, crew, catalogue, first quote."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from django import forms
from django.conf import settings
from django.contrib import messages
from django.contrib.auth import login
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from estimating.selectors import local_day
from estimating.services.catalogue import catalogue_store
from estimating.services.estimates import catalogue_read
from estimating.services.shelf_import import MOST_BYTES, shelf_import
from scheduling.selectors.starting import Start, start_of
from scheduling.services import starting
from scheduling.web import start_forms
from shop.access import OWNER, MemberRequest, member_required
from shop.first_run import first_run_key_fits, first_run_wanted
from shop.refusals import Refused
from shop.services.shop_start import ShopFacts, shop_start
from shop.web.pages import add_refusal, page

_ACCOUNT: Final = ("owner", "username", "password")
_MOST_CATALOGUE: Final = 2_000_000


@require_http_methods(["GET", "HEAD", "POST"])
def first_shop(request: HttpRequest, key: str) -> HttpResponse:
    """Make the shop, once, for whoever holds the key that the program printed."""
    if not first_run_wanted():
        return redirect("start" if request.user.is_authenticated else "sign_in")
    if not first_run_key_fits(key):
        raise Http404
    form = start_forms.ShopStartForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        account = {name: form.cleaned_data.pop(name) for name in _ACCOUNT}
        facts: ShopFacts = form.cleaned_data  # type: ignore[assignment]
        try:
            member = shop_start(key=key, facts=facts, **account)
        except Refused as refused:
            add_refusal(form, refused)
        else:
            login(request, member.user)
            messages.success(request, _("Welcome. Four more steps lead to the first quote."))
            return redirect("start")
    status = 400 if form.errors else 200
    return render(request, "start/first_shop.html", {"form": form}, status=status)


@require_safe
@member_required(OWNER)
def start(request: MemberRequest) -> HttpResponse:
    """Show what is there and what comes next."""
    return _page(request, {})


@require_POST
@member_required(OWNER)
def start_step(request: MemberRequest, step: str) -> HttpResponse:
    """Do one step and come back."""
    if step not in STEPS:
        raise Http404
    made, act = STEPS[step]
    form = made(request.POST, request.FILES)
    if form.is_valid():
        try:
            said = act(request, form.cleaned_data)
        except Refused as refused:
            add_refusal(form, refused)
        else:
            messages.success(request, said)
            return redirect("start")
    return _page(request, {step: form}, status=400)


def _opening(request: MemberRequest, given: dict[str, Any]) -> str:
    starting.opening_set(shop=request.member.shop, **given)
    return _("The opening hours stand.")


def _places(request: MemberRequest, given: dict[str, Any]) -> str:
    rows = starting.places_add(shop=request.member.shop, counts=given)
    return ngettext("%s place was added.", "%s places were added.", len(rows)) % len(rows)


def _crew(request: MemberRequest, given: dict[str, Any]) -> str:
    member = starting.crew_add(shop=request.member.shop, **given)
    return _("%s belongs to the crew now.") % member.name


def _own(request: MemberRequest, given: dict[str, Any]) -> str:
    if hasattr(request.member, "resource"):
        raise Refused(_("The calendar plans with you already."))
    starting.works_in_shop(member=request.member, skills=given["skills"])
    return _("The calendar plans with you as well.")


def _template(request: MemberRequest, _given: dict[str, Any]) -> str:
    example = Path(settings.BASE_DIR) / "fixtures" / "catalogue.json"
    return _catalogue(request, example.read_bytes())


def _file(request: MemberRequest, given: dict[str, Any]) -> str:
    upload = given["file"]
    if upload.size > _MOST_CATALOGUE:
        raise Refused(_("The file is larger than %s kB.") % (_MOST_CATALOGUE // 1000))
    content = upload.read()
    if content.lstrip()[:1] == b"{":
        return _catalogue(request, content)
    if len(content) > MOST_BYTES:
        raise Refused(_("The file is larger than %s kB.") % (MOST_BYTES // 1000))
    count = shelf_import(shop=request.member.shop, content=content)
    return ngettext("%s item was read.", "%s items were read.", count) % count


def _catalogue(request: MemberRequest, content: bytes) -> str:
    shop = request.member.shop
    day = local_day(shop, timezone.now())
    catalogue_store(shop=shop, catalogue=catalogue_read(content), day=day)
    return _("The catalogue holds from today. Go through its figures: they are an example.")


Act = Callable[[MemberRequest, dict[str, Any]], str]
STEPS: Final[dict[str, tuple[type[forms.Form], Act]]] = {
    "opening": (start_forms.OpeningForm, _opening),
    "places": (start_forms.PlacesForm, _places),
    "crew": (start_forms.CrewForm, _crew),
    "own": (start_forms.OwnSkillsForm, _own),
    "template": (forms.Form, _template),
    "file": (start_forms.FileForm, _file),
}


def _page(
    request: MemberRequest, tried: dict[str, forms.Form], *, status: int = 200
) -> HttpResponse:
    have = start_of(request.member.shop)
    context = {
        "have": have,
        "steps": _steps(have),
        "tried": next(iter(tried), ""),
        **{f"{name}_form": tried.get(name) or made() for name, (made, _act) in STEPS.items()},
    }
    return page(request, "start/start.html", context, status=status)


def _steps(have: Start) -> list[dict[str, Any]]:
    """The steps in order, done or not; the first that is not done is next."""
    rows = [
        ("opening", _("Opening hours"), have.opening),
        ("places", _("Bays, parking, lamps"), have.bays),
        ("crew", _("Crew"), have.crew),
        ("catalogue", _("Catalogue"), have.catalogue),
        ("quote", _("First quote"), have.quotes),
    ]
    open_ones = [name for name, _label, done in rows if not done]
    return [
        {"name": name, "label": label, "done": bool(done), "next": [name] == open_ones[:1]}
        for name, label, done in rows
    ]
