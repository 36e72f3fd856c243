"""The first shop of a fresh program, with the account of its owner."""

from __future__ import annotations

from decimal import Decimal
from typing import TypedDict

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.text import slugify
from django.utils.translation import gettext as _

from shop.first_run import first_run_key_fits
from shop.models import Member, Role, Shop
from shop.phones import to_e164
from shop.refusals import Conflict, Forbidden, Problem
from shop.services.checked import row_save
from shop.services.members import member_add


class ShopFacts(TypedDict):
    """What a shop starts from; rates are of one hour, shares between 0 and 1."""

    name: str
    zone: str
    country: str
    currency: str
    film_unit: str
    phone: str
    email: str
    labour_rate: Decimal
    bay_rate: Decimal
    overhead_rate: Decimal
    tax_rate: Decimal
    target_margin: Decimal
    floor_margin: Decimal


@transaction.atomic
def shop_start(*, key: str, facts: ShopFacts, owner: str, username: str, password: str) -> Member:
    """Make the first shop and its owner.

    Raises
    ------
    Forbidden
        The key is not the one that the program printed.
    Conflict
        There is a shop already.
    Refused
        By field: what is wrong with the shop's or the owner's facts.
    """
    if not first_run_key_fits(key):
        raise Forbidden(_("Use the address that the program printed when it was started."))
    if Shop.objects.exists():
        raise Conflict(_("The shop is there already; sign in."))
    given = dict(facts)
    problems = []
    if facts["phone"]:
        try:
            given["phone"] = to_e164(facts["phone"], facts["country"])
        except ValidationError as error:
            problems = [Problem(message, "phone") for message in error.messages]
    shop = Shop(slug=slugify(facts["name"])[:50] or "shop", **given)
    row_save(shop, *problems)
    member = member_add(
        shop=shop, name=owner, role=Role.OWNER, username=username, password=password
    )
    member.user.is_staff = True
    member.user.email = facts["email"]
    member.user.save(update_fields=["is_staff", "email"])
    return member
