"""What every answer of a customer's page has: its headers, a form token, a bound on requests.

The address is the only key. It must not leak (no referrer, no cache, no search engine),
and nothing else of the site is linked from here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import wraps
from typing import Any, Concatenate, Final, ParamSpec, cast

from django.core.cache import cache
from django.http import Http404, HttpRequest, HttpResponse
from django.middleware.csrf import CsrfViewMiddleware
from django.shortcuts import render
from django.utils import timezone
from django.utils.decorators import decorator_from_middleware
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt

from scheduling.selectors.visit_page import Visit, visit_of

P = ParamSpec("P")
MOST: Final = {"GET": 120, "POST": 30}
"""Requests for one page within ``WAIT_SECONDS``: far more than a person makes."""
WAIT_SECONDS: Final = 600


class PageCsrf(CsrfViewMiddleware):
    """Django's check of cookie and form token, for a page that sends no referrer.

    Under ``no-referrer`` browsers name no origin either: they send ``Origin: null``
    (Fetch standard, "append a request Origin header"), and old ones nothing at all. The
    token in the form decides then, and the secret in the address before it.
    """

    def _origin_verified(self, request: HttpRequest) -> bool:
        no_origin = request.META.get("HTTP_ORIGIN") == "null"
        return no_origin or bool(super()._origin_verified(request))  # type: ignore[misc]

    def _check_referer(self, request: HttpRequest) -> None:
        if request.META.get("HTTP_REFERER"):
            super()._check_referer(request)  # type: ignore[misc]

    def _reject(self, request: HttpRequest, reason: str) -> HttpResponse:
        return render(request, "visit/again.html", {"reason": reason}, status=403)


def for_customer(
    view: Callable[Concatenate[HttpRequest, Visit, P], HttpResponse],
) -> Callable[Concatenate[HttpRequest, str, P], HttpResponse]:
    """Let a view be reached through a customer's link alone; it is given what the link shows."""

    def found(request: HttpRequest, token: str, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        visit = visit_of(token, timezone.now())
        if visit is None:
            return render(request, "visit/gone.html", status=404)
        if _too_many(request, visit):
            return render(request, "visit/slower.html", {"shop": visit.shop}, status=429)
        try:
            return view(request, visit, *args, **kwargs)
        except Http404:
            return render(request, "visit/gone.html", status=404)

    checked: Any = decorator_from_middleware(PageCsrf)(found)

    @wraps(view)
    def inner(request: HttpRequest, token: str, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        response: HttpResponse = checked(request, token, *args, **kwargs)
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["X-Robots-Tag"] = "noindex, nofollow"
        return response

    return cast(
        "Callable[Concatenate[HttpRequest, str, P], HttpResponse]",
        never_cache(csrf_exempt(inner)),
    )


def _too_many(request: HttpRequest, visit: Visit) -> bool:
    """Count requests for a page, whatever address they come from."""
    method = "POST" if request.method == "POST" else "GET"
    digest = hashlib.sha256(f"{method} {visit.page.code}".encode()).hexdigest()
    key = f"customer-page:{digest}"
    # `add` starts the clock with the first request; `incr` leaves it be.
    if cache.add(key, 1, timeout=WAIT_SECONDS):
        return False
    try:
        return int(cache.incr(key)) > MOST[method]
    except ValueError:  # it ran out between the two
        return False
