"""Which tables a backup carries, and in which order: found, never listed by hand."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Final

from django.apps import apps
from django.contrib.auth.models import Permission
from django.contrib.contenttypes.models import ContentType
from django.contrib.sessions.models import Session
from django.db.models import Field, Model

MADE_BY_MIGRATE: Final[tuple[type[Model], ...]] = (ContentType, Permission)
"""Rows that ``migrate`` writes itself; references to them go by name."""
LEFT_BEHIND: Final[tuple[type[Model], ...]] = (*MADE_BY_MIGRATE, Session)
"""A session would let its holder in elsewhere; everybody signs in again."""
OF_ONE_DATABASE: Final = ("scheduling.calendarchange",)
"""Notes of what changed, with the database's own transaction numbers. They mean nothing in
another; the database that is restored into writes its own."""
WRITTEN_BY_TRIGGERS: Final = ("shop.counter",)
"""Rows appear here while others are inserted (``estimating/catalogue_watch.py``), so these
come last and replace what the triggers wrote."""


@dataclass(frozen=True)
class Table:
    """One table: ``name`` is the model's label, ``fields`` have a column each."""

    name: str
    model: type[Model]
    fields: tuple[Field[Any, Any], ...]

    @property
    def columns(self) -> list[str]:
        return [column_of(field) for field in self.fields]


def column_of(field: Field[Any, Any]) -> str:
    """Return the name of a field's column; fields without one are not asked for."""
    assert field.column is not None
    return field.column


def tables() -> list[Table]:
    """Return every table with records, what is referred to before what refers to it."""
    carried = {
        model._meta.label_lower: model
        for model in apps.get_models(include_auto_created=True)
        if model._meta.managed
        and not model._meta.proxy
        and model not in LEFT_BEHIND
        and model._meta.label_lower not in OF_ONE_DATABASE
    }
    waiting = sorted(carried, key=lambda name: (name in WRITTEN_BY_TRIGGERS, name))
    ordered: list[str] = []
    while waiting:
        # References are checked at the end of the transaction on both databases, so a
        # ring of tables may be cut anywhere.
        chosen = next(
            (name for name in waiting if not _needs(carried[name]) & set(waiting) - {name}),
            waiting[0],
        )
        waiting.remove(chosen)
        ordered.append(chosen)
    last = [name for name in ordered if name in WRITTEN_BY_TRIGGERS]
    return [_table(carried[name]) for name in ordered if name not in last] + [
        _table(carried[name]) for name in last
    ]


def _needs(model: type[Model]) -> set[str]:
    return {target._meta.label_lower for _field, target in _references(model)}


def _references(model: type[Model]) -> Iterator[tuple[Field[Any, Any], type[Model]]]:
    for field in model._meta.concrete_fields:
        if isinstance(field.related_model, type):
            yield field, field.related_model


def _table(model: type[Model]) -> Table:
    return Table(model._meta.label_lower, model, tuple(model._meta.local_concrete_fields))
