"""What every page does the same: answer a page or, to htmx, only its content."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.refusals import Refused


def page(
    request: HttpRequest, template: str, context: dict[str, Any], *, status: int = 200
) -> HttpResponse:
    """Render ``template``, which extends ``layout``: the frame, or nothing for htmx.

    So one view and one template serve the page and its fragment.
    """
    fragment = bool(getattr(request, "htmx", False)) and not request.htmx.boosted  # type: ignore[attr-defined]
    layout = "partials/fragment.html" if fragment else "base.html"
    response = render(request, template, {**context, "layout": layout}, status=status)
    # One address answers differently, so caches must tell the answers apart.
    response.headers["Vary"] = ", ".join(
        filter(None, (response.headers.get("Vary", ""), "HX-Request"))
    )
    return response


def add_refusal(form: forms.BaseForm, refused: Refused) -> None:
    """Put the problems of a refusal at the form's fields; the rest at its head."""
    for name, messages in refused.by_field().items():
        for message in messages:
            form.add_error(name if name in form.fields else None, message)
