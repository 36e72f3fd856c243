"""The address of a customer's page: made, withdrawn, made anew, and read back."""

from __future__ import annotations

import secrets
from datetime import datetime
from typing import Final

from django.conf import settings
from django.core.signing import BadSignature, Signer
from django.db import transaction
from django.urls import reverse
from django.utils.translation import gettext as _

from estimating.models import CustomerPage, Quote
from shop.access import DESK
from shop.models import Member
from shop.refusals import Forbidden

_SALT: Final = "estimating.customer_page"
_CODE_BYTES: Final = 12


@transaction.atomic
def page_ensure(*, quote: Quote, now: datetime, member: Member | None = None) -> CustomerPage:
    """Return the page of a quote, made where there is none; a withdrawn one stays withdrawn."""
    page, _made = CustomerPage.objects.get_or_create(
        shop_id=quote.shop_id,
        quote_number=quote.number,
        defaults={"code": _code(), "made_at": now, "made_by": member},
    )
    return page


@transaction.atomic
def page_renew(*, quote: Quote, member: Member, now: datetime) -> CustomerPage:
    """Give the page a new address; the one before ends.

    Raises
    ------
    Forbidden
        The person is not of this shop's desk.
    """
    _refuse_unless_desk(quote, member)
    page, _made = CustomerPage.objects.update_or_create(
        shop_id=quote.shop_id,
        quote_number=quote.number,
        defaults={"code": _code(), "made_at": now, "made_by": member},
    )
    return page


@transaction.atomic
def page_withdraw(*, quote: Quote, member: Member) -> None:
    """End the address: whoever has it finds nothing from now on.

    Raises
    ------
    Forbidden
        The person is not of this shop's desk.
    """
    _refuse_unless_desk(quote, member)
    CustomerPage.objects.filter(shop_id=quote.shop_id, quote_number=quote.number).update(code=None)


def page_of(quote: Quote) -> CustomerPage | None:
    """Return the page of a quote, withdrawn or not."""
    return CustomerPage.objects.filter(shop_id=quote.shop_id, quote_number=quote.number).first()


def page_path(page: CustomerPage | None) -> str:
    """The address within the site; empty where it is withdrawn or was never made."""
    if page is None or page.code is None:
        return ""
    return reverse("visit_page", args=[_signer().sign(page.code)])


def page_link(page: CustomerPage | None) -> str:
    """The whole address for a message; empty as well where the site has no public one."""
    path = page_path(page)
    return settings.PUBLIC_URL + path if path and settings.PUBLIC_URL else ""


def page_read(token: str) -> CustomerPage | None:
    """Return the page behind the token of an address; None for a wrong or withdrawn one.

    The signature is compared first, in constant time: nobody can try codes.
    """
    try:
        code = _signer().unsign(token)
    except BadSignature:
        return None
    return CustomerPage.objects.select_related("shop").filter(code=code).first()


def _signer() -> Signer:
    return Signer(salt=_SALT, sep=".")


def _code() -> str:
    return secrets.token_urlsafe(_CODE_BYTES)


def _refuse_unless_desk(quote: Quote, member: Member) -> None:
    if member.shop_id != quote.shop_id or member.role not in DESK:
        raise Forbidden(_("Only the owner and the desk make or withdraw a customer's link."))
