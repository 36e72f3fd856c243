"""Estimates: a document and a shop's rates in, the core's answer out. Nothing is written."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

from django.conf import settings

from estimating import selectors
from estimating.core.catalogue import Catalogue, catalogue_from_dict
from estimating.core.estimate import estimate
from estimating.core.formats import read_inspection
from estimating.core.inspection import Inspection
from estimating.core.jsontext import parsed
from estimating.core.options import Options
from estimating.core.result import Estimate
from estimating.core.terms import ShopTerms
from estimating.refusing import core_refusals
from shop.models import Shop
from shop.money import minor_units
from shop.refusals import Problem, Refused

Document = str | bytes | Mapping[str, Any]


def estimate_make(
    *,
    shop: Shop,
    document: Document,
    options: Options | None = None,
    day: date,
    catalogue: Catalogue | None = None,
) -> Estimate:
    """Estimate a ``halfmil-inspection/1`` document with what holds in ``shop`` on ``day``.

    Parameters
    ----------
    catalogue
        What holds on ``day``, where the caller has read it already.

    Raises
    ------
    Refused
        The document, an option or the shop's catalogue is wrong; fields are JSON paths.
    """
    with core_refusals():
        # Read first: a broken file is the caller's business whatever the shop has.
        inspection = read_inspection(document)
        held = catalogue or selectors.catalogue_for(shop, day)
        return estimate(inspection, held, selectors.terms_for(shop), options)


@dataclass(frozen=True)
class Basis:
    """What estimates are made from: read once, it serves any number of them."""

    catalogue: Catalogue
    terms: ShopTerms


def basis_for(*, shop: Shop, day: date) -> Basis:
    """The tables and terms of ``shop`` as they hold on ``day``.

    Raises
    ------
    Refused
        The shop's catalogue does not hold together.
    """
    return Basis(selectors.catalogue_for(shop, day), selectors.terms_for(shop))


def basis_without_shop() -> Basis:
    """The invented catalogue and terms of ``fixtures/``, for a fresh clone."""
    return Basis(_fixture_catalogue(), _fixture_terms())


def inspection_read(document: Document) -> Inspection:
    """Read a ``halfmil-inspection/1`` document.

    Raises
    ------
    Refused
        It is wrong; fields are JSON paths.
    """
    with core_refusals():
        return read_inspection(document)


def estimate_on(
    *, basis: Basis, inspection: Inspection, options: Options | None = None
) -> Estimate:
    """Estimate an inspection that has been read.

    Raises
    ------
    Refused
        An answer or an option is not in the tables.
    """
    with core_refusals():
        return estimate(inspection, basis.catalogue, basis.terms, options)


def estimate_without_shop(*, document: Document, options: Options | None = None) -> Estimate:
    """Estimate with the invented catalogue and terms of ``fixtures/``, for a fresh clone.

    Raises
    ------
    Refused
        The document or an option is wrong.
    """
    return estimate_on(
        basis=basis_without_shop(), inspection=inspection_read(document), options=options
    )


def catalogue_read(text: str | bytes) -> Catalogue:
    """Read a ``halfmil-catalogue/1`` file.

    Raises
    ------
    Refused
        It is no such file, or its rows do not fit one another.
    """
    with core_refusals("catalogue"):
        data = parsed(text)
        _refuse_shapeless(data)
        return catalogue_from_dict(data)


def _refuse_shapeless(data: Any) -> None:
    """Refuse anything but an object of lists of objects, before it is read by name."""
    if not isinstance(data, dict):
        raise Refused(Problem("use an object of the format halfmil-catalogue/1", field="$"))
    for name, value in data.items():
        rows = value if isinstance(value, list) else [value]
        if name not in ("format", "note") and not all(isinstance(row, dict) for row in rows):
            raise Refused(Problem("use a list of objects", field=f"$.{name}"))


@cache
def _fixture_catalogue() -> Catalogue:
    return catalogue_read((_fixtures() / "catalogue.json").read_bytes())


@cache
def _fixture_terms() -> ShopTerms:
    """The terms of the invented shop, from the file that the demo is made from."""
    profile = json.loads((_fixtures() / "demo_shop.json").read_text("utf-8"))["shop"]
    return ShopTerms(
        currency=profile["currency"],
        minor_units=minor_units(profile["currency"]),
        tax_inclusive=profile["tax_inclusive"],
        **{name: Decimal(profile[name]) for name in selectors.TERMS_FIELDS},
    )


def _fixtures() -> Path:
    return Path(settings.BASE_DIR) / "fixtures"
