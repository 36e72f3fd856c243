"""Setting up a shop that is new: when it is open, where work is done, who does it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import time
from typing import Final

from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext as _

from scheduling.models import Capability, Resource, ResourceKind, Shift, Skill
from shop.models import Member, OpeningHours, Role, Shop
from shop.refusals import Problem, Refused
from shop.services.members import member_add

MOST_PLACES: Final = 60
WEEKDAYS: Final = range(7)


@transaction.atomic
def opening_set(
    *, shop: Shop, weekdays: Collection[int], opens: time, closes: time
) -> list[OpeningHours]:
    """Open the shop on these weekdays (Monday is 0); other days stay as they are.

    Raises
    ------
    Refused
        No day is named, or it closes before it opens.
    """
    if not weekdays or not set(weekdays) <= set(WEEKDAYS):
        raise Refused(Problem(_("Choose at least one day."), "weekdays"))
    if closes <= opens:
        raise Refused(Problem(_("It must close after it opens."), "closes"))
    OpeningHours.objects.of(shop).filter(weekday__in=weekdays).delete()
    return OpeningHours.objects.bulk_create(
        OpeningHours(shop=shop, weekday=day, opens=opens, closes=closes) for day in sorted(weekdays)
    )


PLACES: Final[Mapping[str, tuple[str, str, tuple[str, ...]]]] = {
    "wash": (ResourceKind.BAY, "wash", (Capability.WASH,)),
    "correction": (ResourceKind.BAY, "correction", (Capability.CORRECTION,)),
    "coating": (ResourceKind.BAY, "coating", (Capability.COATING,)),
    "anything": (ResourceKind.BAY, "bay", tuple(Capability.values)),
    "parking": (ResourceKind.PARKING, "spot", ()),
    "lamps": (ResourceKind.LAMP, "lamp", ()),
}
"""Kinds of places: what they are, the beginning of their code, what may be done there."""


def place_name(kind: str, number: int) -> str:
    """What a new place is called until the owner calls it something else."""
    names = {
        "wash": _("Wash bay %s"),
        "correction": _("Correction bay %s"),
        "coating": _("Coating bay %s"),
        "anything": _("Bay %s"),
        "parking": _("Parking %s"),
        "lamps": _("Lamp %s"),
    }
    return names[kind] % number


@transaction.atomic
def places_add(*, shop: Shop, counts: Mapping[str, int]) -> list[Resource]:
    """Add so many bays, parking spots and lamps of each kind; see :data:`PLACES`.

    Raises
    ------
    Refused
        None at all, or more than a shop can have.
    """
    total = sum(counts.values())
    if not total:
        raise Refused(Problem(_("Say at least how many bays there are."), ""))
    if total > MOST_PLACES or min(counts.values()) < 0:
        raise Refused(Problem(_("0 to %s in all; add more later.") % MOST_PLACES, ""))
    used = set(Resource.objects.of(shop).values_list("code", flat=True))
    last = Resource.objects.of(shop).aggregate(last=Max("position"))["last"] or 0
    rows = []
    for kind, count in counts.items():
        what, code, capabilities = PLACES[kind]
        number = 0
        for _one in range(count):
            number += 1
            while f"{code}-{number}" in used:
                number += 1
            used.add(f"{code}-{number}")
            last += 1
            rows.append(
                Resource(
                    shop=shop,
                    kind=what,
                    code=f"{code}-{number}",
                    name=place_name(kind, number),
                    capabilities=list(capabilities),
                    position=last,
                )
            )
    return Resource.objects.bulk_create(rows)


@transaction.atomic
def crew_add(
    *, shop: Shop, name: str, role: str, username: str, password: str, skills: Collection[str]
) -> Member:
    """Take in a person; a technician works in the opening hours until shifts are set.

    Raises
    ------
    Refused
        As :func:`shop.services.members.member_add`; a technician without a skill.
    """
    technician = role == Role.TECHNICIAN
    if technician and not (skills and set(skills) <= set(Skill.values)):
        raise Refused(Problem(_("Choose what the technician is trained for."), "skills"))
    member = member_add(shop=shop, name=name, role=role, username=username, password=password)
    if technician:
        works_in_shop(member=member, skills=skills)
    return member


@transaction.atomic
def works_in_shop(*, member: Member, skills: Collection[str]) -> Resource:
    """Make a member, an owner who polishes too, somebody the calendar can plan with."""
    resource = Resource.objects.create(
        shop=member.shop,
        kind=ResourceKind.TECHNICIAN,
        code=f"m{member.pk}",
        name=member.name,
        skills=sorted(skills),
        member=member,
    )
    Shift.objects.bulk_create(
        Shift(resource=resource, weekday=row.weekday, starts=row.opens, ends=row.closes)
        for row in OpeningHours.objects.of(member.shop)
    )
    return resource
