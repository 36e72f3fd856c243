"""What each kind of message is for: consent it needs, when it is absurd, when it still holds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

from scheduling.models import ReminderPurpose
from shop.models import Channel, Consent, ConsentPurpose, Customer, JobState


@dataclass(frozen=True)
class Purpose:
    """One kind of message.

    Parameters
    ----------
    consent
        What the customer must have agreed to.
    states
        States of the job in which the message is still true.
    grace
        How long after its due time it may still go out; None where its cause says.
    """

    consent: ConsentPurpose
    states: frozenset[str]
    grace: timedelta | None = None


_AFTER: Final = frozenset({JobState.HANDED_OVER, JobState.CLOSED})

PURPOSES: Final[Mapping[str, Purpose]] = {
    ReminderPurpose.CONFIRM: Purpose(ConsentPurpose.VISIT, frozenset({JobState.BOOKED})),
    ReminderPurpose.DAY_BEFORE: Purpose(ConsentPurpose.VISIT, frozenset({JobState.BOOKED})),
    ReminderPurpose.CURE_DONE: Purpose(
        ConsentPurpose.VISIT,
        frozenset({JobState.CURING, JobState.IN_WORK}),
        timedelta(days=1),
    ),
    ReminderPurpose.READY: Purpose(
        ConsentPurpose.VISIT, frozenset({JobState.READY}), timedelta(days=7)
    ),
    ReminderPurpose.FIRST_WASH: Purpose(ConsentPurpose.AFTERCARE, _AFTER, timedelta(days=14)),
    ReminderPurpose.FIRST_INSPECTION: Purpose(ConsentPurpose.AFTERCARE, _AFTER, timedelta(days=30)),
}


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


def address_of(customer: Customer, channel: str) -> str:
    """Return where a channel reaches the customer, or an empty text."""
    return customer.email if channel == Channel.EMAIL else customer.phone
