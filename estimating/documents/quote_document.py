"""What a quote says to the customer, line by line, for paper."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from estimating.documents.typesetting import paper_of
from estimating.models import Quote
from estimating.snapshot import coating_of, deposit_of, discount_of
from estimating.web import words
from shop.web import show


def quote_lines(quote: Quote) -> dict[str, Any]:
    """The texts of a quote, formatted, as JSON can carry them.

    The same as the page of the quote shows: from the quote's own snapshot, but for
    names, addresses and the shop's zone.
    """
    shop, vehicle = quote.shop, quote.vehicle
    heading = f"{_('Quote')} {quote.number}"
    if quote.version > 1:
        heading += f", {_('version')} {quote.version}"
    zone = shop.tz
    contact = " · ".join(filter(None, (show.phone_text(shop.phone), shop.email)))
    return {
        "lang": (get_language() or "en").split("-")[0],
        "paper": paper_of(shop.country),
        "heading": heading,
        "dates": [
            show.day_text(quote.created_at, zone),
            f"{_('valid until')} {show.last_day_text(quote.valid_until, zone)}",
        ],
        "shop": {
            "name": shop.name,
            "lines": [line for line in (*shop.address.splitlines(), contact) if line.strip()],
        },
        "customer": quote.customer.name,
        "vehicle": " · ".join(filter(None, (vehicle.description, vehicle.plate))),
        "title": quote.title,
        "work": [_work(row) for row in quote.operations if row["kind"] != "cure"],
        "expect": list(_expect(quote)),
        "panels": _panels(quote),
        "price": _price(quote),
        "terms": list(_terms(quote)),
        "cautions": list(_cautions(quote)),
        "words": {
            "for": _("For"),
            "work": _("What we will do"),
            "expect": _("What you can expect"),
            "price": _("Price"),
            "cautions": _("Good to know"),
            "columns": [_("Panel"), _("Work"), _("Cleared"), _("Film left, at least")],
        },
    }


def _work(row: dict[str, Any]) -> str:
    name = str(row["name"])
    return f"{_('Coating:')} {name}" if row["kind"] == "coating" else name[:1].upper() + name[1:]


def _expect(quote: Quote) -> Iterator[str]:
    yield _(
        "About %(share)s of the marks are cleared. What stays lies deeper than the paint allows "
        "us to go, or was left to keep the price."
    ) % {"share": show.percent_text(quote.cleared)}
    if quote.inspection_id is None:
        yield (
            _("Not inspected yet")
            + ": "
            + _(
                "This rests on the age of the vehicle and what you told us. Once we have measured "
                "the paint, the range becomes narrower and may move."
            )
        )


def _panels(quote: Quote) -> list[dict[str, Any]]:
    """Panel by panel; nothing where nobody has looked."""
    if quote.inspection_id is None:
        return []
    unit = show.UNIT_NAMES.get(quote.estimate.get("unit", ""), "")
    found = []
    for panel in quote.estimate.get("panels", []):
        left, level = panel["remaining_p05"], panel["level"]
        work = _word(words.LEVELS, level)
        if panel["condition"] != "original":
            work += f" ({_word(words.CONDITIONS, panel['condition'])})"
        found.append(
            {
                "name": _word(words.PANELS, panel["panel"]),
                "work": [work, *map(_spot, panel["spot_work"])],
                "cleared": show.percent_text(panel["cleared"]),
                "left": "–" if left is None or level == "none" else f"{left:.2f} {unit}",
            }
        )
    return found


def _spot(spot: dict[str, Any]) -> str:
    times = f" × {spot['count']}" if spot["count"] > 1 else ""
    return f"{_word(words.KINDS, spot['kind'])}{times}: {_word(words.METHODS, spot['method'])}"


def _word(table: dict[str, Any], code: str) -> str:
    return str(table.get(code, code.replace("_", " ")))


def _price(quote: Quote) -> list[tuple[str, str]]:
    """Rows of the price; the last one is the total."""
    rows = [(_("Work and materials"), quote.price), (_("Tax"), quote.tax)]
    rows.append((_("Total"), quote.price + quote.tax))
    return [(name, show.money_text(amount, quote.currency)) for name, amount in rows]


def _terms(quote: Quote) -> Iterator[str]:
    def whole(amount: Decimal) -> str:
        return show.money_text(amount, quote.currency, whole=True)

    discount = discount_of(quote.parameters)
    if discount:
        yield _("A discount of %s is taken off already.") % show.percent_text(discount)
    deposit = deposit_of(quote.parameters)
    if deposit:
        yield _("A deposit of %s is due when the visit is booked.") % show.money_text(
            deposit, quote.currency
        )
    yield _(
        "Work on paint never takes exactly as long as planned. In eight of ten such jobs it "
        "comes to between %(low)s and %(high)s before tax."
    ) % {"low": whole(quote.price_p10), "high": whole(quote.price_p90)}


def _cautions(quote: Quote) -> Iterator[str]:
    coating = coating_of(quote.request, quote.parameters)
    if coating is not None:
        yield _(
            "%(name)s: the vehicle stays with us for about %(hours)s hours after the last coat. "
            "Do not wash it for %(wash)s; it is fully hard after %(full)s at 20 °C, later in the "
            "cold. The product's own data sheet goes first."
        ) % {
            "name": coating["name"],
            "hours": f"{coating['handover_hours']:.0f}",
            "wash": show.days_text(coating["first_wash_hours"]),
            "full": show.days_text(coating["full_cure_hours"]),
        }
    yield _(
        "Polishing takes paint that cannot be put back. We measure first, keep a reserve for "
        "later, and stay off panels whose film nobody can know."
    )
    yield _("Scratches that reach through the clear coat are made less visible, not undone.")
