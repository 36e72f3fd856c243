"""Names of panels, findings, levels and states of film, by their codes."""

from __future__ import annotations

from typing import Any

from django import template

from estimating.web import words

register = template.Library()


def _word(table: dict[str, Any], code: str) -> Any:
    return table.get(code, code.replace("_", " "))


@register.filter
def panel_name(code: str) -> Any:
    """A panel in words."""
    return _word(words.PANELS, code)


@register.filter
def kind_name(code: str) -> Any:
    """A kind of finding in words."""
    return _word(words.KINDS, code)


@register.filter
def level_name(code: str) -> Any:
    """A correction level in words."""
    return _word(words.LEVELS, code)


@register.filter
def method_name(code: str) -> Any:
    """A way of spot work in words."""
    return _word(words.METHODS, code)


@register.filter
def condition_name(code: str) -> Any:
    """What the readings say about a panel, in words."""
    return _word(words.CONDITIONS, code)
