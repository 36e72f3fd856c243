"""Photographs of an inspection: taken with the telephone in hand, seen by the shop alone."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.db.models import Q
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from estimating.models import Inspection, Photo, PhotoStage
from estimating.photo_files import MOST_UPLOAD_BYTES
from estimating.photos_shown import photo_rows, photos_of
from estimating.services.photos import photo_add, photo_remove, photo_restore
from estimating.web.words import KINDS, PANELS
from shop.access import MemberRequest, member_required
from shop.refusals import Refused
from shop.web.pages import add_refusal, page


class PhotoForm(forms.Form):
    """Which photographs, and what they show."""

    file = forms.FileField(
        label=gettext_lazy("Photograph"),
        widget=forms.FileInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    panel = forms.ChoiceField(
        label=gettext_lazy("It shows"),
        required=False,
        choices=[("", gettext_lazy("The whole vehicle")), *PANELS.items()],
    )
    kind = forms.ChoiceField(
        label=gettext_lazy("Finding"), required=False, choices=[("", "–"), *KINDS.items()]
    )
    stage = forms.ChoiceField(
        label=gettext_lazy("Taken"), choices=PhotoStage.choices, widget=forms.RadioSelect
    )


@member_required()
@require_http_methods(["GET", "POST"])
def photos(request: MemberRequest, inspection_id: int) -> HttpResponse:
    """Show the photographs of an inspection, and keep a new one."""
    rows = Inspection.objects.of(request.member.shop).select_related("vehicle", "shop")
    found = get_object_or_404(rows, pk=inspection_id)
    asked = {"panel": request.GET.get("panel", ""), "stage": request.GET.get("stage", "before")}
    form = PhotoForm(initial=asked)
    status = 200
    if request.method == "POST":
        form = PhotoForm(request.POST, request.FILES)
        if form.is_valid() and _add(request, found, form):
            place = f"?panel={form.cleaned_data['panel']}&stage={form.cleaned_data['stage']}"
            return redirect(reverse("photos", args=[found.pk]) + place)
        status = 400
    gone = Photo.objects.filter(inspection=found, removed_at__isnull=False)
    context = {
        "inspection": found,
        "vehicle": found.vehicle,
        "form": form,
        "rows": photo_rows(photos_of(Q(inspection=found))),
        "gone": gone.defer("image", "small").order_by("-removed_at")[:5],
        "now": timezone.now(),
    }
    return page(request, "inspection/photos.html", context, status=status)


def _add(request: MemberRequest, found: Inspection, form: PhotoForm) -> bool:
    file = form.cleaned_data["file"]
    try:
        photo_add(
            inspection=found,
            member=request.member,
            now=timezone.now(),
            # One byte more than is allowed is enough to refuse it.
            data=file.read(MOST_UPLOAD_BYTES + 1),
            panel=form.cleaned_data["panel"],
            kind=form.cleaned_data["kind"],
            stage=form.cleaned_data["stage"],
        )
    except Refused as refused:
        add_refusal(form, refused)
        return False
    messages.success(request, _("Photograph kept."))
    return True


@require_safe
@member_required()
def photo_image(request: MemberRequest, photo_id: int, digest: str, small: bool) -> HttpResponse:
    """The picture itself, to members of its shop."""
    part = "small" if small else "image"
    rows = Photo.objects.of(request.member.shop).filter(removed_at=None, digest=digest)
    found = get_object_or_404(rows.only(part), pk=photo_id)
    answer = HttpResponse(bytes(getattr(found, part)), content_type="image/jpeg")
    # Its address has its digest: what it names never changes.
    answer.headers["Cache-Control"] = "private, max-age=86400, immutable"
    answer.headers["Content-Disposition"] = "inline"
    return answer


@require_POST
@member_required()
def photo_away(request: MemberRequest, photo_id: int) -> HttpResponse:
    """Remove a photograph; the page then offers to put it back."""
    found = _photo(request, photo_id)
    photo_remove(photo=found, member=request.member, now=timezone.now())
    messages.success(request, _("Photograph removed; it can be put back for thirty days."))
    return redirect(reverse("photos", args=[found.inspection_id]) + "#removed")


@require_POST
@member_required()
def photo_back(request: MemberRequest, photo_id: int) -> HttpResponse:
    """Put a removed photograph back."""
    found = _photo(request, photo_id)
    photo_restore(photo=found, member=request.member)
    messages.success(request, _("Photograph put back."))
    return redirect("photos", found.inspection_id)


def _photo(request: MemberRequest, photo_id: int) -> Any:
    rows = Photo.objects.of(request.member.shop).defer("image", "small")
    return get_object_or_404(rows, pk=photo_id)
