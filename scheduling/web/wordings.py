"""What messages say: the house's wording, the owner's own, and how it reads on real data."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from scheduling.models import MessageTemplate, ReminderPurpose
from scheduling.services.message_facts import names_of
from scheduling.services.wording import (
    SUBJECT_LENGTH,
    Written,
    message_preview,
    message_template_drop,
    message_template_save,
    wording_for,
)
from shop.access import OWNER, MemberRequest, member_required
from shop.models import Channel, Shop
from shop.refusals import Refused
from shop.web.pages import add_refusal, page


class WordingForm(forms.Form):
    """Subject and text with names in braces."""

    subject = forms.CharField(
        label=gettext_lazy("Subject"), max_length=SUBJECT_LENGTH, required=False
    )
    text = forms.CharField(label=gettext_lazy("Text"), widget=forms.Textarea(attrs={"rows": 12}))

    def __init__(self, *args: Any, channel: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if channel != Channel.EMAIL:
            del self.fields["subject"]


@require_safe
@member_required(OWNER)
def wordings(request: MemberRequest) -> HttpResponse:
    """List every message, and where the owner's own wording stands."""
    rows = MessageTemplate.objects.of(request.member.shop)
    own = set(rows.values_list("purpose", "channel"))
    shown = [
        {
            "purpose": purpose.value,
            "label": purpose.label,
            "channels": [
                (channel.value, channel.label, (purpose, channel) in own) for channel in Channel
            ],
        }
        for purpose in ReminderPurpose
    ]
    return page(request, "reminders/wordings.html", {"rows": shown})


@require_http_methods(["GET", "HEAD", "POST"])
@member_required(OWNER)
def wording(request: MemberRequest, purpose: str, channel: str) -> HttpResponse:
    """Show one message's wording and a preview; save it, or go back to the house's."""
    if purpose not in ReminderPurpose.values or channel not in Channel.values:
        raise Http404
    shop = request.member.shop
    if request.method != "POST":
        now = wording_for(shop, purpose, channel)
        form = WordingForm(initial={"subject": now.subject, "text": now.text}, channel=channel)
        seen = _preview(shop, purpose, channel, now.subject, now.text)
        return _shown(request, purpose, channel, form, seen)
    if "drop" in request.POST:
        message_template_drop(shop=shop, purpose=purpose, channel=channel)
        messages.success(request, _("The house's wording is back."))
        return redirect("wording", purpose, channel)
    form = WordingForm(request.POST, channel=channel)
    if not form.is_valid():
        return _shown(request, purpose, channel, form, None, status=400)
    given = {"subject": form.cleaned_data.get("subject", ""), "text": form.cleaned_data["text"]}
    try:
        seen = message_preview(shop=shop, purpose=purpose, channel=channel, **given)
        if "save" in request.POST:
            message_template_save(shop=shop, purpose=purpose, channel=channel, **given)
    except Refused as refused:
        add_refusal(form, refused)
        return _shown(request, purpose, channel, form, None, status=refused.status)
    if "save" in request.POST:
        messages.success(request, _("Saved; it holds for every message that has not gone out."))
        return redirect("wording", purpose, channel)
    return _shown(request, purpose, channel, form, seen)


def _preview(shop: Shop, purpose: str, channel: str, subject: str, text: str) -> Written | None:
    """The wording in force; one that was written past the checks has no preview."""
    try:
        return message_preview(
            shop=shop, purpose=purpose, channel=channel, subject=subject, text=text
        )
    except Refused:
        return None


def _shown(
    request: MemberRequest,
    purpose: str,
    channel: str,
    form: WordingForm,
    seen: Written | None,
    *,
    status: int = 200,
) -> HttpResponse:
    rows = MessageTemplate.objects.of(request.member.shop)
    context = {
        "form": form,
        "seen": seen,
        "purpose": ReminderPurpose(purpose),
        "channel": Channel(channel),
        "names": names_of(purpose),
        "own": rows.filter(purpose=purpose, channel=channel).exists(),
    }
    return page(request, "reminders/wording.html", context, status=status)
