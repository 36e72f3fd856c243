"""One answer for everything that is refused: ``{"errors": {field: [messages]}}``."""

from __future__ import annotations

from typing import Any

from django.core.exceptions import PermissionDenied, RequestDataTooBig
from django.http import Http404
from rest_framework import exceptions, status
from rest_framework.response import Response
from rest_framework.views import exception_handler

from shop.refusals import Refused


def answer_refusal(error: Exception, context: dict[str, Any]) -> Response | None:
    """REST framework's exception handler: a refusal with its own status, by field.

    Messages of no single field stand under the empty name. Anything else
    is a mistake of ours and stays a 500.
    """
    if isinstance(error, Refused):
        return Response({"errors": error.by_field()}, status=error.status)
    if isinstance(error, Http404):
        error = exceptions.NotFound()
    elif isinstance(error, PermissionDenied):
        error = exceptions.PermissionDenied(*error.args)
    elif isinstance(error, RequestDataTooBig):
        error = TooLarge()
    response = exception_handler(error, context)
    if response is None or not isinstance(error, exceptions.APIException):
        return None
    response.data = {"errors": flat(error.detail)}
    return response


def flat(detail: Any, path: str = "") -> dict[str, list[str]]:
    """Nested messages of a serializer as one level, fields joined by points."""
    if isinstance(detail, dict):
        found: dict[str, list[str]] = {}
        for name, inner in detail.items():
            own = "" if name == "non_field_errors" else str(name)
            below = ".".join(part for part in (path, own) if part)
            for key, messages in flat(inner, below).items():
                found.setdefault(key, []).extend(messages)
        return found
    if isinstance(detail, list):
        found = {}
        for index, item in enumerate(detail):
            nested = isinstance(item, (dict, list))
            below = f"{path}[{index}]" if nested else path
            for key, messages in flat(item, below).items():
                found.setdefault(key, []).extend(messages)
        return found
    return {path: [str(detail)]}


class TooLarge(exceptions.APIException):
    """The body is longer than the site takes in at once."""

    status_code = status.HTTP_413_REQUEST_ENTITY_TOO_LARGE
    default_detail = "The request is too large."
    default_code = "too_large"
