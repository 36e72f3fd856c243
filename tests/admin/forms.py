"""Filling in a form of the administration as a browser would."""

from typing import Any


def filled(answer: Any, **changes: Any) -> dict[str, Any]:
    """What a browser would send from the form on a page, with ``changes``."""
    data: dict[str, Any] = {}
    form = answer.context["adminform"].form
    for name in form.fields:
        put(data, form[name].html_name, form[name].value())
    for inline in answer.context.get("inline_admin_formsets", ()):
        for field in inline.formset.management_form:
            put(data, field.html_name, field.value())
        for inner in inline.formset.initial_forms:
            for name in inner.fields:
                put(data, inner[name].html_name, inner[name].value())
    return data | changes


def put(data: dict[str, Any], name: str, value: Any) -> None:
    """Leave out what a browser would: empty values and boxes that are not ticked."""
    if value is not None and value is not False:
        data[name] = value


def errors(answer: Any) -> str:
    """All messages above and beside the fields of a form that was not accepted."""
    assert answer.status_code == 200, "it was accepted"
    return str(answer.context["adminform"].form.errors)
