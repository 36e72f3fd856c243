"""A certificate of film readings for the customer: what was read, when, with which gauge."""

from __future__ import annotations

from typing import Any

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from estimating.documents.typesetting import paper_of, typeset
from estimating.film_history import last_calibration
from estimating.film_years import FilmYears, PanelRead, film_years
from estimating.models import Inspection
from estimating.web import words
from shop.models import Vehicle
from shop.refusals import Refused
from shop.web import show

_MOST_COLUMNS = 5


def certificate_pdf(vehicle: Vehicle) -> bytes:
    """Set the readings of a vehicle's inspections on paper.

    Parameters
    ----------
    vehicle
        With shop and customer at hand.

    Raises
    ------
    Refused
        Nothing was read on this vehicle.
    """
    return typeset("certificate.typ", certificate_lines(vehicle))


def certificate_lines(vehicle: Vehicle) -> dict[str, Any]:
    """The texts of the certificate, formatted, as JSON can carry them."""
    years = film_years(vehicle, _MOST_COLUMNS)
    if not years.panels:
        raise Refused(_("There is nothing to certify: no reading was taken on this vehicle."))
    shop, unit = vehicle.shop, vehicle.shop.film_unit
    contact = " · ".join(filter(None, (show.phone_text(shop.phone), shop.email)))
    days = [show.day_text(row.taken_at, shop.tz) for row in years.inspections]
    return {
        "lang": (get_language() or "en").split("-")[0],
        "paper": paper_of(shop.country),
        "heading": _("Film readings"),
        "shop": {
            "name": shop.name,
            "lines": [line for line in (*shop.address.splitlines(), contact) if line.strip()],
        },
        "customer": vehicle.customer.name,
        "vehicle": " · ".join(filter(None, (vehicle.description, vehicle.plate, vehicle.vin))),
        "unit": show.UNIT_NAMES[unit],
        "columns": [_("Panel"), *days],
        "rows": [
            [str(words.PANELS.get(name, name)), *(_cell(read, unit) for read in line)]
            for name, line in years.panels
        ],
        "taken": list(_taken(years)),
        "notes": [
            _("Mean of the panel's spots; in brackets the lowest spot."),
            _(
                "A gauge reads all paint together. How thick the clear coat is cannot be told "
                "from these figures, and they are no promise that the paint may be polished."
            ),
        ],
        "words": {"for": _("For"), "unit": _("In"), "taken": _("How it was measured")},
    }


def _cell(read: PanelRead | None, unit: str) -> str:
    if read is None:
        return "–"
    text = f"{show.film_text(read.mean_um, unit)} ({show.film_text(read.lowest_um, unit)})"
    return f"{text} {_('over protection film')}" if read.covered else text


def _taken(years: FilmYears) -> list[str]:
    return [_how(row) for row in years.inspections]


def _how(row: Inspection) -> str:
    day = show.day_text(row.taken_at, row.shop.tz)
    if row.gauge is None:
        return f"{day}: {row.member.name}, {_('gauge not noted')}"
    checked = last_calibration(row.gauge, row.taken_at).first()
    if checked is None:
        said = _("not checked on shims before")
    else:
        said = _("checked on shims %s") % show.day_text(checked.at, row.shop.tz)
    return f"{day}: {row.member.name}, {row.gauge.name}, {said}"
