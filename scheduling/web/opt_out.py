"""The page behind the link under a message: no more of these, or none at all.

Looking at it changes nothing, since mail scanners open every link.
"""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from scheduling.services.opt_out import opt_out, opt_out_read
from shop.refusals import Refused


# Without a token: the mail reader itself posts here for its "unsubscribe" (RFC 8058), and
# the signed link is what allows it.
@csrf_exempt
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def opt_out_page(request: HttpRequest, token: str) -> HttpResponse:
    """Ask which messages to stop, or stop them."""
    try:
        link = opt_out_read(token)
    except Refused as refused:
        return render(request, "reminders/opt_out.html", {"trouble": str(refused)}, status=404)
    context = {"link": link, "shop": link.customer.shop, "done": False}
    if request.method == "POST":
        opt_out(link=link, now=timezone.now(), everything="everything" in request.POST)
        context["done"] = True
    return render(request, "reminders/opt_out.html", context)
