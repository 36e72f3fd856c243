"""Whether a change would leave the catalogue whole: written, read as a whole, taken back."""

from __future__ import annotations

import copy
from collections.abc import Iterable
from datetime import date

from django.db import models, transaction

from estimating.refusing import core_refusals
from estimating.selectors import catalogue_for, policy_of, terms_for
from shop.models import Shop


def rows_try(*, shop: Shop, rows: Iterable[models.Model], days: Iterable[date]) -> None:
    """Check the catalogue of ``days`` as it would be with ``rows`` saved. Writes nothing.

    Raises
    ------
    Refused
        The catalogue would not hold together; the message names the rule.
    """
    with transaction.atomic():
        for row in rows:
            # A copy, so that a row that is new stays new for whoever asked.
            copy.copy(row).save()
        for day in sorted(set(days)):
            catalogue_for(shop, day)
        transaction.set_rollback(True)


def profile_try(*, shop: Shop) -> None:
    """Check a changed but unsaved profile: room for a price, a film policy that can be.

    Raises
    ------
    Refused
        With the rule that is broken.
    """
    with core_refusals():
        terms_for(shop)
        policy_of(shop)
