"""What each kind of message is for: consent it needs, when it is absurd, when it still holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from scheduling.models import ReminderPurpose
from shop.models import Channel, Consent, ConsentPurpose, Customer, JobState, Member


@dataclass(frozen=True)
class Purpose:
    """One kind of message.

    Parameters
    ----------
    consent
        What the customer must have agreed to; None where it goes to the shop's own people.
    states
        States of the job in which the message is still true; None where it hangs on no job.
    grace
        How long after its due time it may still go out; None where its cause says.
    names
        What may stand in braces beside the shop's own name and phone.
    at_night
        Whether quiet hours do not hold, since the work does not wait.
    """

    consent: ConsentPurpose | None
    states: frozenset[str] | None = None
    grace: timedelta | None = None
    names: tuple[str, ...] = ()
    at_night: bool = False


_S = JobState
_BOOKED: Final = frozenset({_S.BOOKED})
_AFTER: Final = frozenset({_S.HANDED_OVER, _S.CLOSED})
_VISIT: Final = ("customer", "drop_off", "job", "pick_up", "vehicle")
_RECOAT: Final = ("person", "job", "vehicle", "operation", "opens", "closes")
_P = ReminderPurpose
_C = ConsentPurpose

PURPOSES: Final[Mapping[str, Purpose]] = {
    _P.FOLLOW_UP: Purpose(
        _C.OFFERS, names=("customer", "vehicle", "quote", "price", "valid_until")
    ),
    _P.CONFIRM: Purpose(_C.VISIT, _BOOKED, names=_VISIT),
    _P.DAY_BEFORE: Purpose(_C.VISIT, _BOOKED, names=_VISIT),
    _P.DROP_OFF: Purpose(_C.VISIT, _BOOKED, names=_VISIT),
    _P.RECOAT_OPEN: Purpose(None, frozenset({_S.IN_WORK}), names=_RECOAT, at_night=True),
    _P.RECOAT_CLOSING: Purpose(None, frozenset({_S.IN_WORK}), names=_RECOAT, at_night=True),
    _P.CLIMATE_ALARM: Purpose(
        None,
        frozenset({_S.BOOKED, _S.ON_SITE, _S.IN_WORK, _S.CURING}),
        names=("person", "job", "vehicle", "bay", "operation", "what"),
        at_night=True,
    ),
    _P.CURE_DONE: Purpose(
        _C.VISIT, frozenset({_S.CURING, _S.IN_WORK}), timedelta(days=1), names=_VISIT
    ),
    _P.READY: Purpose(_C.VISIT, frozenset({_S.READY}), timedelta(days=7), names=_VISIT),
    _P.FIRST_WASH: Purpose(_C.AFTERCARE, _AFTER, timedelta(days=14), names=_VISIT),
    _P.FIRST_INSPECTION: Purpose(_C.AFTERCARE, _AFTER, timedelta(days=30), names=_VISIT),
    _P.YEARLY: Purpose(_C.AFTERCARE, _AFTER, timedelta(days=60), names=(*_VISIT, "years")),
    _P.BALANCE_DUE: Purpose(
        _C.VISIT, frozenset({_S.HANDED_OVER}), timedelta(days=14), names=(*_VISIT, "amount")
    ),
    _P.GAUGE_CHECK: Purpose(
        None, grace=timedelta(days=30), names=("person", "gauge", "last_check")
    ),
    _P.LOW_STOCK: Purpose(
        None, grace=timedelta(days=14), names=("person", "item", "on_hand", "reorder_point")
    ),
}
"""How long a message still makes sense is common practice, no source."""


def channel_for(customer: Customer, purpose: str) -> str | None:
    """Return the channel to use: e-mail first, then text; None where neither is agreed to.

    A channel counts only where the customer said yes to it for this purpose and
    the address is known. Silence is not consent, not even for a booked visit.
    """
    agreed = set(
        Consent.objects.filter(
            customer=customer, purpose=PURPOSES[purpose].consent, granted=True
        ).values_list("channel", flat=True)
    )
    for channel in (Channel.EMAIL, Channel.TEXT):
        if channel in agreed and address_of(customer, channel):
            return channel.value
    return None


def channel_for_member(member: Member) -> str:
    """Return how one of the shop's own people is reached.

    E-mail also where no address is known at all: the row then fails for a person to
    see, instead of not being there.
    """
    return Channel.TEXT if member.phone and not member.user.email else Channel.EMAIL


def address_of(reader: Customer | Member, channel: str) -> str:
    """Return where a channel reaches the reader, or an empty text."""
    if channel != Channel.EMAIL:
        return reader.phone
    return reader.user.email if isinstance(reader, Member) else reader.email
