"""What a customer may choose beside an offer: a little less or more, each an exact plan.

Everything is worked out from the offer's own snapshot, so that a choice costs what it
would have cost on the day of the offer, and until the offer's last day.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, Final

from django.utils.translation import gettext as _

from estimating.core.costing import Priced
from estimating.core.estimate import estimate
from estimating.core.formats import read_inspection
from estimating.models import Quote
from estimating.refusing import core_refusals
from estimating.services.quotes import offered_price, quote_make
from estimating.snapshot import basis_of, discount_of, document_with, options_from, was_chosen
from shop.refusals import Conflict, Problem, Refused

LESS: Final = "less"
OFFERED: Final = "offered"
MORE: Final = "more"

# A fifth of the marks is a difference that people see; a twentieth hardly is.
# Common practice, no source.
_APART: Final = 0.2
_LEAST_APART: Final = 0.05
_TRIES: Final = 3
_MOST_CHOSEN: Final = 12


@dataclass(frozen=True)
class Choice:
    """One finish that can be had: ``total`` with tax, ``cleared`` the share of the marks."""

    key: str
    goal: dict[str, Any]
    price: Decimal
    total: Decimal
    cleared: float
    current: bool = False


def quote_choices(versions: Sequence[Quote]) -> list[Choice]:
    """Return what a customer may choose, the least first; empty where there is no choice.

    Parameters
    ----------
    versions
        Every version of one quote, oldest first, with its shop. The newest that the shop
        made is the offer around which the choices lie.
    """
    offer, newest = _offer(versions), versions[-1]
    if offer is None or not offer.shop.customer_choices or _agreed_by_hand(offer):
        return []
    found = [
        _choice(offer, LESS, _below(offer)),
        Choice(
            OFFERED,
            offer.request["document"]["goal"],
            offer.price,
            offer.price + offer.tax,
            offer.cleared,
        ),
        _choice(offer, MORE, _above(offer)),
    ]
    there = [one for one in found if one is not None]
    if len(there) == 1:
        return []
    return [_marked(one, one.goal == newest.request["document"]["goal"]) for one in there]


def quote_choose(*, versions: Sequence[Quote], key: str, now: datetime) -> Quote:
    """Make what a customer chose into the next version of the quote; nothing is edited.

    The member who made the offer answers for it.

    Raises
    ------
    Refused
        There is no such choice (any more), or it was changed too often.
    Conflict
        The quote was accepted or replaced in the meantime.
    """
    offer, newest = _offer(versions), versions[-1]
    chosen = next((one for one in quote_choices(versions) if one.key == key), None)
    if chosen is None or offer is None:
        raise Refused(Problem(_("This choice is not there any more."), field="choice"))
    if chosen.current:
        return newest
    if sum(was_chosen(one.request) for one in versions) >= _MOST_CHOSEN:
        message = _("This was changed many times; please call the shop.")
        raise Refused(Problem(message, field="choice"))
    made = quote_make(
        shop=offer.shop,
        member=offer.member,
        customer=offer.customer,
        vehicle=offer.vehicle,
        goal=chosen.goal,
        options=options_from(offer.request["options"]),
        now=now,
        inspection=offer.inspection,
        discount_share=discount_of(offer.parameters) or None,
        replaces=newest,
        again=offer,
    )
    if made.price != chosen.price:
        raise Conflict(_("The price has changed; look at the page again."))
    return made


def _offer(versions: Sequence[Quote]) -> Quote | None:
    """The newest version that the shop itself made, where it can be worked out again."""
    own = [one for one in versions if not was_chosen(one.request)]
    if not own or "document" not in own[-1].request or "terms" not in own[-1].parameters:
        return None
    return own[-1]


def _agreed_by_hand(offer: Quote) -> bool:
    """Whether somebody set the price: what less or more would cost was never agreed then."""
    return not discount_of(offer.parameters) and offer.price != offer.price_p50


def _shares(offer: Quote) -> list[float]:
    """What the steps of the finish curve clear, rounded down so that each is still reached."""
    curve = offer.estimate.get("finish_curve", ())
    return sorted({math.floor(point["cleared"] * 1000) / 1000 for point in curve})


def _below(offer: Quote) -> Iterator[float]:
    """Shares worth a try below the offer, the nearest to a clear difference first."""
    wanted = offer.cleared - _APART
    below = [share for share in _shares(offer) if 0 < share <= offer.cleared - _LEAST_APART]
    yield from sorted(below, key=lambda share: abs(share - wanted))[:_TRIES]


def _above(offer: Quote) -> Iterator[float]:
    wanted = offer.cleared + _APART
    above = [share for share in _shares(offer) if share >= offer.cleared + _LEAST_APART]
    yield from sorted(above, key=lambda share: abs(share - wanted))[:_TRIES]


def _choice(offer: Quote, key: str, shares: Iterator[float]) -> Choice | None:
    """The first of some shares that makes a plan on the right side of the offer."""
    for share in shares:
        goal = {"cleared": share}
        priced, cleared = _priced(offer, goal)
        if _is_between(offer, key, priced, cleared):
            return Choice(key, goal, priced.net, priced.net + priced.tax, cleared)
    return None


def _is_between(offer: Quote, key: str, priced: Priced, cleared: float) -> bool:
    floor = basis_of(offer.parameters)[1].floor_margin
    if priced.margin < floor or priced.net <= 0:
        return False  # an owner would have to say why
    if key == LESS:
        return cleared <= offer.cleared - _LEAST_APART and priced.net < offer.price
    return cleared >= offer.cleared + _LEAST_APART and priced.net > offer.price


def _priced(offer: Quote, goal: dict[str, Any]) -> tuple[Priced, float]:
    catalogue, terms = basis_of(offer.parameters)
    with core_refusals():
        made = estimate(
            read_inspection(document_with(offer.request, goal)),
            catalogue,
            terms,
            options_from(offer.request["options"]),
        )
    return offered_price(made, None, terms, discount_of(offer.parameters) or None), made.cleared


def _marked(choice: Choice, current: bool) -> Choice:
    return Choice(
        choice.key, choice.goal, choice.price, choice.total, choice.cleared, current=current
    )
