"""The link under a message with which a customer ends such messages."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Final

from django.conf import settings
from django.core import signing
from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _

from scheduling.models import Reminder, ReminderState
from scheduling.services.purposes import PURPOSES
from shop.models import Channel, Consent, ConsentPurpose, Customer, Member
from shop.refusals import Refused

_SALT: Final = "scheduling.opt_out"
SOURCE: Final = "link"


@dataclass(frozen=True)
class OptOut:
    """Whose link it is, and which kind of message it stood under."""

    customer: Customer
    purpose: str

    @property
    def label(self) -> str:
        """The kind in words."""
        return str(ConsentPurpose(self.purpose).label)


def stop_line(reminder: Reminder) -> str:
    """How to stop such messages, in a line; empty for the shop's own people.

    Where the site has no public address, the shop's phone has to do.
    """
    if isinstance(reminder.reader, Member):
        return ""
    link = stop_link(reminder)
    if not link:
        ways = reminder.shop.phone or reminder.shop.email
        return _("No more such messages: %s") % ways if ways else ""
    return _("No more such messages: %s") % link


def stop_link(reminder: Reminder) -> str:
    """The address of the page; empty without a public address or for the shop's own people."""
    if not settings.PUBLIC_URL or reminder.customer_id is None:
        return ""
    kind = PURPOSES[reminder.purpose].consent
    # Without a time in it: the same link stands in every such message, and never runs out.
    token = signing.Signer(salt=_SALT).sign_object([reminder.customer_id, kind], compress=True)
    return f"{settings.PUBLIC_URL}{reverse('opt_out', args=[token])}"


def opt_out_read(token: str) -> OptOut:
    """Return what a link means; it works for as long as the customer is known.

    Raises
    ------
    Refused
        It was not made here, or the customer is gone.
    """
    try:
        customer_id, purpose = signing.Signer(salt=_SALT).unsign_object(token)
    except (signing.BadSignature, ValueError) as error:
        raise Refused(_("This link is not whole; use the one in the message.")) from error
    customer = Customer.objects.select_related("shop").filter(pk=customer_id).first()
    if customer is None:
        raise Refused(_("You are no longer in our records; there is nothing to stop."))
    return OptOut(customer, purpose)


@transaction.atomic
def opt_out(*, link: OptOut, now: datetime, everything: bool = False) -> int:
    """Take back the customer's consent to one kind of message, or to all of them.

    What waits is withdrawn with the consent. Returns how many messages that were.
    """
    kinds = list(ConsentPurpose.values) if everything else [link.purpose]
    for kind in kinds:
        for channel in Channel.values:
            Consent.objects.update_or_create(
                customer=link.customer,
                channel=channel,
                purpose=kind,
                defaults={"granted": False, "said_at": now, "source": SOURCE},
            )
    purposes = [name for name, purpose in PURPOSES.items() if purpose.consent in kinds]
    waiting = Reminder.objects.filter(
        customer=link.customer, purpose__in=purposes, state=ReminderState.DUE
    )
    return waiting.update(state=ReminderState.WITHDRAWN, why=_("Stopped by the customer"))
