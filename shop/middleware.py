"""Sends a Content-Security-Policy with every page."""

from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponse

HEADER: Final = "Content-Security-Policy"
# Everything from this site alone: no outside host, no inline script or style.
POLICY: Final = "; ".join(
    (
        "default-src 'self'",
        "img-src 'self' data:",
        "object-src 'none'",
        "base-uri 'self'",
        "form-action 'self'",
        "frame-ancestors 'none'",
    )
)


class ContentSecurityPolicyMiddleware:
    """Adds :data:`POLICY` unless the view set a policy of its own."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer the request and add the header."""
        response = self.get_response(request)
        response.headers.setdefault(HEADER, POLICY)
        return response
