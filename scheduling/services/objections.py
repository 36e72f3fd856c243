"""Why a message must not go out (any more), looked at in the moment of sending."""

from __future__ import annotations

from decimal import Decimal

from django.utils.translation import gettext as _

from estimating.models import QuoteState
from estimating.selectors import balance_of
from scheduling.models import Reminder, ReminderPurpose
from scheduling.services.purposes import PURPOSES, address_of
from shop.models import Consent, Consumable, Member


def objection_to(reminder: Reminder) -> str:
    """Return why a message must not go out, or an empty text."""
    return _no_longer_true(reminder) or _not_agreed(reminder)


def _no_longer_true(reminder: Reminder) -> str:
    states = PURPOSES[reminder.purpose].states
    if states is not None and reminder.job is not None and reminder.job.state not in states:
        return _("Not sent: the job is %s.") % reminder.job.get_state_display().lower()
    if reminder.quote is not None and reminder.quote.state != QuoteState.SENT:
        return _("Not sent: the quote is %s.") % reminder.quote.get_state_display().lower()
    if reminder.purpose == ReminderPurpose.BALANCE_DUE and reminder.job is not None:
        return "" if balance_of(reminder.job) > 0 else _("Not sent: all is paid.")
    if reminder.purpose == ReminderPurpose.LOW_STOCK:
        item = Consumable.objects.filter(pk=reminder.facts.get("consumable")).first()
        if item is None or item.on_hand > Decimal(str(item.reorder_point)):
            return _("Not sent: there is enough again.")
    return ""


def _not_agreed(reminder: Reminder) -> str:
    """A member of the shop is not asked; where no address is known the sending itself fails."""
    if isinstance(reminder.reader, Member):
        return "" if reminder.reader.active else _("Not sent: the person left the shop.")
    agreed = Consent.objects.filter(
        customer=reminder.reader,
        channel=reminder.channel,
        purpose=PURPOSES[reminder.purpose].consent,
        granted=True,
    )
    if not agreed.exists():
        return _("Not sent: the customer has not agreed to it, or took that back.")
    if not address_of(reminder.reader, reminder.channel):
        return _("Not sent: there is no address for it any more.")
    return ""
