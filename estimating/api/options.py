"""What is ordered beside correction, as a request says it."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from estimating.core.options import STANDARD_WASH, Options
from shop.api.base import Strict

_CODE = 40


class OptionsSerializer(Strict):
    """Codes of the catalogue. ``wash`` is a size, ``standard`` (by body) or null for none."""

    wash = serializers.CharField(default=STANDARD_WASH, allow_null=True, max_length=_CODE)
    coating = serializers.CharField(default=None, allow_null=True, max_length=_CODE)
    add_ons = serializers.ListField(
        child=serializers.CharField(max_length=_CODE), default=list, max_length=50
    )
    technician = serializers.CharField(default=None, allow_null=True, max_length=_CODE)


def options_from(given: dict[str, Any]) -> Options:
    """The core's options from validated ones."""
    return Options(**{**given, "add_ons": tuple(given["add_ons"])})
