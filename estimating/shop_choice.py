"""Which shop a command is about."""

from __future__ import annotations

from pathlib import Path

from django.db import OperationalError, connection
from django.utils.translation import gettext as _

from shop.models import Shop
from shop.refusals import Problem, Refused


def shop_chosen(slug: str | None) -> Shop | None:
    """The shop named, or the first; None where the database has no shop, or no tables yet.

    Raises
    ------
    Refused
        There are shops but none of that name, or the database does not answer.
    """
    if not _has_tables():
        return None
    found = Shop.objects.order_by("pk") if slug is None else Shop.objects.filter(slug=slug)
    shop = found.first()
    if shop is None and slug is not None and (slugs := _slugs()):
        message = _("%(slug)r: use one of %(slugs)s") % {"slug": slug, "slugs": ", ".join(slugs)}
        raise Refused(Problem(message, field="--shop"))
    return shop


def _slugs() -> list[str]:
    return list(Shop.objects.order_by("slug").values_list("slug", flat=True))


def _has_tables() -> bool:
    """Whether the database was ever migrated; a file that is not there is not made by asking."""
    name = str(connection.settings_dict["NAME"])
    unopened = connection.vendor == "sqlite" and connection.connection is None
    if unopened and not Path(name).exists():
        return False
    try:
        return Shop._meta.db_table in connection.introspection.table_names()
    except OperationalError as error:
        message = _("%(name)r: it does not answer (%(why)s); start it, or check its address")
        why = str(error).strip().splitlines()[0]
        raise Refused(
            Problem(message % {"name": name, "why": why}, field="HALFMIL_DATABASE_URL")
        ) from error
