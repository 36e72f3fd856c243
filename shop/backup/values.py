"""One column's value as JSON and back, the same on both databases."""

from __future__ import annotations

import base64
import math
from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any, Final
from uuid import UUID

from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.core.exceptions import ValidationError
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Field, JSONField
from django.utils.duration import duration_iso_string

from shop.backup.tables import MADE_BY_MIGRATE

_AS_TEXT: Final[tuple[tuple[type, Callable[[Any], str]], ...]] = (
    (Decimal, str),
    (UUID, str),
    (datetime, lambda value: value.astimezone(UTC).isoformat()),  # before its base, date
    (date, date.isoformat),
    (time, time.isoformat),
    (timedelta, duration_iso_string),
    (bytes, lambda value: base64.b64encode(value).decode("ascii")),
    (memoryview, lambda value: base64.b64encode(value).decode("ascii")),
)


class Names:
    """Content types and permissions of one database, by key and by name."""

    def __init__(self, using: str) -> None:
        types = ContentType.objects.using(using).values_list("pk", "app_label", "model")
        permissions = Permission.objects.using(using).values_list(
            "pk", "content_type__app_label", "content_type__model", "codename"
        )
        self._names: dict[Any, dict[int, list[str]]] = {
            ContentType: {pk: list(name) for pk, *name in types},
            Permission: {pk: list(name) for pk, *name in permissions},
        }
        self._keys = {
            model: {tuple(name): pk for pk, name in names.items()}
            for model, names in self._names.items()
        }

    def name(self, model: Any, key: int) -> list[str]:
        """Return what a row is called everywhere."""
        return self._names[model][key]

    def key(self, model: Any, name: Any) -> int:
        """Return the row's key here; ValueError where this database has none of that name."""
        found = self._keys[model].get(tuple(name) if isinstance(name, list) else ())
        if found is None:
            message = f"no {model._meta.verbose_name} {name!r} in this database"
            raise ValueError(message)
        return found


def encoded(field: Field[Any, Any], value: Any, names: Names) -> Any:
    """Return a value as it stands in the file."""
    if value is None or isinstance(field, JSONField):
        return value
    if field.related_model in MADE_BY_MIGRATE:
        return names.name(field.related_model, value)
    if isinstance(value, float) and not math.isfinite(value):
        return repr(value)
    for kind, text in _AS_TEXT:
        if isinstance(value, kind):
            return text(value)
    return value


def decoded(
    field: Field[Any, Any], value: Any, names: Names, connection: BaseDatabaseWrapper
) -> Any:
    """Return what is handed to the database for a value of the file.

    Raises
    ------
    ValueError
        The value cannot be one of this column; with the reason.
    """
    if isinstance(field, JSONField):
        if value is None and not field.null:
            # The JSON word null, which a column without NULL may well hold.
            return field.get_db_prep_value(None, connection)
        return field.get_db_prep_save(value, connection)
    if value is not None and field.related_model in MADE_BY_MIGRATE:
        return names.key(field.related_model, value)
    try:
        return field.get_db_prep_save(field.to_python(value), connection)
    except (ValidationError, TypeError) as error:
        said = error.messages[0] if isinstance(error, ValidationError) else str(error)
        raise ValueError(said) from error
