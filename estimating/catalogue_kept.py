"""A shop's catalogue without reading 23 tables for every answer at the quote desk.

A page asks for the same rows many times an hour. They are kept in the process
and are good for as long as the shop's ``catalogue`` counter stands still, which
the database moves itself (``estimating/catalogue_watch.py``). The shelf changes
with every job, so it is read each time.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace
from datetime import date
from threading import Lock
from typing import Final

from django.db.models import OuterRef, Subquery

from estimating import selectors
from estimating.catalogue_watch import SERIES
from estimating.core.catalogue import Catalogue
from estimating.core.catalogue_rows import Consumable
from estimating.mapping import names_of
from shop.models import Consumable as ConsumableRow
from shop.models import Counter, Shop

_MOST_KEPT: Final = 16
_kept: OrderedDict[tuple[int, date], tuple[int, Catalogue]] = OrderedDict()
_lock = Lock()


def catalogue_kept(shop: Shop, day: date) -> Catalogue:
    """The same as :func:`estimating.selectors.catalogue_for`; one query where it is kept.

    Raises
    ------
    Refused
        Nothing holds on that day, or the rows do not fit one another.
    """
    # Read before the rows: a change in between makes what is kept stale, never wrong.
    revision, shelf = _revision_and_shelf(shop)
    with _lock:
        found = _kept.get((shop.pk, day))
    if found is None or revision is None or found[0] != revision:
        made = selectors.catalogue_for(shop, day)
        if revision is not None:
            _keep((shop.pk, day), revision, made)
        return made
    kept = found[1]
    policy = selectors.policy_of(shop)
    if (shelf, policy) == (kept.consumables, kept.policy):
        return kept
    fresh = replace(kept, consumables=shelf, policy=policy)
    _keep((shop.pk, day), found[0], fresh)
    return fresh


def _revision_and_shelf(shop: Shop) -> tuple[int | None, tuple[Consumable, ...]]:
    """The counter and the shelf in one query; None where the shelf is empty or nothing is kept."""
    counter = Counter.objects.filter(shop=OuterRef("shop"), series=SERIES).values("value")
    rows = ConsumableRow.objects.of(shop).order_by("pk").annotate(revision=Subquery(counter))
    found = list(rows.values_list(*names_of(Consumable), "revision"))
    revision = found[0][-1] if found else None
    return revision, selectors.shelf_made([row[:-1] for row in found])


def _keep(key: tuple[int, date], revision: int, made: Catalogue) -> None:
    with _lock:
        _kept[key] = (revision, made)
        _kept.move_to_end(key)
        while len(_kept) > _MOST_KEPT:
            _kept.popitem(last=False)
