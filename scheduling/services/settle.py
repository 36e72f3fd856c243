"""Write a visit where it is free; say what is in the way and what is free instead where not."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Final, TypeVar

from django.db import IntegrityError, transaction
from django.utils.translation import gettext as _

from scheduling.models import Hold, KeptSlot
from scheduling.services.holder import Holder
from scheduling.services.holds import Taken, in_the_way, in_the_way_text, is_overlap
from scheduling.services.offers import Held, Offer, offers_find
from scheduling.services.when import moment_text
from shop.models import Operation, Shop
from shop.refusals import Conflict, Problem, Refused

_TRIES: Final = 3
"""How often a place that was free is looked for again after somebody else took it."""
_INSTEAD: Final = 3
T = TypeVar("T")


class SlotTaken(Conflict):
    """Somebody else has what this booking needs.

    ``taken`` says who has which resource from when to when, and ``offers`` are the nearest
    visits that are free; the problems say both in words.
    """

    def __init__(
        self, problems: list[Problem], offers: list[Offer], taken: Sequence[Taken] = ()
    ) -> None:
        super().__init__(*problems)
        self.offers = offers
        self.taken = tuple(taken)


class Wish:
    """What is looked for, again and again if need be; ``ignoring`` is the wisher's own."""

    def __init__(
        self,
        shop: Shop,
        operations: Sequence[Operation],
        earliest: datetime,
        now: datetime,
        ignoring: Holder | None = None,
    ) -> None:
        self.shop, self.operations, self.ignoring = shop, operations, ignoring
        self.earliest, self.now = earliest, now
        # A visit that begins at once is kept for the minutes in which the caller thinks.
        self.not_before = now
        if isinstance(ignoring, KeptSlot) and now < ignoring.kept_until:
            self.not_before = ignoring.kept_at

    def search(self, count: int) -> list[Offer]:
        """Return up to ``count`` offers; Refused with reasons where there is none."""
        offers = offers_find(
            shop=self.shop,
            operations=self.operations,
            earliest=self.earliest,
            now=self.now,
            count=count,
            ignoring=self.ignoring,
        )
        if not offers.found:
            raise Refused(*offers.reasons)
        return offers.found


def settle(wish: Wish, offer: Offer | None, write: Callable[[Offer], T]) -> T:
    """Write the offer, or what is found; what was found is looked for again when it is gone.

    Race: between looking and writing, somebody else books the same bay. The
    database refuses the second writer, whose transaction is undone as a whole.

    Raises
    ------
    Refused
        The offer's drop-off has passed, or there is no place.
    SlotTaken
        The offer is gone, or others kept taking what was found.
    """
    if offer is not None and offer.arrives_at < wish.not_before:
        raise Refused(
            _("This drop-off, %s, has passed; look for another.")
            % moment_text(offer.arrives_at, wish.shop)
        )
    tries = 1 if offer else _TRIES
    while True:
        chosen = offer or wish.search(1)[0]
        tries -= 1
        try:
            with transaction.atomic():
                return write(chosen)
        except IntegrityError as error:
            if not is_overlap(error):
                raise
            if not tries:
                raise slot_taken(wish, chosen) from error


def slot_taken(wish: Wish, chosen: Offer) -> SlotTaken:
    """Look at who has what ``chosen`` needs, and at what is free from then on."""
    pairs = in_the_way(shop=wish.shop, held=chosen.holds, ignoring=wish.ignoring)
    problems, taken = who_has(pairs, wish.shop)
    wish.earliest = max(wish.earliest, chosen.arrives_at)
    try:
        free = wish.search(_INSTEAD)
    except Refused as error:
        return SlotTaken([*problems, *error.problems], [], taken)
    instead = [_instead(one, wish.shop) for one in free]
    return SlotTaken([*problems, *instead], free, taken)


def who_has(pairs: Sequence[tuple[Held, Hold]], shop: Shop) -> tuple[list[Problem], list[Taken]]:
    """Say in words and in rows who has what is wanted; ``pairs`` are of both."""
    said = in_the_way_text(pairs, shop) or [
        _("Somebody booked the same time in this moment; nothing was booked here.")
    ]
    rows = dict.fromkeys(Taken.of(hold) for _wanted, hold in pairs)
    return [Problem(text) for text in said], list(rows)


def _instead(offer: Offer, shop: Shop) -> Problem:
    said = _("Free instead: bring it %(arrives)s, collect it %(promised)s.")
    return Problem(
        said
        % {
            "arrives": moment_text(offer.arrives_at, shop),
            "promised": moment_text(offer.promised_at, shop),
        }
    )
